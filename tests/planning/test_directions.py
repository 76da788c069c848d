"""What the sewist is told to do at hard corners."""

import seamtree
from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.planning.directions import describe_join
from tests.planning.test_build import SPUN


def told(block: Block) -> list[str]:
    plan = seamtree.plan(block)
    return [sentence for join in plan.joins() for sentence in describe_join(plan, join)]


def test_a_partial_seam_is_closed_after_the_rest_is_sewn() -> None:
    first, then = told(block_from_polygons(SPUN))
    ends = first.removeprefix("Sew from ").removesuffix(".").split(" to ")
    assert any(then.startswith(f"Then close the seam from {end} to ") for end in ends)
    assert "left open when A" in then
    assert then.endswith(" was added.")


def test_a_set_in_corner_is_a_stop_and_a_pivot() -> None:
    window = block_from_polygons(
        [((0, 0), (2, 0), (2, 2), (0, 2)), ((0, 2), (2, 2), (3, 3), (0, 3)), ((2, 0), (3, 0), (3, 3), (2, 2))]
    )
    (sentence,) = told(window)
    assert sentence.count("pivot") == 1
    assert " by way of (2, 2) to " in sentence


def test_a_curve_is_eased_at_its_middle() -> None:
    arc = [(2.0, 0.0), (1.85, 0.77), (1.41, 1.41), (0.77, 1.85), (0.0, 2.0)]
    vertices = [*arc, (0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
    curves = {(n, n + 1): 1 for n in range(4)}
    block = assemble_block(
        vertices,
        [Face((5, 0, 1, 2, 3, 4)), Face((0, 6, 7, 8, 4, 3, 2, 1))],
        tolerance=0.02,
        name="pool",
        curves=curves,
    )
    assert seamtree.plan(block).counts.curved == 1
    sew, ease = told(block)
    assert sew.startswith("Sew from ")
    assert "(1.41, 1.41)" in ease


def test_a_straight_join_needs_no_words() -> None:
    assert (
        told(block_from_polygons([((x, y), (x + 1, y), (x + 1, y + 1), (x, y + 1)) for x in (0, 1) for y in (0, 1)]))
        == []
    )
