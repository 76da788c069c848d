"""Foundation files: reading one back gives the unit's mirrored layout."""

import pytest
import shapely

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.pattern.foundation import build_foundations
from seamtree.pattern.svg import render_foundation_svg
from seamtree.proofreading import proofread
from tests.support.samples import plan_of


def read_back(foundation, path):
    path.write_text(render_foundation_svg(foundation), encoding="utf-8")
    (block,) = seamtree.read(path)
    return block


def check_same(foundation, block):
    left, top = (min(values) for values in zip(*foundation.outline, strict=True))
    found = {p.label: (shapely.Polygon(block.polygon(k)), p.fabric) for k, p in enumerate(block.patches)}
    assert len(found) == len(block.patches) == len(foundation.patches)
    for patch in foundation.patches:
        polygon, fabric = found[f"{patch.name} {patch.word}"]
        assert fabric == patch.fabric
        meant = shapely.Polygon([(x - left, y - top) for x, y in patch.polygon])
        assert polygon.hausdorff_distance(meant) < 0.002


@pytest.mark.parametrize("name", ["gull.svg", "net-shed.svg", "tide-pool.svg", "sea-star.svg", "fish-crate.geojson"])
def test_reading_a_foundation_gives_its_layout(name, tmp_path):
    for foundation in build_foundations(plan_of(name)):
        again = read_back(foundation, tmp_path / f"{foundation.unit}.svg")
        check_same(foundation, again)
        assert {note.code for note in again.notes} <= {
            "unusual-size",
            "bitten-outline",
        }  # a unit is smaller than blocks are
        if len(again.patches) > 1:
            assert seamtree.plan(again).verdict == "single unit"


def test_the_numbers_of_a_foundation_prove_right(tmp_path):
    for foundation in build_foundations(plan_of("mussel.svg")):
        proof = proofread(read_back(foundation, tmp_path / "unit.svg"))
        assert (proof.refutations, proof.joins_checked) == ((), True)
        assert len(proof.units) == 1


def test_fabrics_that_are_no_colours_keep_their_names(tmp_path):
    block = block_from_polygons(
        [[(0, 0), (2, 0), (2, 2), (0, 2)], [(2, 0), (4, 0), (4, 2), (2, 2)]], fabrics=["sailcloth", "tar & <rope>"]
    )
    (foundation,) = build_foundations(seamtree.plan(block))
    again = read_back(foundation, tmp_path / "unit.svg")
    assert {p.fabric for p in again.patches} == {"sailcloth", "tar----rope-"}
    assert any("tar & <rope>" in (p.label or "") for p in again.patches)
