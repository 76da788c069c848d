"""The pages of a pack that are mostly words: front, shopping and cutting lists, directions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import partial
from itertools import groupby

from seamtree.errors import Point
from seamtree.pattern.cutting import FAT_EIGHTH, FAT_QUARTER, Cut, CutRow, FabricCuts, PatchCloth
from seamtree.pattern.directions import Section, tell_size, warnings_for_print
from seamtree.pattern.flow import Cell, Column, Swatch
from seamtree.pattern.fonts import text_width
from seamtree.pattern.labels import short_word
from seamtree.pattern.lengths import POINTS, Lengths, fraction
from seamtree.pattern.painting import paint_cloth, paint_picture
from seamtree.pattern.paper import Paper
from seamtree.pattern.pdf import Pen
from seamtree.pattern.setting import Quilt, draw_quilt, write_setting
from seamtree.pattern.work import BlockWork, Work
from seamtree.picture import SMALL, Look, Picture, draw_plan
from seamtree.picture.captions import figures_of
from seamtree.planning.naming import name_units
from seamtree.rating.judgement import Rating
from seamtree.words import capital, count, listed

_PICTURE = 3.55
"""Longest side of the two pictures of a block that stand side by side, inches."""

_QUILT = 4.2
"""Longest side of the picture of a whole quilt, inches."""

_LEAST_PICTURE = 2.3
"""With many fabrics the pictures of the first page are smaller, but not smaller than this, inches."""

_FEW_FABRICS = 12
"""So many fabrics leave room for the large pictures; each one more takes a little of it."""

_PLAIN = Look(fabrics=True, numbers="none", marks=False, steps=False, caption=False, legend=False)

_MOST_WARNINGS = 4
"""As many warnings are told in full with the facts of a block."""

_MOST_PIECES, _MOST_ROWS = 100, 12
"""As many pieces, and as many rows, of the cutting list stand together under the name of their fabric."""

_BLANK = ("", "", "", "")
"""Cells of the list of fabrics where there is none."""

_TITLE = 22.0
"""Size of type of the pattern's name, points."""


def add_front(column: Column, work: Work, paper: Paper, *, quilt: Quilt | None = None, lengths: Lengths) -> None:
    """Add what stands at the top of the first page: title, by-line, what it is, and a picture of the whole quilt."""
    column.note_section("First page")
    column.title(work.title, _TITLE)
    if work.by:
        column.paragraph(f"by {work.by}")
    if quilt is not None:
        size = lengths.area(quilt.width, quilt.height)
        column.paragraph(f"A quilt of {count(len(quilt.cells), 'block')}, {size} finished.")
        longest = max(quilt.width, quilt.height)
        indent = (paper.room[0] - _QUILT * quilt.width / longest) / 2
        column.drawing(
            _QUILT * quilt.height / longest + 0.1,
            lambda pen, at: draw_quilt(pen, quilt, work, (at[0] + indent, at[1]), _QUILT),
        )
    elif len(work.blocks) == 1:
        (block,) = work.blocks
        made = f" Make {block.copies}{_twins(block)}." if block.copies > 1 or block.mirrored else ""
        column.paragraph(f"A patchwork block, {_pieced(block)}.{made}")
    else:
        pictures = [draw_plan(block.plan, look=_PLAIN, size=1.6 * POINTS) for block in work.blocks]
        names = [f"{block.title}{f' × {block.copies}' if block.copies > 1 else ''}" for block in work.blocks]
        for first in range(0, len(pictures), 4):
            add_pictures(column, [*zip(pictures, names, strict=True)][first : first + 4], paper, cloth=(0, 1, 2, 3))


def add_notes(column: Column, notes: str) -> None:
    """Add the designer's own notes as they are: an empty line parts paragraphs."""
    for paragraph in notes.split("\n\n"):
        if paragraph.strip():
            column.paragraph(paragraph)


