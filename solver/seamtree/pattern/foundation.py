"""Foundations: every unit of a plan as it is printed, mirrored, with its trim line and ticks.

Coordinates of a foundation are inches on the printed side of the paper, x to the right and y down, from the top left
corner of the bounding box of its trim line. The cloth lies on the other side, so left and right are exchanged with
respect to the block.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely

from seamtree.block.model import Block, Edge
from seamtree.errors import OptionError, Point
from seamtree.geometry.clipping import pieces_inside
from seamtree.pattern.fabrics import Fabrics, fabrics_of_blocks
from seamtree.pattern.offset import offset_outline
from seamtree.planning.model import Plan, Unit

ALLOWANCE = 0.25
"""Inches of cloth beyond a seam line; common practice."""

LARGEST_ALLOWANCE = 2.0
"""Inches; more is taken for a slip."""

Path = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class PaperPatch:
    """A patch as it is printed.

    Parameters
    ----------
    name
        Its printed number, for example ``A1``.
    polygon
        Corners in turn, mirrored.
    fabric, word, code
        What the drawing fills it with; name and code of its fabric.
    """

    name: str
    polygon: Path
    fabric: str | None
    word: str
    code: str = ""


@dataclass(frozen=True, slots=True)
class Foundation:
    """The paper of one unit.

    Parameters
    ----------
    unit
        Its letter.
    patches
        In sewing order.
    outline
        Finished outline of the unit; the seam line of its joins.
    trim
        Trim line.
    ticks
        Marks from the outline to the trim line, each at a matched point.
    markings
        What lies inside the unit of the lines that are drawn on the block and are no seams.
    alike
        Letters of the other units with the same foundation.
    corner
        Where its top left corner lies in the block (inches, fabric side); a point (x, y) of a foundation that is not
        turned is the point (corner[0] - x, corner[1] + y) of the block.
    width, height
        Of the bounding box of the trim line, inches.
    turned
        Degrees that it was turned on the paper, clockwise as seen.
    allowance
        Between outline and trim line, inches.
    openings
        Outlines of the holes in a unit that touches itself at a junction, each with the trim line inside it (empty
        where the allowances fill the hole).
    twin
        Whether it is for a mirror twin of the block, and so is printed as the block is seen.
    """

    unit: str
    patches: tuple[PaperPatch, ...]
    outline: Path
    trim: Path
    ticks: tuple[tuple[Point, Point], ...]
    markings: tuple[Path, ...]
    alike: tuple[str, ...]
    corner: Point
    width: float
    height: float
    turned: float = 0.0
    allowance: float = ALLOWANCE
    openings: tuple[tuple[Path, Path], ...] = ()
    twin: bool = False

    @property
    def is_template(self) -> bool:
        """Whether it is a single patch: a template to cut by, with nothing to sew on it."""
        return len(self.patches) == 1


def build_foundations(
    plan: Plan, fabrics: Fabrics | None = None, *, allowance: float = ALLOWANCE
) -> tuple[Foundation, ...]:
    """Return the foundations of a plan, one for every unit, in sewing order.

    Parameters
    ----------
    plan
        The plan.
    fabrics
        Of the whole pattern; None for those of the drawing.
    allowance
        Inches of cloth beyond the outline of each unit.

    Raises
    ------
    OptionError
        If the allowance makes no sense.
    """
    check_allowance(allowance)
    block = plan.block
    known = fabrics or fabrics_of_blocks([plan.block])
    group_of = {name: group for group in plan.repeats for name in group}
    matched = list(_matched_edges(plan))
    return tuple(
        _foundation(
            block,
            unit,
            allowance=allowance,
            fabrics=known,
            alike=tuple(name for name in group_of.get(unit.name, ()) if name != unit.name),
            matched=matched,
        )
        for unit in plan.units()
    )


def check_allowance(allowance: float) -> None:
    """Refuse an allowance (inches) that makes no sense, with an `OptionError`."""
    if not 0.0 < allowance <= LARGEST_ALLOWANCE:
        raise OptionError(
            f"the seam allowance must be above 0 and at most {LARGEST_ALLOWANCE:g} in, not {allowance:g} in"
        )


def _foundation(
    block: Block,
    unit: Unit,
    *,
    allowance: float,
    fabrics: Fabrics,
    alike: tuple[str, ...],
    matched: Iterable[tuple[int, Edge]],
) -> Foundation:
    area = unit_area(block, unit)
    outline = tuple(area.exterior.coords)[:-1]
    trim = offset_outline(outline, allowance)
    right, left = max(x for x, _ in trim), min(x for x, _ in trim)
    top, bottom = min(y for _, y in trim), max(y for _, y in trim)

    def mirror(at: Point) -> Point:
        return right - at[0], at[1] - top

    def mirrored(path: Iterable[Point]) -> Path:
        return tuple(map(mirror, path))

    return Foundation(
        unit=unit.name,
        patches=tuple(
            PaperPatch(
                f"{unit.name}{k}",
                mirrored(block.polygon(p)),
                block.patches[p].fabric,
                fabrics.of(block.patches[p].fabric).name,
                fabrics.of(block.patches[p].fabric).code,
            )
            for k, p in enumerate(unit.patches, 1)
        ),
        outline=mirrored(outline),
        trim=mirrored(trim),
        ticks=tuple((mirror(a), mirror(b)) for a, b in _ticks(block, frozenset(unit.patches), matched, allowance)),
        markings=tuple(mirrored(path) for path in _markings_inside(block, area)),
        alike=alike,
        corner=(right, top),
        width=right - left,
        height=bottom - top,
        allowance=allowance,
        openings=tuple((mirrored(ring), mirrored(trim)) for ring, trim in _openings(area, allowance)),
    )


def _openings(area: shapely.Polygon, allowance: float) -> Iterator[tuple[Path, Path]]:
    """Yield the holes of a unit with the trim line inside each."""
    for ring in area.interiors:
        hole = shapely.Polygon(ring)
        inner = hole.buffer(-allowance, join_style="mitre")
        parts = [part for part in shapely.get_parts(inner) if not part.is_empty]
        largest = max(parts, key=lambda part: part.area) if parts else None
        yield tuple(ring.coords)[:-1], tuple(largest.exterior.coords)[:-1] if largest is not None else ()


def unit_area(block: Block, unit: Unit) -> shapely.Polygon:
    """Return the area of a unit, inches, seen from the fabric side."""
    return shapely.union_all([shapely.Polygon(block.polygon(p)) for p in unit.patches])


def mirror_twin(foundation: Foundation) -> Foundation:
    """Return the foundation of the same unit for a block that is the mirror image of this one."""

    def flipped(path: Path) -> Path:
        return tuple((foundation.width - x, y) for x, y in path)

    return replace(
        foundation,
        patches=tuple(replace(patch, polygon=flipped(patch.polygon)) for patch in foundation.patches),
        outline=flipped(foundation.outline),
        trim=flipped(foundation.trim),
        ticks=tuple((a, b) for a, b in map(flipped, foundation.ticks)),
        markings=tuple(map(flipped, foundation.markings)),
        openings=tuple((flipped(ring), flipped(trim)) for ring, trim in foundation.openings),
        twin=True,
    )


def _matched_edges(plan: Plan) -> Iterator[tuple[int, Edge]]:
    """Yield every matched point of the plan with the two edges of its join that meet there."""
    between = plan.block.edge_between()
    for join in plan.joins():
        for ends in pairwise(join.seam.path):
            for junction in ends:
                if junction in join.seam.matched:
                    yield junction, plan.block.edges[between[frozenset(ends)]]


def _ticks(
    block: Block, patches: frozenset[int], matched: Iterable[tuple[int, Edge]], allowance: float
) -> Iterator[tuple[Point, Point]]:
    """Yield marks square to the join, across the allowance of a unit, without doubles."""
    seen: list[Point] = []
    for junction, edge in matched:
        (x, y), a, b = (block.junctions[j] for j in (junction, edge.start, edge.end))
        length = math.dist(a, b)
        across = (b[1] - a[1]) / length, (a[0] - b[0]) / length  # to the left, for y runs down
        for patch, sign in ((edge.left, -1.0), (edge.right, 1.0)):
            if patch not in patches:
                continue
            # The allowance lies on the other side of the seam than the patch.
            end = x + sign * across[0] * allowance, y + sign * across[1] * allowance
            if all(math.dist(end, other) > block.tolerance for other in seen):
                seen.append(end)
                yield (x, y), end


def _markings_inside(block: Block, area: shapely.Polygon) -> Iterator[Sequence[Point]]:
    for track in block.markings:
        yield from pieces_inside(track.path, area, least=block.tolerance)
