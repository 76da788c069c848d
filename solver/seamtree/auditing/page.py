"""One page that shows a whole audit: a picture of every block, and a table that can be sorted and filtered.

The page needs nothing but itself: styles, script and pictures are in it, and its own security policy forbids to load
anything. It works from a file, and without its script it still shows everything.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from urllib.parse import quote

from seamtree.auditing.model import VERDICTS, BlockRecord, Record
from seamtree.auditing.rules import Rule, fails
from seamtree.words import one_line

POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'"
"""What the page may load: nothing that is not in it."""

_CLASSES = {"single unit": "straight", "joined units": "straight", "hard corners": "hard"}

_SIZE = re.compile(r'<svg[^>]*? width="([\d.]+)pt" height="([\d.]+)pt"')

_PIXELS = 96 / 72
"""CSS pixels to a point."""

_SAFE = " /:;=,.()'!*-_~+@?&"
"""What may stand as it is in the address of a picture."""


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell: what it shows (HTML), what it is sorted by (empty: last), and its class."""

    shows: str
    value: str = ""
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, and whether it can be sorted by."""

    name: str
    sorted: bool = True
    kind: str = "number"


def render_page(
    records: Sequence[Record], rules: Sequence[Rule] = (), *, proofread: bool = False, rate: bool = False
) -> str:
    """Return the page (HTML).

    Parameters
    ----------
    records
        What became of the drawings, in the order in which they are shown at first.
    rules
        Drawings that break one of them are marked as failures.
    proofread, rate
        Whether printed numbers were proven and blocks rated, and so get a column.
    """
    columns = _columns(proofread=proofread, rate=rate)
    rows = [row for record in records for row in _rows(record, columns, fails=fails(record, rules))]
    blocks = sum(len(record.blocks) for record in records)
    title = f"Audit of {_counted(len(records), 'drawing')}"
    return "\n".join(
        [
            "<!DOCTYPE html>",
            '<html lang="en">',
            "<head>",
            '<meta charset="utf-8">',
            f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
            '<meta name="viewport" content="width=device-width, initial-scale=1">',
            '<link rel="icon" href="data:,">',
            f"<title>{title}</title>",
            f"<style>\n{_asset('page.css')}</style>",
            "</head>",
            "<body>",
            '<a class="skip" href="#blocks">Skip to the table</a>',
            f"<header><h1>{title}</h1>",
            f'<p class="soft">{_counted(blocks, "block")}. All sizes are finished sizes in inches; blocks are seen '
            "from the fabric side.</p></header>",
            "<main>",
            _summary(records),
            _signs(),
            _form(records),
            '<p id="shown" role="status"></p>',
            '<div class="scroll" role="region" aria-label="Table of blocks" tabindex="0">',
            '<table id="blocks">',
            "<caption>A row for each block, or for a drawing that could not be audited. A heading sorts the rows; "
            "once more turns the order round.</caption>",
            f"<thead><tr>{''.join(map(_heading, columns))}</tr></thead>",
            "<tbody>",
            *rows,
            "</tbody>",
            "</table>",
            "</div>",
            "</main>",
            f"<script>\n{_asset('page.js')}</script>",
            "</body>",
            "</html>",
            "",
        ]
    )


def _asset(name: str) -> str:
    return (files("seamtree.auditing") / name).read_text(encoding="utf-8")


def _counted(number: int, noun: str) -> str:
    return f"{number:,} {noun}" + ("" if number == 1 else "s")


# -- above the table --------------------------------------------------------------------------------------------


def _summary(records: Sequence[Record]) -> str:
    """Return how many drawings there are of each verdict."""
    found = Counter(record.verdict for record in records)
    entries = [f"<li><b>{found[v]:,}</b> {_badge(v)}</li>" for v in VERDICTS if found[v]]
    return f'<h2>Drawings by verdict</h2>\n<ul class="counts">{"".join(entries)}</ul>'


def _badge(verdict: str) -> str:
    return f'<span class="verdict {_CLASSES.get(verdict, "wrong")}">{verdict}</span>'


def _signs() -> str:
    """Explain the signs in the pictures."""
    from seamtree.picture import Layer, Picture
    from seamtree.picture.marks import MARK_WORDS, draw_mark
    from seamtree.picture.svg import write_svg

    entries = []
    for kind, words in MARK_WORDS.items():
        sign = Picture(16, 16, kind, words, (Layer("marks", draw_mark(kind, (8, 8), 7)),))
        address = _address(write_svg(sign, declaration=False))
        entries.append(f'<li><img src="{address}" alt="" width="21" height="21">{escape(words)}</li>')
    return (
        "<h2>In the pictures</h2>\n<p>Each tint is a unit, named by its letter; the heaviest line is the last join. "
        f'The signs are:</p>\n<ul class="signs">{"".join(entries)}</ul>'
    )


def _form(records: Sequence[Record]) -> str:
    """Return what filters the rows; it is shown only where the script runs."""
    found = {record.verdict for record in records} | {block.verdict for record in records for block in record.blocks}
    boxes = [
        f'<label><input type="checkbox" name="verdict" value="{verdict}" checked> {verdict}</label>'
        for verdict in VERDICTS
        if verdict in found
    ]
    return "\n".join(
        [
            '<form hidden aria-label="Filter">',
            '<div><label class="field" for="search">Search</label>',
            '<input type="search" id="search" placeholder="words of a name or message" autocomplete="off"></div>',
            f"<fieldset><legend>Verdict</legend>{''.join(boxes)}</fieldset>",
            '<label><input type="checkbox" id="failing"> failures only</label>',
            '<button type="reset">Show all</button>',
            "</form>",
        ]
    )


# -- the table --------------------------------------------------------------------------------------------------


def _columns(*, proofread: bool, rate: bool) -> list[Column]:
    names = ("patches", "units", "joins", "hard corners", "matched points")
    return [
        Column("picture", sorted=False, kind="picture"),
        Column("block", kind=""),
        Column("verdict", kind=""),
        Column("remarks", sorted=False, kind="said"),
        *map(Column, names),
        Column("size"),
        Column("proven", kind=""),
        *([Column("level", kind="")] if rate else []),
        *([Column("numbers", kind="")] if proofread else []),
    ]


def _heading(column: Column) -> str:
    name = column.name.capitalize()
    inside = f'<button type="button">{name}</button>' if column.sorted else name
    kind = f' class="{column.kind}"' if column.kind else ""
    return f'<th scope="col"{kind} data-name="{column.name}">{inside}</th>'


def _rows(record: Record, columns: Sequence[Column], *, fails: bool) -> Iterator[str]:
    """Yield the rows of a drawing: one for each block, or one that says what is wrong."""
    for block in record.blocks:
        yield _row(_block_cells(record, block), columns, block.verdict, fails=fails)
    if not record.blocks:
        remarks = Cell(_list(fault.message for fault in record.faults))
        known = {"picture": Cell("no picture"), "block": _name(record.source, record.source), "remarks": remarks}
        yield _row({**known, "verdict": _verdict(record.verdict)}, columns, record.verdict, fails=fails)


def _block_cells(record: Record, block: BlockRecord) -> dict[str, Cell]:
    """Return the cells of a block by the name of their column."""
    counts = block.counts
    figures = {
        "patches": counts["patches"],
        "units": counts["units"],
        "joins": counts["joins"],
        "hard corners": block.hard_corners,
        "matched points": counts["matched_points"],
    }
    faults: list[str] = []
    numbers = "none"
    if block.proof is not None:
        numbers = "proven" if block.proof["proven"] else "refuted"
        faults += [fault["message"] for fault in block.proof["refutations"]]
    return {
        "picture": Cell(_image(block)),
        "block": _name(block.name, record.source),
        "verdict": _verdict(block.verdict),
        **{name: Cell(str(number), str(number)) for name, number in figures.items()},
        "size": Cell(f"{block.width:.2f} × {block.height:.2f}", f"{max(block.width, block.height):.6f}"),
        "proven": Cell("yes", "yes") if block.proven else Cell(_bound(block), "no"),
        "numbers": Cell(numbers, numbers),
        "level": _level(block),
        "remarks": Cell(_list(faults) + _folded([warning.message for warning in block.warnings])),
    }


def _row(cells: dict[str, Cell], columns: Sequence[Column], verdict: str, *, fails: bool) -> str:
    inside = []
    for column in columns:
        cell = cells.get(column.name, Cell(""))
        tag = 'th scope="row"' if column.name == "block" else "td"
        kind = f' class="{column.kind}"' if column.kind else ""
        value = f' data-value="{escape(cell.value)}"' if column.sorted else ""
        inside.append(f"<{tag}{kind}{value}>{cell.shows}</{tag[:2]}>")
    return f'<tr data-verdict="{verdict}" data-fails="{"yes" if fails else "no"}">{"".join(inside)}</tr>'


def _name(name: str, source: str) -> Cell:
    shown = f"<b>{escape(one_line(name))}</b>"
    return Cell(
        shown if name == source else f'{shown} <span class="soft">{escape(one_line(source))}</span>', one_line(name)
    )


def _level(block: BlockRecord) -> Cell:
    """Return how hard a block is to sew, sorted by its score."""
    if block.rating is None:
        return Cell("")
    return Cell(f"{block.rating['level']}, {escape(block.rating['word'])}", f"{block.rating['score']:.1f}")


def _verdict(verdict: str) -> Cell:
    return Cell(_badge(verdict), str(VERDICTS.index(verdict)))


def _bound(block: BlockRecord) -> str:
    """Say what is not proven."""
    if block.bound["hard_corners"] < block.hard_corners:
        return f"no: at least {_counted(block.bound['hard_corners'], 'hard corner')}"
    return f"no: at least {_counted(block.bound['units'], 'unit')}"


def _folded(messages: Sequence[str]) -> str:
    """Return messages that are shown when somebody asks for them."""
    if not messages:
        return ""
    return f"<details><summary>{_counted(len(messages), 'warning')}</summary>{_list(messages)}</details>"


def _list(messages: Iterable[str]) -> str:
    entries = "".join(f"<li>{escape(one_line(message))}</li>" for message in messages)
    return f"<ul>{entries}</ul>" if entries else ""


def _image(block: BlockRecord) -> str:
    """Return the picture of a block, with words for readers who do not see it."""
    if block.picture is None:
        return "no picture"
    counts = block.counts
    corners = _counted(block.hard_corners, "hard corner") if block.hard_corners else "no hard corners"
    alt = (
        f"Block {one_line(block.name)}, {block.width:.2f} by {block.height:.2f} inches: "
        f"{_counted(counts['units'], 'unit')}, {corners}"
    )
    match = _SIZE.match(block.picture)
    size = (
        ""
        if match is None
        else "".join(
            f' {name}="{float(points) * _PIXELS:.0f}"'
            for name, points in zip(("width", "height"), match.groups(), strict=True)
        )
    )
    return f'<img src="{_address(block.picture)}" alt="{escape(alt)}" decoding="async"{size}>'


def _address(svg: str) -> str:
    """Return an address (data:, RFC 2397) that holds a picture."""
    return "data:image/svg+xml," + quote(svg.strip().replace("\n", ""), safe=_SAFE).replace("&", "&amp;")