def add_block(
    column: Column,
    work: Work,
    block: BlockWork,
    *,
    paper: Paper,
    lengths: Lengths,
    allowance: float,
    rating: Rating,
) -> None:
    """Add the two pictures of a block, its size, level and units, and what to take note of.

    Parameters
    ----------
    column
        Where they go.
    work, block
        The pattern, and which of its blocks.
    paper, lengths, allowance
        What it is printed on, how lengths are written, and the seam allowance (inches).
    rating
        How hard the block is to sew.
    """
    plan = block.plan
    pictures = _pictures(column, work, block)
    column.space(4)
    add_pictures(column, pictures, paper, cloth=(0,))
    column.space(4)
    for head, text in _facts(block, lengths, allowance, rating):
        column.paragraph(text, head=head)
    warnings = warnings_for_print(plan, lengths=lengths)
    if warnings:
        column.paragraph(
            f"places are {lengths.units} from the top left corner, to the right and down.", head="Take note:"
        )
    for warning in warnings[:_MOST_WARNINGS]:
        column.paragraph(warning, mark=True)
    if len(warnings) > _MOST_WARNINGS:
        column.paragraph(f"{len(warnings) - _MOST_WARNINGS} more like these are told with their joins.")


def block_need(column: Column, work: Work, block: BlockWork) -> float:
    """Return how high the heading of a block, its pictures and the first line below them are, inches."""
    return 0.8 + max(picture.height for picture, _ in _pictures(column, work, block)) / POINTS


def _pictures(column: Column, work: Work, block: BlockWork) -> list[tuple[Picture, str]]:
    """Return the pictures of a block, each with what stands below it."""
    plan = block.plan
    few = len(work.fabrics.used(patch.fabric for patch in plan.block.patches)) - _FEW_FABRICS
    size = max(_LEAST_PICTURE, _PICTURE - 0.1 * max(0, few))
    return [
        (column.keep((words, id(plan)), partial(draw_plan, plan, look=look, size=size * POINTS)), words)
        for look, words in ((_PLAIN, "As it is finished"), (SMALL, "Its units, seen from the fabric side"))
    ]


def add_pictures(
    column: Column, pictures: Sequence[tuple[Picture, str]], paper: Paper, *, cloth: Sequence[int] = ()
) -> None:
    """Add pictures side by side, each with a line below; those of some numbers are painted as cloth."""
    high = max(picture.height for picture, _ in pictures) / POINTS
    room = paper.room[0] / len(pictures)

    def draw(pen: Pen, corner: Point) -> None:
        for n, (picture, words) in enumerate(pictures):
            left = corner[0] + n * room + max(0.0, room - picture.width / POINTS) / 2
            spot = left, corner[1] + high - picture.height / POINTS
            (paint_cloth if n in cloth else paint_picture)(pen, picture, spot)
            middle = corner[0] + (n + 0.5) * room
            if text_width(words, 7.5) <= room * POINTS:
                pen.text((middle, corner[1] + high + 0.13), words, 7.5, anchor="middle")

    column.drawing(high + 0.2, draw)


def _twins(block: BlockWork) -> str:
    return f", {block.mirrored} of them mirrored" if block.mirrored else ""


def _pieced(block: BlockWork) -> str:
    counts = block.plan.counts
    if counts.units == 1:
        return "sewn on one paper foundation"
    papers = counts.units - counts.single_patches
    if not papers:
        return "sewn from templates"
    return f"sewn on {count(papers, 'paper foundation')}" + (
        f" and {count(counts.single_patches, 'template')}" if counts.single_patches else ""
    )


def _facts(work: BlockWork, lengths: Lengths, allowance: float, rating: Rating) -> Iterator[tuple[str, str]]:
    plan = work.plan
    block, counts = plan.block, plan.counts
    cut = lengths.area(block.width + 2 * allowance, block.height + 2 * allowance)
    yield (
        "Size:",
        f"{lengths.area(block.width, block.height)} finished, {cut} with the seam allowance of "
        f"{lengths.size(allowance)}.",
    )
    seams = "all seams straight" if not counts.hard_corners else f"hard corners: {counts.corners_by_kind}"
    yield "Level:", f"{rating.level} of {rating.levels}, {rating.word}; {seams}."
    yield "Pieces:", f"{figures_of(counts)}."
    if plan.repeats:
        yield "Alike:", f"{'; '.join(map(name_units, plan.repeats))}."


