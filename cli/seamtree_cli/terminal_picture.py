"""A small picture of a block in box characters, with the patch numbers on the patches.

Every character is a vertex of a raster: it has an arm in each of the four directions where the patches to either
side of that arm differ. Heavy arms part units and follow the outline, light ones are seams within a unit. The
picture is the same with and without colour. Hard corners are marked where they lie, by kind.
"""

from __future__ import annotations

from itertools import groupby
from operator import itemgetter

import numpy as np
import shapely
from numpy.typing import NDArray
from rich.style import Style
from rich.text import Text

from seamtree.colour import BARE
from seamtree.fabric import fabric_rgb
from seamtree.planning.model import CornerKind, Plan
from seamtree_cli.sewing_tree import swatch
from seamtree_cli.wording import count

LEAST_COLUMNS = 32
MOST_COLUMNS = 120
"""Narrower is not worth drawing; wider is no small picture."""

LEAST_ROWS = 24
MOST_ROWS = 60
"""Room that a caller gives at least, and where there is no screen to go by."""

_CELL = 2.0
"""A character is about twice as high as it is wide."""

_BOXES = " ╶╺╴─╼╸╾━╷┌┍┐┬┮┑┭┯╻┎┏┒┰┲┓┱┳╵└┕┘┴┶┙┵┷│├┝┤┼┾┥┽┿╽┟┢┧╁╆┪╅╈╹┖┗┚┸┺┛┹┻╿┞┡┦╀╄┩╃╇┃┠┣┨╂╊┫╉╋"
"""Box characters by 27 · up + 9 · down + 3 · left + right; each arm is 0 (none), 1 (light) or 2 (heavy)."""

_NOBODY = -1

_SIGNS: dict[CornerKind, tuple[str, str]] = {
    "set-in": ("▲", "set-in corner"),
    "partial": ("■", "partial seam"),
    "curved": ("●", "curved seam"),
}
"""The sign for each kind of hard corner, and its words."""

Raster = NDArray[np.int64]


def render_picture(plan: Plan, *, columns: int, rows: int, colour: bool) -> Text | None:
    """Draw a block.

    Parameters
    ----------
    plan
        Block and numbers.
    columns, rows
        The room there is, in characters. The picture takes no more than it needs to show every number.
    colour
        Whether patches are tinted with their fabric.

    Returns
    -------
    rich.text.Text or None
        The picture, and below it what the signs mean and how many numbers did not fit; None when there is too
        little room to draw.
    """
    ids = plan.patch_ids()
    best: tuple[Raster, dict[tuple[int, int], int]] | None = None
    for width, height in _sizes(plan, columns, rows):
        owners = _owners(plan, width, height)
        best = owners, _place_numbers(owners, ids)
        if len(best[1]) == len(ids):
            break
    if best is None:
        return None
    picture = _draw(plan, *best, ids, colour=colour)
    kinds = {corner.kind for join in plan.joins() for corner in join.seam.corners}
    if kinds:
        picture.append(
            "\n" + "   ".join(f"{sign} {words}" for kind, (sign, words) in _SIGNS.items() if kind in kinds)
        )
    missing = len(ids) - len(best[1])
    if missing:
        picture.append(f"\n{count(missing, 'patch is', 'patches are')} too small here for a number", "dim")
    return picture


def _sizes(plan: Plan, columns: int, rows: int) -> list[tuple[int, int]]:
    """Return the sizes to try, in characters, from small to large."""
    slope = plan.block.height / plan.block.width / _CELL
    most = min(columns, MOST_COLUMNS, int((rows - 1) / slope) + 1)
    widths = [*range(LEAST_COLUMNS, most, 8), most] if most >= LEAST_COLUMNS else []
    return [(width, max(2, round((width - 1) * slope) + 1)) for width in widths]


def _place_signs(plan: Plan, boxes: Raster) -> dict[tuple[int, int], str]:
    """Return row and column of the sign for every hard corner: the line or meeting of lines nearest to it."""
    rows, columns = np.nonzero(boxes)
    down, across = plan.block.height / (boxes.shape[0] - 1), plan.block.width / (boxes.shape[1] - 1)
    found = {}
    for join in plan.joins():
        for corner in join.seam.corners:
            x, y = plan.block.junctions[corner.junction]
            k = np.argmin((columns * across - x) ** 2 + (rows * down - y) ** 2)
            found[int(rows[k]), int(columns[k])] = _SIGNS[corner.kind][0]
    return found


