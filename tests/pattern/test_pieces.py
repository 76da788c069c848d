"""Pieces laid on their lines cover their patches; triangles come from squares; sizes worked out by hand."""

import math
from itertools import pairwise, product

import pytest
import shapely
from shapely import affinity

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.errors import DrawingError, OptionError
from seamtree.pattern.cutting import build_cloths
from seamtree.pattern.pieces import build_sites, lay_piece, size_piece
from tests.support.effort import times
from tests.support.random_layouts import random_layout
from tests.support.samples import SAMPLES, planned

SURE = [*sorted(SAMPLES.glob("*.svg")), *SAMPLES.glob("*.wkt"), SAMPLES / "fish-crate.geojson"]


def sized(plan, *, margin=0.5, allowance=0.25, step=0.25, quarters=True):
    return {
        p: size_piece(
            site, margin=margin, allowance=allowance, step=step, tolerance=plan.block.tolerance, quarters=quarters
        )
        for p, site in build_sites(plan).items()
    }


def sewing_line(plan, p):
    """Return the ends of what a patch is sewn on, found anew with shapely; None for the first one of a unit."""
    unit = next(unit for unit in plan.units() if p in unit.patches)
    before = unit.patches[: unit.patches.index(p)]
    if not before:
        return None
    sewn = shapely.union_all([shapely.Polygon(plan.block.polygon(q)) for q in before])
    seam = shapely.intersection(shapely.Polygon(plan.block.polygon(p)).boundary, sewn.boundary.buffer(1e-7))
    ends = shapely.get_coordinates(seam)
    return max(product(ends, ends), key=lambda pair: math.dist(*pair))


def longest_sides(area):
    """Return the longest side of a patch, or all that are equally long, with shapely's own way to simplify it."""
    ring = list(area.exterior.coords)[:-1]
    turns = [shapely.LineString([*ring[n:], *ring[: n + 1]]) for n in range(len(ring))]
    ring = min((list(turn.simplify(0.02, preserve_topology=False).coords) for turn in turns), key=len)
    sides = list(pairwise(ring))
    longest = max(math.dist(*side) for side in sides)
    return [side for side in sides if math.dist(*side) > longest - 0.05]


def laid(area, line, allowance):
    """Return a patch with its allowances, turned so that its line runs level below it."""
    grown = area.buffer(allowance, join_style="mitre", mitre_limit=2.0)
    angle = math.degrees(math.atan2(line[1][1] - line[0][1], line[1][0] - line[0][0]))
    level = affinity.rotate(grown, -angle, origin=tuple(line[0]))
    if affinity.rotate(area, -angle, origin=tuple(line[0])).centroid.y < line[0][1]:
        level = affinity.scale(level, 1, -1, origin=tuple(line[0]))
    left, low, *_ = level.bounds
    return affinity.translate(level, -left, -low)


def cloths(piece, width):
    """Yield the ways in which a piece may be laid with its edge on the line; the patch is so wide (inches)."""
    if piece.shape in ("rectangle", "exact"):
        sizes = {(piece.along, piece.deep)} | ({(piece.deep, piece.along)} if piece.shape == "exact" else set())
        for along, deep in sizes:
            yield affinity.translate(shapely.box(0, 0, along, deep), (width - along) / 2)
    elif math.isclose(piece.along, 2 * piece.deep, rel_tol=1e-9):
        yield shapely.Polygon(
            [
                ((width - piece.along) / 2, 0),
                ((width + piece.along) / 2, 0),
                (width / 2, piece.deep),
            ]
        )
    else:
        yield shapely.Polygon([(0, 0), (piece.along, 0), (0, piece.deep)])
        yield shapely.Polygon([(width, 0), (width - piece.along, 0), (width, piece.deep)])


def check_cover(plan, *, slack=1e-3, **options):
    allowance = options.get("allowance", 0.25)
    sites = build_sites(plan)
    for p, piece in sized(plan, **options).items():
        area = shapely.Polygon(plan.block.polygon(p))
        line = sewing_line(plan, p)
        needs = [laid(area, side, allowance) for side in ([line] if line else longest_sides(area))]
        bare = [
            need.difference(way.buffer(slack, join_style="mitre")).area
            for need in needs
            for way in cloths(piece, need.bounds[2])
        ]
        assert min(bare) < 1e-6, (plan.patch_ids()[p], piece, [need.bounds for need in needs])
        cloth = shapely.Polygon(lay_piece(sites[p], piece, allowance=allowance))
        need = area.buffer(allowance, join_style="mitre", mitre_limit=2.0)
        assert need.difference(cloth.buffer(slack, join_style="mitre")).area < 1e-6, piece


