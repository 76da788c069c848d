"""The pages of a pack that are mostly words: the first page, the cutting list, the directions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby

from seamtree.errors import Point
from seamtree.pattern.cutting import FAT_EIGHTH, FAT_QUARTER, FabricCuts, Piece
from seamtree.pattern.directions import Section, Task, warnings_for_print
from seamtree.pattern.flow import Cell, Column, Swatch
from seamtree.pattern.labels import short_word
from seamtree.pattern.lengths import POINTS, Lengths, fraction
from seamtree.pattern.painting import paint_cloth
from seamtree.pattern.paper import Paper
from seamtree.pattern.pdf import Page, Pen
from seamtree.picture import Look, Picture, draw_plan
from seamtree.picture.words import figures_of
from seamtree.planning.model import Plan
from seamtree.planning.naming import name_units
from seamtree.rating.model import Rating
from seamtree.words import count, listed

_PICTURES = (4.2, 2.6)
"""Longest side of the picture on the first page, inches: with few fabrics, and with many."""

_FEW_FABRICS = 14
"""So many fabrics leave room for the large picture; each one more takes a little of it."""

_PLAIN = Look(fabrics=True, numbers="none", marks=False, steps=False, caption=False, legend=False)

_MOST_WARNINGS = 4
"""As many warnings are told in full on the first page."""

_MOST_PIECES, _MOST_ROWS = 100, 12
"""As many pieces, and as many rows, of the cutting list stand together under the name of their fabric."""

_BLANK = ("", "", "")
"""Cells of the list of fabrics where there is none."""

_TITLE = 22.0
"""Size of type of the block's name, points."""


def first_pages(
    plan: Plan,
    cuts: Sequence[FabricCuts],
    *,
    paper: Paper,
    lengths: Lengths,
    allowance: float,
    sheets: int,
    rating: Rating,
) -> list[Page]:
    """Return the first page: picture, size, level, units, and what is needed.

    Parameters
    ----------
    plan, cuts
        What is sewn.
    paper
        What it is printed on.
    lengths
        How lengths are written.
    allowance
        Seam allowance, inches.
    sheets
        How many foundation sheets there are.
    rating
        How hard the block is to sew.
    """
    block, column = plan.block, Column(paper)
    column.title(block.name, _TITLE)
    column.paragraph(f"A patchwork block, {_pieced(plan)}.")
    column.space(6)
    size = max(_PICTURES[1], _PICTURES[0] - 0.12 * max(0, len(cuts) - _FEW_FABRICS))
    _add_picture(column, draw_plan(plan, look=_PLAIN, size=size * POINTS), paper)
    column.space(10)
    for head, text in _facts(plan, lengths, allowance, rating):
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
    column.heading("What you need")
    heads = ("", "Fabric", "Buy")
    column.table((*heads, *(heads if len(cuts) > 1 else _BLANK)), _needs(cuts, lengths), (0.5, 1.55, 2.55) * 2)
    for text in _tools(paper, sheets):
        column.paragraph(text, mark=True)
    return column.pages("First page", block.name)


def _needs(cuts: Sequence[FabricCuts], lengths: Lengths) -> list[tuple[Cell, ...]]:
    """Return what to buy of each fabric, two fabrics in a row, down the left side first."""
    entries = []
    for cut in cuts:
        swatch, word, amounts, other = _need(cut, lengths)
        entries.append((swatch, word, listed([*amounts, other] if other else amounts, "or")))
    rows = (len(entries) + 1) // 2
    return [(*entries[n], *(entries[n + rows] if n + rows < len(entries) else _BLANK)) for n in range(rows)]


def _add_picture(column: Column, picture: Picture, paper: Paper) -> None:
    indent = (paper.room[0] - picture.width / POINTS) / 2

    def draw(pen: Pen, corner: Point) -> None:
        paint_cloth(pen, picture, (corner[0] + indent, corner[1]))

    column.drawing(picture.height / POINTS, draw)


def _pieced(plan: Plan) -> str:
    counts = plan.counts
    if counts.units == 1:
        return "sewn on one paper foundation"
    papers = counts.units - counts.single_patches
    if not papers:
        return "sewn from templates"
    return f"sewn on {count(papers, 'paper foundation')}" + (
        f" and {count(counts.single_patches, 'template')}" if counts.single_patches else ""
    )


def _facts(plan: Plan, lengths: Lengths, allowance: float, rating: Rating) -> Iterator[tuple[str, str]]:
    block, counts = plan.block, plan.counts
    cut = lengths.area(block.width + 2 * allowance, block.height + 2 * allowance)
    yield (
        "Size:",
        f"{lengths.area(block.width, block.height)} finished, {cut} with the seam allowance of "
        f"{lengths.size(allowance)}.",
    )
    yield "Level:", f"{rating.level} of {rating.levels}, {rating.word}."
    yield "Pieces:", f"{figures_of(counts)}."
    if plan.repeats:
        yield "Alike:", f"{'; '.join(map(name_units, plan.repeats))}."
    if counts.hard_corners:
        yield (
            "Hard corners:",
            f"{counts.corners_by_kind}. Straight seams alone do not sew this block; "
            "the joins concerned say what to do.",
        )
    else:
        yield "Seams:", "all straight."


