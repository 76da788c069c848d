"""Blocks put together: sashing between them, borders round them, backing and binding.

Common practice throughout: sashing strips are as long as the blocks, those between rows as long as the row; the
two side
borders are sewn on before the top and the bottom one; a backing is 4 in larger than the top all round; a binding
takes 10 in more than the way round, for corners and joins, and its strips are cut across the fabric.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from seamtree.colour import BARE
from seamtree.errors import OptionError, Point
from seamtree.pattern.cutting import Cut
from seamtree.pattern.fabrics import BLANK, Fabric
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.pdf import Pen
from seamtree.pattern.work import BlockWork, Setting, Work
from seamtree.words import count

BACKING = 4.0
"""Inches that a backing is larger than the top, all round."""

BINDING = 10.0
"""Inches that a binding is longer than the way round."""

_SAME = 0.02
"""Inches; blocks whose sizes differ by less can be set side by side."""

_TINTS = ("#d9d4c7", "#c5bfae", "#e8e4da")
"""Of sashing and borders, whose fabric no drawing gives."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A block in the quilt: its number, whether it is a mirror twin, and where its top left corner lies (inches)."""

    block: int
    twin: bool
    at: Point


@dataclass(frozen=True, slots=True)
class Band:
    """Strips that are cut alike: what they are, how many, and their cut width and length (inches)."""

    name: str
    number: int
    width: float
    length: float


@dataclass(frozen=True, slots=True)
class Quilt:
    """Blocks put together.

    Parameters
    ----------
    width, height
        Finished, inches.
    cells
        The blocks, row by row.
    bands
        What is cut for it besides the blocks, with allowances.
    inner
        Left, top, right and bottom of the blocks within the borders, inches.
    setting, size
        What it was made of: the setting, and the finished size of the blocks.
    """

    width: float
    height: float
    cells: tuple[Cell, ...]
    bands: tuple[Band, ...]
    inner: tuple[float, float, float, float]
    setting: Setting
    size: tuple[float, float]