def add_needs(column: Column, cuts: Sequence[FabricCuts], *, paper: Paper, lengths: Lengths, printed: int) -> None:
    """Add the one shopping list: fabrics, paper and tools; `printed` is the number of sheets to print."""
    column.heading("What you need")
    entries = []
    for cut in cuts:
        fabric, amount = cut.fabric, cut.amount
        buy = [*_buy(cut, lengths), *([amount.fat] if amount.fat else [])]
        if amount.too_wide:
            buy.append(f"wider for {listed([piece.name for piece in amount.too_wide])}")
        code = fabric.code if fabric.known or fabric.name == fabric.code else ""
        entries.append((Swatch(fabric.colour), code, short_word(fabric.name), ", ".join(buy)))
    heads = ("", "Code", "Fabric", "Buy one of")
    rows = (len(entries) + 1) // 2
    column.table(
        (*heads, *(heads if len(entries) > 1 else _BLANK)),
        [(*entries[n], *(entries[n + rows] if n + rows < len(entries) else _BLANK)) for n in range(rows)],
        (0.38, 0.55, 1.25, 2.3) * 2,
    )
    column.paragraph(
        f"{count(printed, 'sheet')} of {paper.name} paper for the foundations (thin plain paper tears off best); "
        "sewing machine, thread in a quiet colour, pins; ruler, rotary cutter and mat; dry iron; a window or lamp."
    )


def _buy(cut: FabricCuts, lengths: Lengths) -> tuple[str, ...]:
    """Return how much fabric to buy: in yards or in centimetres, as shops measure it, so neither is the other."""
    amount = cut.amount
    if not amount.strips:
        return () if amount.too_wide else ("—",)
    yards = f"{fraction(Fraction(amount.eighths, 8))} yd"
    cm = f"{amount.centimetres} cm"
    return (cm,) if lengths.metric else (yards, cm)


def add_cutting(
    column: Column,
    work: Work,
    cuts: Sequence[FabricCuts],
    *,
    lengths: Lengths,
    margin: float,
    step: float,
    fabric_width: float,
) -> None:
    """Add the cutting list, fabric by fabric.

    Parameters
    ----------
    column
        Where it goes.
    work, cuts
        The pattern, and what is cut.
    lengths
        How lengths are written.
    margin, step, fabric_width
        How much larger than its patch a piece is all round, what its sides are rounded up to a multiple of, and the
        usable width of the fabrics, inches.
    """
    column.section("Cutting list")
    rows = [row for cut in cuts for row in cut.rows]
    column.paragraph(
        f"Cut strips across the fabric (usable width {lengths.size(fabric_width)}), then the pieces off the "
        "strips. A "
        "piece is laid with its raw edge along the line that its patch is sewn on: the first figure of its size lies "
        "along that line, the second is its depth (the first patch of a unit: along its longest side). Each "
        "piece has "
        f"{lengths.size(margin)} more than its patch all round, allowance included, rounded up to the next "
        f"{lengths.size(step)}.{_told_of_shapes(rows)} The amounts hold nothing in reserve for shrinking or for "
        "squaring up the end of the fabric."
    )
    if any(block.copies > 1 for block in work.blocks):
        column.paragraph("The numbers are for all copies together.")
    groups = [group for cut in cuts for group in _cut_rows(cut, work, lengths)]
    column.table(
        ("", "Fabric", "Strips", "Cut", "Size", "For patches"),
        [row for group in groups for row in group],
        (0.45, 2.0, 1.2, 0.5, 2.5, 3.4),
        together=list(map(len, groups)),
    )
    if any(cut.amount.fat for cut in cuts):
        quarter, eighth = (lengths.area(fabric_width / 2, high) for high in (FAT_QUARTER, FAT_EIGHTH))
        column.paragraph(f"A fat quarter is counted as {quarter} of usable cloth, a fat eighth as {eighth}.")


