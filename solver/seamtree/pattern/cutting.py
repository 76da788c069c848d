"""What to cut: a rectangle of cloth for every patch, and how much fabric that takes.

Common practice: pieces for paper piecing are cut 1/2 in larger than the patch all round; fabric is about 42 in wide,
of which 40 in are safe to count on; shops sell it by the eighth of a yard. A fat quarter is half the width of a half
yard (18 in), a fat eighth half the width of a quarter yard (9 in).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely

from seamtree.errors import OptionError, Point
from seamtree.fabric import fabric_words
from seamtree.pattern.lengths import CM, rounded_up
from seamtree.planning.model import Plan, id_order

MARGIN = 0.5
"""Inches that a piece is larger than its patch, all round."""

STEP = 0.25
"""Inches; sides of pieces are rounded up to a multiple of it."""

FABRIC_WIDTH = 40.0
"""Usable width of a fabric, inches."""

EIGHTH = 4.5
"""An eighth of a yard, inches."""

FAT_EIGHTH, FAT_QUARTER = 9.0, 18.0
"""Inches along the selvage; across, both are half as wide as the fabric."""

_CM_STEP = 5
"""Centimetres; metric lengths to buy are rounded up to a multiple of it."""


@dataclass(frozen=True, slots=True)
class Piece:
    """A rectangle to cut.

    Parameters
    ----------
    patch
        Printed number of the patch that it is for.
    short, long
        Its sides, inches.
    """

    patch: str
    short: float
    long: float

    def __post_init__(self) -> None:
        if not 0 < self.short <= self.long:
            raise ValueError("a piece has two sides, the short one first")


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip cut across the fabric, `height` inches high, and the pieces cut off it."""

    height: float
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of a fabric is needed.

    Parameters
    ----------
    strips
        Strips across the usable width, the highest first.
    too_wide
        Pieces that no strip can hold, for both their sides are longer than the fabric is wide.
    length
        Inches of fabric that the strips take.
    fat
        ``fat eighth`` or ``fat quarter`` if one of them is enough, else None.
    """

    strips: tuple[Strip, ...]
    too_wide: tuple[Piece, ...]
    length: float
    fat: str | None

    @property
    def eighths(self) -> int:
        """Eighths of a yard to buy."""
        return max(1, math.ceil(self.length / EIGHTH - 1e-6)) if self.strips else 0

    @property
    def centimetres(self) -> int:
        """Centimetres to buy."""
        return round(rounded_up(self.length * CM, _CM_STEP))


@dataclass(frozen=True, slots=True)
class FabricCuts:
    """All that is cut from one fabric; pieces from the largest on."""

    fabric: str | None
    word: str
    pieces: tuple[Piece, ...]
    amount: Amount


def build_cutting_list(
    plan: Plan, *, margin: float = MARGIN, step: float = STEP, fabric_width: float = FABRIC_WIDTH
) -> tuple[FabricCuts, ...]:
    """Return what is cut from each fabric, in the order of the fabrics' words.

    Parameters
    ----------
    plan
        The plan.
    margin
        Inches that a piece is larger than its patch, all round.
    step
        Sides are rounded up to a multiple of it, inches.
    fabric_width
        Usable width of the fabrics, inches.

    Raises
    ------
    OptionError
        If an option makes no sense.
    """
    check_cutting(margin=margin, step=step, fabric_width=fabric_width)
    block = plan.block
    words = fabric_words(patch.fabric for patch in block.patches)
    by_fabric: dict[str | None, list[Piece]] = {}
    for p, name in plan.patch_ids().items():
        short, long = fit_rectangle(block.polygon(p), margin=margin, step=step)
        by_fabric.setdefault(block.patches[p].fabric, []).append(Piece(name, short, long))
    return tuple(
        FabricCuts(fabric, words[fabric], tuple(_ordered(pieces)), build_amount(pieces, fabric_width=fabric_width))
        for fabric, pieces in sorted(by_fabric.items(), key=lambda entry: words[entry[0]])
    )


def check_cutting(*, margin: float, step: float, fabric_width: float) -> None:
    """Refuse sizes of pieces and fabrics (inches) that make no sense, with an `OptionError`."""
    for name, value, least, most in (
        ("the margin of the pieces", margin, 0.0, 3.0),
        ("the step that pieces are rounded to", step, 0.01, 2.0),
        ("the usable width of the fabric", fabric_width, 4.0, 200.0),
    ):
        if not least <= value <= most:
            raise OptionError(f"{name} must be between {least:g} and {most:g} in, not {value:g} in")


def _ordered(pieces: Iterable[Piece]) -> list[Piece]:
    return sorted(pieces, key=lambda piece: (-piece.short, -piece.long, id_order(piece.patch)))


def fit_rectangle(polygon: Sequence[Point], *, margin: float, step: float) -> tuple[float, float]:
    """Return the sides of the smallest rectangle that covers a patch and a margin all round.

    Parameters
    ----------
    polygon
        Corners of the patch, inches.
    margin
        Inches all round.
    step
        Both sides are rounded up to a multiple of it.

    Returns
    -------
    short, long
        Inches. One side of the smallest rectangle round a polygon runs along a side of its hull (H. Freeman and
        R. Shapira, 'Determining the minimum-area encasing rectangle for an arbitrary closed curve', 1975), so one
        side of the patch lies along a side of the piece.
    """
    hull = list(shapely.convex_hull(shapely.Polygon(polygon)).exterior.coords)
    fits = []
    for a, b in pairwise(hull):
        length = math.dist(a, b)
        ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
        along = [x * ux + y * uy for x, y in hull]
        across = [y * ux - x * uy for x, y in hull]
        short, long = sorted(rounded_up(max(values) - min(values) + 2 * margin, step) for values in (along, across))
        fits.append((short * long, short, long))
    _, short, long = min(fits)
    return short, long


def build_amount(pieces: Iterable[Piece], *, fabric_width: float) -> Amount:
    """Return how much fabric pieces take.

    Parameters
    ----------
    pieces
        What is cut from one fabric.
    fabric_width
        Usable width, inches.
    """
    pieces = list(pieces)
    strips, too_wide = cut_strips(pieces, across=fabric_width)
    fats = (("fat eighth", FAT_EIGHTH), ("fat quarter", FAT_QUARTER))
    half = fabric_width / 2
    fat = next((name for name, high in fats if _holds(pieces, high, half) or _holds(pieces, half, high)), None)
    return Amount(strips, too_wide, math.fsum(strip.height for strip in strips), fat)


def _holds(pieces: Sequence[Piece], high: float, across: float) -> bool:
    strips, too_wide = cut_strips(pieces, across=across)
    return not too_wide and math.fsum(strip.height for strip in strips) <= high + 1e-6


def cut_strips(pieces: Iterable[Piece], *, across: float) -> tuple[tuple[Strip, ...], tuple[Piece, ...]]:
    """Share pieces out among strips.

    Parameters
    ----------
    pieces
        What is cut.
    across
        Length of a strip, inches.

    Returns
    -------
    strips
        The highest first. A piece lies with its short side upright unless it is longer than the strip; the highest
        pieces come first, each in the first strip with room (first fit by decreasing height: E. G. Coffman et al.,
        'Performance bounds for level-oriented two-dimensional packing algorithms', 1980).
    too_wide
        Pieces that fit neither way.
    """
    too_wide = tuple(piece for piece in _ordered(pieces) if piece.short > across + 1e-6)
    laid = sorted(_laid(pieces, across), key=lambda entry: (-entry[0], -entry[1], id_order(entry[2].patch)))
    open_strips: list[tuple[float, list[float], list[Piece]]] = []
    for high, wide, piece in laid:
        for _, used, held in open_strips:
            if math.fsum((*used, wide)) <= across + 1e-6:
                used.append(wide)
                held.append(piece)
                break
        else:
            open_strips.append((high, [wide], [piece]))
    return tuple(Strip(high, tuple(held)) for high, _, held in open_strips), too_wide


def _laid(pieces: Iterable[Piece], across: float) -> Iterator[tuple[float, float, Piece]]:
    """Yield height and width of each piece as it lies in a strip."""
    for piece in pieces:
        if piece.long <= across + 1e-6:
            yield piece.short, piece.long, piece
        elif piece.short <= across + 1e-6:
            yield piece.long, piece.short, piece
