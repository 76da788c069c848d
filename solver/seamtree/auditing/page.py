"""One page that shows a whole audit: a picture of every block, and a table that can be sorted and filtered.

The page needs nothing but itself: styles, script and pictures are in it, and its own security policy forbids to load
anything. It works from a file, and without its script it still shows everything.

A browser takes minutes over a table of 10,000 rows with pictures. So the table stands in a ``noscript`` element, mere
text where scripts run: the script makes elements of the rows in view only, and sorts and filters by an index
that stands beside the table.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from typing import Any
from urllib.parse import quote

from seamtree.auditing.record import VERDICTS, BlockRecord, Record, shown_name
from seamtree.auditing.rules import Rule, fails
from seamtree.words import one_line

POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'"
"""What the page may load: nothing that is not in it."""

_CLASSES = {"single unit": "straight", "joined units": "straight", "hard corners": "hard"}

_SAFE = " /:;=,.()'!*-_~+@?&"
"""What may stand as it is in the address of a picture."""

Value = str | float | None


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell: what it shows (HTML), and what it is sorted by (None: last)."""

    shows: str
    value: Value = None


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, whether it can be sorted by, its class."""

    name: str
    sorted: bool = True
    kind: str = "number"


@dataclass(frozen=True, slots=True)
class Note:
    """Something to say beside the table: a title, and lines of which each says one thing."""

    title: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """A row: its element (one line of ASCII) and what the index says of it."""

    element: str
    index: dict[str, Any]


def render_page(
    records: Sequence[Record],
    rules: Sequence[Rule] = (),
    *,
    proofread: bool = False,
    rate: bool = False,
    accepted: Mapping[str, str] | None = None,
    notes: Sequence[Note] = (),
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
    accepted
        Reasons why drawings are no failures all the same, by file name.
    notes
        What else there is to say, each folded under its title.
    """
    accepted = accepted or {}
    columns = _columns(proofread=proofread, rate=rate)
    rows = [row for record in records for row in _rows(record, columns, rules, accepted)]
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
            '<meta name="color-scheme" content="light dark">',
            '<link rel="icon" href="data:,">',
            f"<title>{title}</title>",
            f"<style>\n{_asset('page.css')}{_captions(columns)}</style>",
            "</head>",
            "<body>",
            '<a class="skip" href="#blocks">Skip to the table</a>',
            f"<header><h1>{title}</h1>",
            f'<p class="soft">{_counted(blocks, "block")}. All sizes are finished sizes in inches; blocks are seen '
            "from the fabric side.</p></header>",
            "<main>",
            _summary(records),
            *map(_note, notes),
            _signs(),
            _form(rows, columns),
            '<p id="shown" role="status"></p>',
            '<div id="table">',
            "<noscript>",
            '<table id="blocks">'
            "<caption>A row for each block, or for a drawing that could not be audited. A heading sorts the rows; "
            f"once more turns the order round.</caption>{_widths(columns)}"
            f"<thead><tr>{''.join(map(_heading, columns))}</tr></thead><tbody>",
            *(row.element for row in rows),
            "</tbody></table>",
            "</noscript>",
            "</div>",
            "</main>",
            f'<script type="application/json" id="index">{_index(rows)}</script>',
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


def _index(rows: Sequence[Row]) -> str:
    """Return what rows are sorted and filtered by, as JSON that can stand in a page."""
    text = json.dumps([row.index for row in rows], separators=(",", ":"))
    return text.replace("<", "\\u003c")


# -- above the table --------------------------------------------------------------------------------------------


def _summary(records: Sequence[Record]) -> str:
    """Return how many drawings there are of each verdict."""
    found = Counter(record.verdict for record in records)
    entries = [f"<li><b>{found[v]:,}</b> {_badge(v)}</li>" for v in VERDICTS if found[v]]
    return f'<h2>Drawings by verdict</h2>\n<ul class="counts">{"".join(entries)}</ul>'


def _badge(verdict: str) -> str:
    return f'<span class="verdict {_CLASSES.get(verdict, "wrong")}">{verdict}</span>'


def _note(note: Note) -> str:
    """Return what else there is to say, folded."""
    return f'<details class="note"><summary>{escape(one_line(note.title))}</summary>{_list(note.lines)}</details>'


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


