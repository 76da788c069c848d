"""Lines that cross too often are refused by a count, before anything is made of them."""

import pytest
from benchmarks.families import straight_cuts

from seamtree.block import build
from seamtree.block.build import block_from_polygons, build_blocks
from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.errors import LimitError
from tests.block.drawn import frame, line, moved, one_block, turn


def net(count):
    """A frame with as many lines across it as down it: their crossings are the square of that."""
    step = 8 / (count + 1)
    across = [line((0, step * k), (8, step * k)) for k in range(1, count + 1)]
    down = [line((step * k, 0), (step * k, 8)) for k in range(1, count + 1)]
    return (frame(0, 0, 8, 8), *across, *down)


def slanted(count):
    """As many lines across a frame, down it and from corner to corner of its cells; more crossings than a net has."""
    step = 8 / (count + 1)
    return (*net(count), *(line((0, step * k), (step * k, 0)) for k in range(1, count + 1)))


@pytest.mark.parametrize(("drawn", "most"), [(net(81), "6,500"), (net(1000), "6,500"), (slanted(40), "2,000")])
def test_too_many_crossings_are_refused_before_the_geometry(drawn, most, monkeypatch):
    def never(*_, **__):
        raise AssertionError("the network is built though there are too many crossings")

    monkeypatch.setattr(build, "build_network", never)
    with pytest.raises(LimitError, match=rf"cross in more than {most} places") as caught:
        build_blocks(Drawing("net.svg", "painted", drawn))
    assert caught.value.findings[0].code == "too-large"


def test_the_limit_is_on_crossings_and_not_on_ends_that_meet(monkeypatch):
    monkeypatch.setattr(limits, "MAX_CROSSINGS_OF_TWO", 9)
    assert len(one_block(*net(3)).patches) == 16
    with pytest.raises(LimitError, match="more than 9 places"):
        one_block(*net(4))


def test_sides_that_end_on_slanted_ones_but_for_rounding_do_not_cross_them(monkeypatch):
    """Pieces of a block that is cut up by straight cuts meet along them and at their ends, and cross nowhere."""
    monkeypatch.setattr(limits, "MAX_CROSSINGS", 0)
    monkeypatch.setattr(limits, "MAX_CROSSINGS_OF_TWO", 0)
    assert len(block_from_polygons(straight_cuts(150, 1)).patches) == 150


@pytest.mark.parametrize("angle", [0, 0.4, 1.5])
def test_lines_in_two_directions_may_cross_more_often(angle, monkeypatch):
    monkeypatch.setattr(limits, "MAX_CROSSINGS", 9)
    assert len(one_block(*moved(net(4), turn(angle))).patches) == 25
    # Nearly level and upright ones do, too; a third direction does not.
    assert len(one_block(*moved(net(4), lambda at: (at[0] + 0.02 * at[1], at[1] + 0.01 * at[0]))).patches) == 25
    with pytest.raises(LimitError, match=r"more than 9 places, the most that are read\. Leave"):
        one_block(*moved(slanted(4), turn(angle)))