def _owners(plan: Plan, width: int, height: int) -> Raster:
    """Return the patch at the middle of every field between four characters; the outermost fields are outside."""
    block = plan.block
    owners = np.full((height + 1, width + 1), _NOBODY, dtype=np.int64)
    xs = (np.arange(width + 1) - 0.5) * block.width / (width - 1)
    ys = (np.arange(height + 1) - 0.5) * block.height / (height - 1)
    for patch in range(len(block.patches)):
        shape = shapely.Polygon(block.polygon(patch))
        left, top, right, bottom = shape.bounds
        across = slice(np.searchsorted(xs, left), np.searchsorted(xs, right, side="right"))
        down = slice(np.searchsorted(ys, top), np.searchsorted(ys, bottom, side="right"))
        shapely.prepare(shape)
        grid_x, grid_y = np.meshgrid(xs[across], ys[down])
        view = owners[down, across]
        view[shapely.intersects_xy(shape, grid_x, grid_y) & (view == _NOBODY)] = patch
    return owners


def _corners(owners: Raster) -> tuple[Raster, Raster, Raster, Raster]:
    """Return the fields above left, above right, below left and below right of every character."""
    return owners[:-1, :-1], owners[:-1, 1:], owners[1:, :-1], owners[1:, 1:]


def _place_numbers(owners: Raster, ids: dict[int, str]) -> dict[tuple[int, int], int]:
    """Find room for the patch numbers: row and first column of each that fits."""
    quarter, *others = _corners(owners)
    inside = np.where(np.all([quarter == other for other in others], axis=0), quarter, _NOBODY)
    rows, columns = np.nonzero(inside != _NOBODY)
    order = np.argsort(inside[rows, columns], kind="stable")
    rows, columns = rows[order], columns[order]
    patches, starts = np.unique(inside[rows, columns], return_index=True)
    # Split at every start, and leave out what comes before the first one: nothing.
    stretches = zip(patches.tolist(), np.split(rows, starts)[1:], np.split(columns, starts)[1:], strict=True)
    found = {}
    for patch, r, c in stretches:
        length = len(ids[patch])
        if len(r) < length:
            continue
        # Characters come row by row, so a stretch of `length` in one row ends exactly length - 1 further on.
        begin, end = slice(len(r) - length + 1), slice(length - 1, None)
        fits = (r[begin] == r[end]) & (c[end] - c[begin] == length - 1)
        starts_at = np.nonzero(fits)[0]
        if len(starts_at):
            off = (c[starts_at] + (length - 1) / 2 - c.mean()) ** 2 + (_CELL * (r[starts_at] - r.mean())) ** 2
            k = starts_at[np.argmin(off)]
            found[int(r[k]), int(c[k])] = patch
    return found


def _draw(
    plan: Plan, owners: Raster, places: dict[tuple[int, int], int], ids: dict[int, str], *, colour: bool
) -> Text:
    """Write the characters row by row."""
    boxes = _box_numbers(owners, _units_by_patch(plan))
    signs = _place_signs(plan, boxes)
    tints = [_tint(patch.fabric) for patch in plan.block.patches] if colour else []
    above_left, above_right, below_left, below_right = _corners(owners)
    within = np.min([above_left, above_right, below_left, below_right], axis=0) != _NOBODY
    picture = Text(no_wrap=True)
    for row in range(boxes.shape[0]):
        line = [_BOXES[box] for box in boxes[row]]
        for (r, c), patch in places.items():
            if r == row:
                line[c : c + len(ids[patch])] = ids[patch]
        for (r, c), sign in signs.items():
            if r == row:
                line[c] = sign
        if row:
            picture.append("\n")
        tint = [tints[p] if colour and w else None for p, w in zip(below_right[row], within[row], strict=True)]
        for style, stretch in groupby(zip(line, tint, strict=True), key=itemgetter(1)):
            picture.append("".join(character for character, _ in stretch), style)
    return picture


def _box_numbers(owners: Raster, units: Raster) -> Raster:
    """Return the number of the box character for every place."""

    def weight(one: Raster, other: Raster) -> Raster:
        return np.where(one == other, 0, np.where(units[one] == units[other], 1, 2))

    above_left, above_right, below_left, below_right = _corners(owners)
    return (
        27 * weight(above_left, above_right)
        + 9 * weight(below_left, below_right)
        + 3 * weight(above_left, below_left)
        + weight(above_right, below_right)
    )


def _units_by_patch(plan: Plan) -> Raster:
    """Return the number of the unit for every patch; the last entry, at index -1, is nobody's."""
    units = np.full(len(plan.block.patches) + 1, _NOBODY, dtype=np.int64)
    for number, unit in enumerate(plan.units()):
        units[list(unit.patches)] = number
    return units


def _tint(fabric: str | None) -> Style:
    return swatch(fabric if fabric and fabric_rgb(fabric) else BARE)