def _need(cut: FabricCuts, lengths: Lengths) -> tuple[Cell, str, tuple[str, ...], str]:
    amount = cut.amount
    other = f"a {amount.fat}" if amount.fat else ""
    if amount.too_wide:
        names = ", ".join(piece.patch for piece in amount.too_wide)
        other = f"wider for {names}"
    return Swatch(cut.fabric), short_word(cut.word), _buy(cut, lengths), other


def _buy(cut: FabricCuts, lengths: Lengths) -> tuple[str, ...]:
    """Return how much fabric to buy: in yards or in centimetres, as shops measure it, so neither is the other."""
    amount = cut.amount
    if not amount.strips:
        return ("—",)
    yards = f"{fraction(Fraction(amount.eighths, 8))} yd"
    cm = f"{amount.centimetres} cm"
    return (cm, yards) if lengths.metric else (yards, cm)


def _tools(paper: Paper, sheets: int) -> Iterator[str]:
    yield f"{count(sheets, 'sheet')} of {paper.name} paper for the foundations; thin plain paper tears off best."
    yield "Sewing machine, thread in a quiet colour, pins; ruler, rotary cutter and mat; dry iron; a window or lamp."


def cutting_pages(
    cuts: Sequence[FabricCuts],
    heading: str,
    *,
    paper: Paper,
    lengths: Lengths,
    margin: float,
    step: float,
    fabric_width: float,
) -> list[Page]:
    """Return the cutting list, fabric by fabric, with the strips and the amounts.

    Parameters
    ----------
    cuts
        What is cut.
    heading
        Name of the block.
    paper, lengths
        What it is printed on, and how lengths are written.
    margin, step, fabric_width
        How much larger than its patch a piece is all round, what its sides are rounded up to a multiple of, and the
        usable width of the fabrics, inches.
    """
    column = Column(paper)
    column.heading("Cutting list")
    column.paragraph(
        f"Each piece is its patch with {lengths.size(margin)} more all round, rounded up to the next "
        f"{lengths.size(step)}. Cut strips across the fabric (usable width {lengths.size(fabric_width)}), "
        "then cut the pieces off the strips; one side of a piece runs along a side of its patch. The amounts hold "
        "nothing in reserve for shrinking or for squaring up the end of the fabric."
    )
    groups = [group for cut in cuts for group in _cut_rows(cut, lengths)]
    column.table(
        ("", "Fabric", "Cut", "Size", "For patches"),
        [row for group in groups for row in group],
        (0.5, 2.2, 0.6, 2.2, 4.5),
        together=list(map(len, groups)),
    )
    column.heading("Fabric amounts")
    amounts = []
    for cut in cuts:
        swatch, word, buy, other = _need(cut, lengths)
        amounts.append((swatch, word, _strips(cut, lengths), listed(buy, "or"), other))
    column.table(
        ("", "Fabric", "Strips to cut", "Buy", "Enough instead"),
        amounts,
        (0.5, 2.2, 3.6, 2.0, 1.7),
    )
    quarter, eighth = (lengths.area(fabric_width / 2, high) for high in (FAT_QUARTER, FAT_EIGHTH))
    column.paragraph(f"A fat quarter is counted as {quarter} of usable cloth, a fat eighth as {eighth}.")
    return column.pages("Cutting list", heading)


def _cut_rows(cut: FabricCuts, lengths: Lengths) -> Iterator[list[tuple[Cell, ...]]]:
    """Yield the rows of a fabric, pieces of one size in a row, in groups that stay on one page."""
    group: list[tuple[Cell, ...]] = []
    left, head = _MOST_PIECES, short_word(cut.word)
    for (short, long), pieces in groupby(cut.pieces, key=lambda piece: (piece.short, piece.long)):
        names = [piece.patch for piece in pieces]
        while names:
            if not left or len(group) == _MOST_ROWS:
                yield group
                group, left, head = [], _MOST_PIECES, f"{short_word(cut.word)}, more"
            some, names = names[:left], names[left:]
            left -= len(some)
            fabric: tuple[Cell, Cell] = ("", "") if group else (Swatch(cut.fabric), head)
            group.append((*fabric, str(len(some)), lengths.area(short, long), ", ".join(some)))
    yield group


def _strips(cut: FabricCuts, lengths: Lengths) -> str:
    heights = [strip.height for strip in cut.amount.strips]
    groups = [(height, len(list(group))) for height, group in groupby(heights)]
    told = [f"{count(number, 'strip')} of {lengths.size(height)}" for height, number in groups]
    return ", ".join([*told, *map(_told_apart, cut.amount.too_wide)])


def _told_apart(piece: Piece) -> str:
    return f"{piece.patch}: larger than the fabric is wide, piece it together"


def direction_pages(sections: Sequence[Section], tasks: Sequence[Task], heading: str, *, paper: Paper) -> list[Page]:
    """Return the directions: general ones, then the order of work.

    Parameters
    ----------
    sections, tasks
        The words.
    heading
        Name of the block.
    paper
        What they are printed on.
    """
    column = Column(paper)
    column.title("Directions", 15)
    for section in sections:
        column.heading(section.title)
        for number, text in enumerate(section.paragraphs, 1):
            column.paragraph(text, number=number if section.numbered else None, mark=not section.numbered)
    if len(tasks) > 1:
        column.new_page()
    column.heading("Order of work")
    for task in tasks:
        column.paragraph(" ".join(task.sentences), head=f"{task.head}:")
    return column.pages("Directions", heading)