@pytest.mark.parametrize("path", SURE, ids=lambda path: path.stem)
def test_pieces_of_the_samples_cover_when_laid_on_their_line(path):
    try:
        plans = planned(path.name)
    except DrawingError:
        assert path.stem.startswith("faulty")
        return
    for plan in plans:
        check_cover(plan, slack=plan.block.tolerance)
        check_cover(plan, slack=plan.block.tolerance, margin=0.25)
        check_cover(plan, slack=plan.block.tolerance, margin=0.25, quarters=False)


def test_pieces_of_random_units_cover_when_laid_on_their_line():
    units = seed = 0
    while units < times(150, 1000):
        plan = seamtree.plan(block_from_polygons(random_layout(seed)), time_limit=1)
        check_cover(plan, margin=0.25 + 0.05 * (seed % 6))
        units += plan.counts.units
        seed += 1


def triangle_block(*, outer):
    """Return a half square of 3 in sewn to something on its long side, or on a short one."""
    triangle = [(0, 0), (3, 0), (0, 3)]
    other = [(0, 0), (0, -2), (3, -2), (3, 0)] if outer else [(3, 0), (4, 1), (1, 4), (0, 3)]
    return seamtree.plan(block_from_polygons([triangle, other]))


def piece_of(plan, corners, **options):
    pieces = sized(plan, **options)
    (p,) = [p for p in pieces if len(set(plan.block.polygon(p))) == corners]
    return pieces[p]


def test_triangles_come_from_squares():
    # Common practice, exactly: (2+√2)/4 and (1+√2)/2 in larger than finished with allowances of 1/4 in.
    inner = piece_of(triangle_block(outer=False), 3, margin=0.25, step=0.001)
    assert (inner.shape, inner.side) == ("half", pytest.approx(3 + (2 + math.sqrt(2)) / 4, abs=0.001))
    outer = piece_of(triangle_block(outer=True), 3, margin=0.25, step=0.001)
    assert (outer.shape, outer.side) == (
        "quarter",
        pytest.approx(3 * math.sqrt(2) + (1 + math.sqrt(2)) / 2, abs=0.001),
    )
    # The same in eighths of an inch, as the trade says it: 7/8 and 1 1/4 in.
    assert piece_of(triangle_block(outer=False), 3, margin=0.25, step=0.125).side == 3.875
    assert piece_of(triangle_block(outer=True), 3, margin=0.25, quarters=False).shape == "half"


def test_the_long_side_lies_along_its_line():
    # Flying geese of the trade, 2 × 4: each background triangle has legs of 2 in and is sewn on its long side.
    plan = seamtree.plan(
        block_from_polygons([[(0, 2), (2, 0), (4, 2)], [(0, 0), (2, 0), (0, 2)], [(2, 0), (4, 0), (4, 2)]])
    )
    pieces = sized(plan)
    kinds = sorted((piece.shape, piece.side) for piece in pieces.values())
    assert kinds == [("half", 3.75), ("half", 3.75), ("quarter", 6.5)]
    # With its allowance alone one takes 2 √2 + 0.85 = 3.7 in along its line.
    assert all(p.along == pytest.approx(3.75 * math.sqrt(2)) for p in pieces.values() if p.shape == "half")
    check_cover(plan)


def test_a_rectangle_by_itself_is_cut_exactly():
    plan = seamtree.plan(block_from_polygons([[(0, 0), (3, 0), (3, 2.1), (0, 2.1)]]))
    (piece,) = sized(plan).values()
    assert (piece.shape, piece.along, piece.deep) == ("exact", 3.5, pytest.approx(2.6))


def test_a_patch_of_a_unit_has_the_margin_on_every_side():
    # The square one comes first, by its longest side of 2.1 in; the other is sewn on that side.
    plan = seamtree.plan(
        block_from_polygons([[(0, 0), (3, 0), (3, 2.1), (0, 2.1)], [(3, 0), (5, 0), (5, 2.1), (3, 2.1)]])
    )
    first, second = sorted((piece for piece in sized(plan).values()), key=lambda piece: piece.patch)
    assert {(first.along, first.deep), (second.along, second.deep)} == {(3.25, 3.0), (3.25, 4.0)}


def test_sharp_tips_are_told():
    plan = seamtree.plan(block_from_polygons([[(0, 0), (6, 0), (0, 1)], [(6, 0), (6, 1), (0, 1)]]))
    assert all(piece.clipped for piece in sized(plan).values())


def test_an_allowance_larger_than_the_margin_is_an_error():
    with pytest.raises(OptionError, match="part of the margin"):
        build_cloths([(triangle_block(outer=True), 1)], margin=0.25, allowance=0.5)
