"""What to cut: the pieces of all patches off strips of cloth, and how much fabric that takes.

Common practice: fabric is about 42 in wide, of which 40 in are safe to count on; shops sell it by the eighth of a
yard,
and more than half a yard by the quarter. A fat quarter is half the width of a half yard (18 in), a fat eighth half
the width of a quarter yard (9 in).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

from seamtree.errors import OptionError
from seamtree.pattern.fabrics import Fabric, Fabrics, fabrics_of_blocks
from seamtree.pattern.foundation import ALLOWANCE
from seamtree.pattern.lengths import CM, rounded_up
from seamtree.pattern.pieces import Piece, Shape, Site, build_sites, size_piece
from seamtree.planning.model import Plan, id_order

MARGIN = 0.5
"""Inches that a piece is larger than its patch, all round; the allowance is part of it."""

STEP = 0.25
"""Inches; sides of pieces are rounded up to a multiple of it."""

FABRIC_WIDTH = 40.0
"""Usable width of a fabric, inches."""

EIGHTH = 4.5
"""An eighth of a yard, inches."""

FAT_EIGHTH, FAT_QUARTER = 9.0, 18.0
"""Inches along the selvage; across, both are half as wide as the fabric."""

_CM_STEP = 5
"""Centimetres; metric lengths to buy are rounded up to a multiple of it, beyond `_HALF` to one of twice as much."""

_HALF = 4
"""Eighths of a yard: more is bought by the quarter."""

_HALF_METRE = 50
"""Centimetres: more is bought by ten."""

_LEAST_QUARTERS = 3
"""So many equal triangles are worth the square that is quartered; fewer come from halved squares."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A rectangle that is cut off a strip.

    Parameters
    ----------
    name
        What it is for.
    short, long
        Its sides, inches.
    """

    name: str
    short: float
    long: float

    def __post_init__(self) -> None:
        if not 0 < self.short <= self.long:
            raise ValueError("a piece has two sides, the short one first")


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip cut across the fabric, `height` inches high, and what is cut off it."""

    height: float
    cuts: tuple[Cut, ...]


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of a fabric is needed.

    Parameters
    ----------
    strips
        Strips across the usable width, the highest first.
    too_wide
        What no strip can hold, for both its sides are longer than the fabric is wide.
    length
        Inches of fabric that the strips take.
    fat
        ``fat eighth`` or ``fat quarter`` if one of them is enough, else None.
    """

    strips: tuple[Strip, ...]
    too_wide: tuple[Cut, ...]
    length: float
    fat: str | None

    @property
    def eighths(self) -> int:
        """Eighths of a yard to buy: by the eighth up to half a yard, then by the quarter."""
        if not self.strips:
            return 0
        eighths = max(1, math.ceil(self.length / EIGHTH - 1e-6))
        return eighths if eighths <= _HALF else 2 * math.ceil(eighths / 2)

    @property
    def centimetres(self) -> int:
        """Centimetres to buy: by five up to half a metre, then by ten."""
        least = round(rounded_up(self.length * CM, _CM_STEP))
        return least if least <= _HALF_METRE else round(rounded_up(self.length * CM, 2 * _CM_STEP))


@dataclass(frozen=True, slots=True)
class PatchCloth:
    """The piece of one patch of a block: the number of the block, the patch's fabric, and how many are cut of it."""

    block: int
    patch: int
    fabric: Fabric
    piece: Piece
    copies: int


@dataclass(frozen=True, slots=True)
class CutRow:
    """Pieces that are cut alike.

    Parameters
    ----------
    shape, along, deep, side
        As those of `Piece`.
    cloths
        What they are for.
    cuts
        How many rectangles or squares are cut.
    """

    shape: Shape
    along: float
    deep: float
    side: float
    cloths: tuple[PatchCloth, ...]
    cuts: int


@dataclass(frozen=True, slots=True)
class FabricCuts:
    """All that is cut from one fabric, from the largest on."""

    fabric: Fabric
    rows: tuple[CutRow, ...]
    amount: Amount


def build_cloths(
    plans: Sequence[tuple[Plan, int]],
    fabrics: Fabrics | None = None,
    *,
    margin: float = MARGIN,
    allowance: float = ALLOWANCE,
    step: float = STEP,
) -> tuple[PatchCloth, ...]:
    """Return the piece of every patch.

    Parameters
    ----------
    plans
        What is sewn, each with how often.
    fabrics
        Of all of them; None for those that the drawings have.
    margin
        Inches that a piece is larger than its patch, all round.
    allowance
        Seam allowance, inches.
    step
        Sides are rounded up to a multiple of it, inches.

    Raises
    ------
    OptionError
        If an option makes no sense.
    """
    check_cutting(margin=margin, step=step, fabric_width=FABRIC_WIDTH, allowance=allowance)
    known = fabrics or fabrics_of_blocks(plan.block for plan, _ in plans)

    def sized(plan: Plan, site: Site, *, quarters: bool) -> Piece:
        tolerance = plan.block.tolerance
        return size_piece(site, margin=margin, allowance=allowance, step=step, tolerance=tolerance, quarters=quarters)

    laid = [
        (number, plan, copies, p, site)
        for number, (plan, copies) in enumerate(plans)
        for p, site in build_sites(plan).items()
    ]
    pieces = [sized(plan, site, quarters=True) for _, plan, _, _, site in laid]
    of = [known.of(plan.block.patches[p].fabric) for _, plan, _, p, _ in laid]
    alike: Counter[tuple[str, float]] = Counter()
    for (_, _, copies, _, _), piece, fabric in zip(laid, pieces, of, strict=True):
        alike[fabric.code, round(piece.side, 6)] += copies * (piece.shape == "quarter")
    return tuple(
        PatchCloth(
            number,
            p,
            fabric,
            sized(plan, site, quarters=False)
            if piece.shape == "quarter" and alike[fabric.code, round(piece.side, 6)] < _LEAST_QUARTERS
            else piece,
            copies,
        )
        for (number, plan, copies, p, site), piece, fabric in zip(laid, pieces, of, strict=True)
    )