def _form(rows: Sequence[Row], columns: Sequence[Column]) -> str:
    """Return what filters and sorts the rows; it is shown only where the script runs."""
    found = {row.index["verdict"] for row in rows}
    boxes = [
        f'<label><input type="checkbox" name="verdict" value="{verdict}" checked> {verdict}</label>'
        for verdict in VERDICTS
        if verdict in found
    ]
    sorting = [(column.name, column.name) for column in columns if column.sorted]
    return "\n".join(
        [
            '<form hidden aria-label="Filter and order">',
            '<div><label class="field" for="search">Search</label>',
            '<input type="search" id="search" name="search" placeholder="words of a name or message" '
            'autocomplete="off"></div>',
            f"<fieldset><legend>Verdict</legend>{''.join(boxes)}</fieldset>",
            *_choices(rows),
            '<label><input type="checkbox" name="failing" id="failing" value="yes"> failures only</label>',
            _select("sort", "Sort by", "as listed", sorting),
            '<label><input type="checkbox" name="descending" id="descending" value="yes"> large to small</label>',
            '<button type="reset">Show all</button>',
            "</form>",
        ]
    )


def _choices(rows: Sequence[Row]) -> Iterator[str]:
    """Yield a choice for everything in which rows differ."""
    levels = {row.index["level"]: row.index["word"] for row in rows if "level" in row.index}
    folders = sorted({folder for row in rows for folder in _with_parents(row.index["folder"])})
    for name, title, options in (
        ("level", "Level", [(str(level), f"{level}, {levels[level]}") for level in sorted(levels)]),
        ("rule", "Rule broken", _counted_options(rows, "rules")),
        ("fault", "Fault or warning", _counted_options(rows, "faults")),
        ("folder", "Folder", [(folder, folder) for folder in folders] if len(folders) > 1 else []),
    ):
        if options:
            yield _select(name, title, "all", options)


def _with_parents(folder: str) -> Iterator[str]:
    """Yield a folder and those that it lies in, as far as its path names them."""
    while folder and folder != "/":
        yield folder
        folder = folder.rpartition("/")[0]


def _counted_options(rows: Sequence[Row], key: str) -> list[tuple[str, str]]:
    found = Counter(entry for row in rows for entry in row.index.get(key, ()))
    return [(entry, f"{entry} ({found[entry]:,})") for entry in sorted(found)]


def _select(name: str, title: str, every: str, options: Sequence[tuple[str, str]]) -> str:
    entries = "".join(f'<option value="{escape(value)}">{escape(words)}</option>' for value, words in options)
    return (
        f'<div><label class="field" for="{name}">{title}</label>'
        f'<select name="{name}" id="{name}"><option value="">{every}</option>{entries}</select></div>'
    )


# -- the table --------------------------------------------------------------------------------------------------


def _columns(*, proofread: bool, rate: bool) -> list[Column]:
    names = ("patches", "units", "joins", "hard corners", "matched points")
    return [
        Column("picture", sorted=False, kind="picture"),
        Column("block", kind="block"),
        Column("verdict", kind="word"),
        Column("remarks", sorted=False, kind="said"),
        *map(Column, names),
        Column("size"),
        Column("proven", kind="word"),
        *([Column("level", kind="word")] if rate else []),
        *([Column("numbers", kind="word")] if proofread else []),
    ]


def _heading(column: Column) -> str:
    name = column.name.capitalize()
    inside = f'<button type="button">{name}</button>' if column.sorted else name
    return f'<th scope="col" class="{column.kind}" data-name="{column.name}">{inside}</th>'


def _widths(columns: Sequence[Column]) -> str:
    """Return the columns' elements: their widths are fixed, so that they are the same whatever rows are in view."""
    entries = [f'<col class="{column.kind}">' for column in columns]
    return f"<colgroup>{''.join(entries)}</colgroup>"


def _captions(columns: Sequence[Column]) -> str:
    """Return the rules that put the name of its column before each figure, where there is no room for columns."""
    rules = "\n".join(
        f'  tbody td:nth-child({at}):not(.picture, .said)::before {{ content: "{column.name}"; }}'
        for at, column in enumerate(columns, 1)
    )
    return f"@media screen and (max-width: 62rem) {{\n{rules}\n}}\n"


def _rows(
    record: Record, columns: Sequence[Column], rules: Sequence[Rule], accepted: Mapping[str, str]
) -> Iterator[Row]:
    """Yield the rows of a drawing: one for each block, or one that says what is wrong."""
    about: dict[str, Any] = {
        "fails": fails(record, rules, accepted),
        "folder": shown_name(record.source).rpartition("/")[0],
        "rules": [rule.text for rule in rules if rule.broken_by(record)],
    }

    source = shown_name(record.source)
    said = [f"Accepted: {accepted[record.source]}"] if record.source in accepted else []

    def searched(name: str, messages: Iterable[str]) -> str:
        return one_line(" ".join((name, source, *said, *messages))).lower()

    for block in record.blocks:
        rated = {} if block.rating is None else {"level": block.rating["level"], "word": block.rating["word"]}
        codes = _codes(block.warnings) + _codes(() if block.proof is None else block.proof["refutations"])
        known = about | rated | {"verdict": block.verdict, "faults": codes}
        messages = [*_refutations(block), *(warning.message for warning in block.warnings)]
        yield _row(_block_cells(source, block, said), columns, known | {"text": searched(block.name, messages)})
    if not record.blocks:
        remarks = Cell(_list([*said, *(fault.message for fault in record.faults)]))
        cells = {"picture": Cell("no picture"), "block": _name(source, source), "remarks": remarks}
        known = about | {"verdict": record.verdict, "faults": _codes(record.faults)}
        text = searched("", (fault.message for fault in record.faults))
        yield _row({**cells, "verdict": _verdict(record.verdict)}, columns, known | {"text": text})