def build_quilt(work: Work, *, allowance: float, fabric_width: float) -> Quilt:
    """Return the quilt that the setting of a pattern makes of its blocks.

    Parameters
    ----------
    work
        The pattern, with a setting.
    allowance
        Seam allowance, inches.
    fabric_width
        Usable width of fabrics, inches.

    Raises
    ------
    OptionError
        If blocks and setting do not fit each other.
    """
    setting = work.setting
    if setting is None:
        raise OptionError("the pattern has no setting")
    wide, high = _common_size(work.blocks)
    number = sum(block.copies for block in work.blocks)
    places = setting.across * setting.down
    if number != places:
        sewn = "is sewn" if number == 1 else "are sewn"
        raise OptionError(
            f"the setting has room for {setting.across} × {setting.down} = {places} blocks, but {number} {sewn}"
        )
    edge = math.fsum(setting.borders)
    step = wide + setting.sashing, high + setting.sashing
    inner = setting.across * step[0] - setting.sashing, setting.down * step[1] - setting.sashing
    cells = tuple(
        Cell(block, twin, (edge + (n % setting.across) * step[0], edge + (n // setting.across) * step[1]))
        for n, (block, twin) in enumerate(_dealt(work.blocks))
    )
    width, height = inner[0] + 2 * edge, inner[1] + 2 * edge
    bands = tuple(_bands(setting, (wide, high), inner, allowance, fabric_width))
    return Quilt(width, height, cells, bands, (edge, edge, edge + inner[0], edge + inner[1]), setting, (wide, high))


def _common_size(blocks: Sequence[BlockWork]) -> tuple[float, float]:
    first = blocks[0].plan.block
    for work in blocks:
        block = work.plan.block
        if abs(block.width - first.width) > _SAME or abs(block.height - first.height) > _SAME:
            raise OptionError(
                f"blocks in a setting have one size, but {blocks[0].title} is {first.width:.2f} × "
                f"{first.height:.2f} in "
                f"and {work.title} {block.width:.2f} × {block.height:.2f} in; give them a width that makes them equal"
            )
    return first.width, first.height


def _dealt(blocks: Sequence[BlockWork]) -> list[tuple[int, bool]]:
    """Return the blocks mixed evenly: each copy at its share of the whole, mirror twins between the others."""
    placed = []
    for number, block in enumerate(blocks):
        twins = {math.floor((k + 0.5) * block.copies / block.mirrored) for k in range(block.mirrored)}
        placed += [((k + 0.5) / block.copies, number, k in twins) for k in range(block.copies)]
    return [(number, twin) for _, number, twin in sorted(placed)]


def _bands(
    setting: Setting, size: tuple[float, float], inner: tuple[float, float], allowance: float, fabric_width: float
) -> Iterator[Band]:
    more = 2 * allowance
    if setting.sashing:
        if setting.across > 1:
            yield Band(
                "sashing between blocks",
                setting.down * (setting.across - 1),
                setting.sashing + more,
                size[1] + more,
            )
        if setting.down > 1:
            yield Band("sashing between rows", setting.down - 1, setting.sashing + more, inner[0] + more)
    wide, high = inner
    for number, border in enumerate(setting.borders, 1):
        yield Band(f"border {number}, sides", 2, border + more, high + more)
        wide, high = wide + 2 * border, high + 2 * border
        yield Band(f"border {number}, top and bottom", 2, border + more, wide + more)
    if setting.binding:
        strips = math.ceil((2 * (wide + high) + BINDING) / fabric_width - 1e-9)
        yield Band("binding", strips, setting.binding, fabric_width)
    if setting.backing:
        yield min(_backings(wide + 2 * BACKING, high + 2 * BACKING, more, fabric_width), key=lambda band: band[0])[1]


def _backings(wide: float, high: float, more: float, fabric_width: float) -> Iterator[tuple[float, Band]]:
    """Yield ways to piece a backing from lengths of fabric, with the length to buy: lengthwise, and across."""
    for side, length in ((wide, high), (high, wide)):
        number = 1 if side <= fabric_width else math.ceil((side - more) / (fabric_width - more) - 1e-9)
        yield number * length, Band("backing", number, fabric_width, length)


def setting_cuts(quilt: Quilt, *, allowance: float, fabric_width: float) -> Iterator[tuple[Fabric, Cut]]:
    """Yield what is cut besides the blocks; strips longer than the fabric is wide are joined from several."""
    fabrics: dict[str, Fabric] = {}
    for band in quilt.bands:
        name = band.name.partition(" between")[0].partition(",")[0]
        fabric = fabrics.setdefault(name, Fabric(BLANK, name, ()))
        if name == "backing":
            yield from ((fabric, Cut(name, *sorted((band.width, band.length)))) for _ in range(band.number))
            continue
        for length in [band.length] * band.number:
            left = length
            while left > fabric_width + 1e-9:
                yield fabric, Cut(name, *sorted((band.width, fabric_width)))
                left -= fabric_width - 2 * allowance
            yield fabric, Cut(name, *sorted((band.width, left)))


def write_setting(quilt: Quilt, *, lengths: Lengths) -> tuple[str, ...]:
    """Return how the blocks are put together, in turn."""
    setting = quilt.setting
    told = [
        f"Lay out {setting.down} rows of {count(setting.across, 'block')} as on the picture, and sew the blocks "
        "of each "
        f"row together{', a sashing strip between neighbours' if setting.sashing and setting.across > 1 else ''}. "
        "Press the allowances of each row to one side, of the next to the other."
    ]
    if setting.down > 1:
        told.append(
            f"Join the rows{', a sashing strip between two' if setting.sashing else ''}; seams of neighbouring "
            "rows meet."
        )
    if setting.borders:
        told.append("Sew on each border in turn: first both sides, then top and bottom; press toward the border.")
    told.append("Take the paper off when every edge of a block is sewn.")
    if setting.backing:
        told.append(
            "Join the lengths of the backing and press the seam open. Lay the backing wrong side up, the batting "
            "and the "
            f"top on it; backing and batting stand out {lengths.size(BACKING)} all round. Baste and quilt, then trim."
        )
    if setting.binding:
        told.append(
            "Join the strips of the binding on the diagonal, press them in half lengthwise, sew them round the "
            "edge and mitre the corners; turn the fold over and sew it down."
        )
    return tuple(told)


def draw_quilt(pen: Pen, quilt: Quilt, work: Work, corner: Point, size: float) -> None:
    """Draw the whole quilt, its longest side of a size (inches); `corner` is its top left one on the page."""
    scale = size / max(quilt.width, quilt.height)

    def box(left: float, top: float, right: float, bottom: float, fill: str) -> None:
        points = [(left, top), (right, top), (right, bottom), (left, bottom)]
        with pen.style(weight=0.4, colour="#555555", fill=fill):
            pen.polygon([(corner[0] + x * scale, corner[1] + y * scale) for x, y in points], fill=True)

    inset = 0.0
    for number, border in reversed(list(enumerate(quilt.setting.borders))):
        box(inset, inset, quilt.width - inset, quilt.height - inset, _TINTS[number % 2])
        inset += border
    box(*quilt.inner, _TINTS[2])
    for cell in quilt.cells:
        block = work.blocks[cell.block].plan.block
        for p, patch in enumerate(block.patches):
            with pen.style(weight=0.2, colour="#666666", fill=work.fabrics.of(patch.fabric).colour or BARE):
                pen.polygon(
                    [
                        (
                            corner[0] + (cell.at[0] + (block.width - x if cell.twin else x)) * scale,
                            corner[1] + (cell.at[1] + y) * scale,
                        )
                        for x, y in block.polygon(p)
                    ],
                    fill=True,
                )