def _told_of_shapes(rows: Sequence[CutRow]) -> str:
    told = ""
    if any(row.shape in ("half", "quarter") for row in rows):
        told += (
            " Triangles come from squares: a halved one is cut once from corner to corner and makes two, a "
            "quartered one is cut both ways and makes four."
        )
    if any(row.shape == "exact" for row in rows):
        told += " What is cut exactly is a unit by itself, with its allowance and nothing more."
    if any(cloth.piece.clipped for row in rows for cloth in row.cloths):
        told += (
            " Tips of the allowance that are sharper than 60° are covered for twice the allowance from their corner; "
            "cut off what of them stands out."
        )
    return told


def _cut_rows(cut: FabricCuts, work: Work, lengths: Lengths) -> Iterator[list[tuple[Cell, ...]]]:
    """Yield the rows of a fabric, pieces of one size in a row, in groups that stay on one page."""
    group: list[tuple[Cell, ...]] = []
    left, head = _MOST_PIECES, short_word(cut.fabric.words)
    strips = _strips(cut, lengths)
    for row in cut.rows:
        cloths = list(row.cloths)
        number = str(row.cuts)
        while cloths:
            if not left or len(group) == _MOST_ROWS:
                yield group
                group, left, head, strips = [], _MOST_PIECES, f"{short_word(cut.fabric.words)}, more", ""
            some, cloths = cloths[:left], cloths[left:]
            left -= len(some)
            first: tuple[Cell, ...] = ("", "", "") if group else (Swatch(cut.fabric.colour), head, strips)
            group.append((*first, number, tell_size(row, lengths), _patches(some, work)))
            number = ""
    if group:
        yield group


def _patches(cloths: Sequence[PatchCloth], work: Work) -> str:
    """Return the patches of some pieces, with their block where there are several."""
    told = []
    for number, group in groupby(cloths, key=lambda cloth: cloth.block):
        names = ", ".join(cloth.piece.patch for cloth in group)
        told.append(f"{work.blocks[number].title} {names}" if len(work.blocks) > 1 else names)
    return "; ".join(told)


def _strips(cut: FabricCuts, lengths: Lengths) -> str:
    heights = [strip.height for strip in cut.amount.strips]
    groups = [(height, len(list(group))) for height, group in groupby(heights)]
    told = [f"{number} of {lengths.size(height)}" for height, number in groups]
    return ", ".join([*told, *map(_told_apart, cut.amount.too_wide)])


def _told_apart(piece: Cut) -> str:
    return f"{piece.name}: larger than the fabric is wide, piece it together"


def add_setting(column: Column, quilt: Quilt, *, lengths: Lengths) -> None:
    """Add how the blocks are put together, and what is cut for that."""
    column.section("Put it together")
    if quilt.bands:
        column.table(
            ("For", "Cut", "Size, allowances included"),
            [(band.name, str(band.number), lengths.area(band.width, band.length)) for band in quilt.bands],
            (3, 1, 3),
        )
    for number, text in enumerate(write_setting(quilt, lengths=lengths), 1):
        column.paragraph(text, number=number)


def add_directions(column: Column, sections: Sequence[Section]) -> None:
    """Add the general directions."""
    column.section("Directions")
    for section in sections:
        column.heading(section.title)
        for number, text in enumerate(section.paragraphs, 1):
            column.paragraph(text, number=number if section.numbered else None, mark=not section.numbered)


def add_contents(column: Column, entries: Sequence[tuple[str, list[int]]], paper: Paper) -> None:
    """Add the contents; the numbers of the pages, from 1, are filled in before the pages are drawn."""
    high = 0.16 * len(entries) + 0.1
    column.heading("Contents", need=min(0.4 + high, paper.room[1]))

    def draw(pen: Pen, corner: Point) -> None:
        for n, (title, pages) in enumerate(entries):
            y = corner[1] + 0.16 * n + 0.12
            pen.text((corner[0], y), capital(title), 9)
            pen.text((corner[0] + paper.room[0] * 0.6, y), ", ".join(map(str, pages)), 9, anchor="end")

    column.drawing(high, draw)