def _codes(findings: Iterable[Any]) -> list[str]:
    """Return the codes of findings, or of faults of printed numbers, each once."""
    codes = [found["code"] if isinstance(found, dict) else found.code for found in findings]
    return list(dict.fromkeys(codes))


def _block_cells(source: str, block: BlockRecord, said: Sequence[str]) -> dict[str, Cell]:
    """Return the cells of a block by the name of their column."""
    counts = block.counts
    figures = {
        "patches": counts["patches"],
        "units": counts["units"],
        "joins": counts["joins"],
        "hard corners": block.hard_corners,
        "matched points": counts["matched_points"],
    }
    numbers = "none" if block.proof is None else "proven" if block.proof["proven"] else "refuted"
    return {
        "picture": Cell(_image(block)),
        "block": _name(block.name, source),
        "verdict": _verdict(block.verdict),
        **{name: Cell(str(number), number) for name, number in figures.items()},
        "size": Cell(f"{block.width:.2f} × {block.height:.2f}", max(block.width, block.height)),
        "proven": Cell("yes", "yes") if block.proven else Cell(_bound(block), "no"),
        "numbers": Cell(numbers, numbers),
        "level": _level(block),
        "remarks": Cell(
            _list([*said, *_refutations(block)]) + _folded([warning.message for warning in block.warnings])
        ),
    }


def _refutations(block: BlockRecord) -> list[str]:
    """Return what is wrong with the printed numbers."""
    return [] if block.proof is None else [fault["message"] for fault in block.proof["refutations"]]


def _row(cells: dict[str, Cell], columns: Sequence[Column], about: dict[str, Any]) -> Row:
    inside = []
    for column in columns:
        tag = 'th scope="row"' if column.name == "block" else "td"
        inside.append(f'<{tag} class="{column.kind}">{cells.get(column.name, Cell("")).shows}</{tag[:2]}>')
    fails = "yes" if about["fails"] else "no"
    element = f'<tr data-verdict="{about["verdict"]}" data-fails="{fails}">{"".join(inside)}</tr>'
    values = [cells.get(column.name, Cell("")).value for column in columns]
    # Characters beyond ASCII would double the memory that a browser takes for all rows.
    return Row(element.encode("ascii", "xmlcharrefreplace").decode("ascii"), {**about, "values": values})


def _name(name: str, source: str) -> Cell:
    shown = f"<b>{escape(one_line(name))}</b>"
    return Cell(
        shown if name == source else f'{shown} <span class="soft">{escape(one_line(source))}</span>', one_line(name)
    )


def _level(block: BlockRecord) -> Cell:
    """Return how hard a block is to sew, sorted by its score."""
    if block.rating is None:
        return Cell("")
    return Cell(f"{block.rating['level']}, {escape(block.rating['word'])}", block.rating["score"])


def _verdict(verdict: str) -> Cell:
    return Cell(_badge(verdict), VERDICTS.index(verdict))


def _bound(block: BlockRecord) -> str:
    """Say what is not proven."""
    if block.bound["hard_corners"] < block.hard_corners:
        return f"no: at least {_counted(block.bound['hard_corners'], 'hard corner')}"
    return f"no: at least {_counted(block.bound['units'], 'unit')}"


def _folded(messages: Sequence[str]) -> str:
    """Return messages that are shown when somebody asks for them, and in print."""
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
    words = (
        f"Block {one_line(block.name)}, {block.width:.2f} by {block.height:.2f} inches: "
        f"{_counted(counts['units'], 'unit')}, {corners}"
    )
    return block.picture.replace("<svg", f'<svg role="img" aria-label="{escape(words)}"', 1)


def _address(svg: str) -> str:
    """Return an address (data:, RFC 2397) that holds a picture."""
    return "data:image/svg+xml," + quote(svg.strip().replace("\n", ""), safe=_SAFE).replace("&", "&amp;")