def build_cutting_list(
    cloths: Iterable[PatchCloth], *, fabric_width: float = FABRIC_WIDTH, more: Iterable[tuple[Fabric, Cut]] = ()
) -> tuple[FabricCuts, ...]:
    """Return what is cut from each fabric, in the order of the fabrics' names.

    Parameters
    ----------
    cloths
        The pieces of all patches.
    fabric_width
        Usable width of the fabrics that have none of their own, inches.
    more
        What else is cut of some fabrics.
    """
    by_fabric: dict[Fabric, list[PatchCloth]] = {}
    for cloth in cloths:
        by_fabric.setdefault(cloth.fabric, []).append(cloth)
    others: dict[Fabric, list[Cut]] = {}
    for fabric, cut in more:
        others.setdefault(fabric, []).append(cut)
        by_fabric.setdefault(fabric, [])
    found = []
    for fabric, group in sorted(by_fabric.items(), key=lambda entry: _fabric_order(entry[0])):
        rows = tuple(_rows(group))
        cuts = [cut for row in rows for cut in _cuts(row)] + others.get(fabric, [])
        width = fabric.width or fabric_width
        found.append(FabricCuts(fabric, rows, build_amount(cuts, fabric_width=width)))
    return tuple(found)


def _fabric_order(fabric: Fabric) -> tuple[bool, str, str]:
    return not fabric.known, fabric.name, fabric.code


def _rows(cloths: Iterable[PatchCloth]) -> Iterator[CutRow]:
    """Yield pieces that are cut alike, from the largest on."""

    def size(cloth: PatchCloth) -> tuple[float, float, Shape, float]:
        piece = cloth.piece
        return round(-piece.deep, 6), round(-piece.along, 6), piece.shape, round(piece.side, 6)

    def turn(cloth: PatchCloth) -> tuple[object, ...]:
        return (*size(cloth), cloth.block, *id_order(cloth.piece.patch))

    for _, group in groupby(sorted(cloths, key=turn), key=size):
        alike = tuple(group)
        piece = alike[0].piece
        number = sum(cloth.copies for cloth in alike)
        per_cut = {"half": 2, "quarter": 4}.get(piece.shape, 1)
        yield CutRow(piece.shape, piece.along, piece.deep, piece.side, alike, math.ceil(number / per_cut))


def _cuts(row: CutRow) -> list[Cut]:
    """Return the rectangles or squares of a row."""
    short, long = sorted((row.side or row.along, row.side or row.deep))
    return [Cut(row.cloths[0].piece.patch, short, long)] * row.cuts


def check_cutting(*, margin: float, step: float, fabric_width: float, allowance: float = ALLOWANCE) -> None:
    """Refuse sizes of pieces and fabrics (inches) that make no sense, with an `OptionError`."""
    for name, value, least, most in (
        ("the margin of the pieces", margin, 0.0, 3.0),
        ("the step that pieces are rounded to", step, 0.01, 2.0),
        ("the usable width of the fabric", fabric_width, 4.0, 200.0),
    ):
        if not least <= value <= most:
            raise OptionError(f"{name} must be between {least:g} and {most:g} in, not {value:g} in")
    if allowance > margin + 1e-9:
        raise OptionError(
            f"the seam allowance ({allowance:g} in) is part of the margin of the pieces ({margin:g} in) and "
            "cannot be larger; give a margin that holds it"
        )


def build_amount(pieces: Iterable[Cut], *, fabric_width: float) -> Amount:
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


def _holds(pieces: Sequence[Cut], high: float, across: float) -> bool:
    strips, too_wide = cut_strips(pieces, across=across)
    return not too_wide and math.fsum(strip.height for strip in strips) <= high + 1e-6


def cut_strips(pieces: Iterable[Cut], *, across: float) -> tuple[tuple[Strip, ...], tuple[Cut, ...]]:
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
    pieces = list(pieces)
    too_wide = tuple(piece for piece in pieces if piece.short > across + 1e-6)
    laid = sorted(_laid(pieces, across), key=lambda entry: (-entry[0], -entry[1], entry[2].name))
    open_strips: list[_OpenStrip] = []
    for high, wide, piece in laid:
        strip = next((strip for strip in open_strips if strip.used + wide <= across + 1e-6), None)
        if strip is None:
            strip = _OpenStrip(high)
            open_strips.append(strip)
        strip.used += wide
        strip.held.append(piece)
    return tuple(Strip(strip.height, tuple(strip.held)) for strip in open_strips), too_wide


@dataclass(slots=True)
class _OpenStrip:
    """A strip that is being filled: how much of its length is used, and what lies on it."""

    height: float
    used: float = 0.0
    held: list[Cut] = field(default_factory=list)


def _laid(pieces: Iterable[Cut], across: float) -> Iterator[tuple[float, float, Cut]]:
    """Yield height and width of each piece as it lies in a strip."""
    for piece in pieces:
        if piece.long <= across + 1e-6:
            yield piece.short, piece.long, piece
        elif piece.short <= across + 1e-6:
            yield piece.long, piece.short, piece
