"""Pattern files: everything about a pattern that drawings do not know, as TOML 1.0.

`parse_pattern` tells what a file says; `print_pattern` writes one to start from.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from seamtree.block.model import Block
from seamtree.drawing.reading import White
from seamtree.errors import DrawingError, OptionError, SeamtreeError
from seamtree.pattern.fabrics import Fabric, check_code, fabrics_of_blocks
from seamtree.pattern.lengths import parse_length
from seamtree.pattern.paper import PAPERS
from seamtree.pattern.work import MOST_COPIES, Setting, Work

KEYS = {
    "pattern": ("title", "by", "notes", "paper", "lengths"),
    "fabric": ("code", "name", "colours", "width"),
    "block": ("drawing", "title", "width", "copies", "mirrored", "skip_layers"),
    "setting": ("across", "down", "sashing", "borders", "backing", "binding"),
}
"""The tables and their keys."""

_LISTS = ("fabric", "block")
"""Tables of which there are several."""

NEEDLE = 0.9 / 25.4
"""Inches; a needle of size 90/14 is 0.9 mm thick (common practice), and no patch narrower than that can be sewn."""

_HEADER = re.compile(r"\s*\[\[?\s*([A-Za-z0-9_-]+)\s*\]\]?\s*(?:#.*)?")
_KEY = re.compile(r"\s*[\"']?([A-Za-z0-9_-]+)[\"']?\s*=")


class PatternFileError(SeamtreeError, ValueError):
    """A pattern file that cannot be used.

    Parameters
    ----------
    path
        The file.
    faults
        What is wrong, each with its line.
    """

    def __init__(self, path: Path, faults: Sequence[str]) -> None:
        super().__init__("\n".join(f"{path}: {fault}" for fault in faults))
        self.faults = tuple(faults)


@dataclass(frozen=True, slots=True)
class BlockEntry:
    """A block of a pattern file.

    Parameters
    ----------
    drawing
        The file, found from where the pattern file is.
    title
        What it is called; empty for the name of the drawing.
    widths
        Finished widths of the drawing, inches; None as drawn. All of them are sewn.
    copies, mirrored, skip_layers
        How many are sewn of each, how many of those are mirror twins, which layers are left out.
    line
        Where it stands in the pattern file.
    """

    drawing: Path
    title: str
    widths: tuple[float | None, ...]
    copies: int
    mirrored: int
    skip_layers: tuple[str, ...]
    line: int


@dataclass(frozen=True, slots=True)
class PatternFile:
    """What a pattern file says; `fabric_lines` are those of its fabrics, and `setting_line` that of the setting."""

    path: Path
    title: str
    by: str
    notes: str
    paper: str | None
    metric: bool | None
    fabrics: tuple[Fabric, ...]
    blocks: tuple[BlockEntry, ...]
    setting: Setting | None
    fabric_lines: tuple[int, ...] = ()
    setting_line: int = 0

    def check_fabrics(self, colours: set[str | None]) -> None:
        """Refuse fabrics that stand for nothing that a drawing is filled with.

        Raises
        ------
        PatternFileError
            If there are some.
        """
        faults = [
            f"line {line}: the fabric {fabric.code!r} stands for nothing: no drawing is filled with "
            f"{', '.join(map(str, fabric.colours)) or 'any of its colours, for it has none'}"
            for fabric, line in zip(self.fabrics, self.fabric_lines, strict=True)
            if not colours.intersection(fabric.colours)
        ]
        if faults:
            raise PatternFileError(self.path, faults)

    def check_setting(self, work: Work) -> None:
        """Refuse a setting that does not fit its blocks.

        Raises
        ------
        PatternFileError
            If it does not.
        """
        from seamtree.pattern.setting import build_quilt

        if work.setting is None:
            return
        try:
            build_quilt(work, allowance=0.25, fabric_width=40.0)
        except OptionError as error:
            raise PatternFileError(self.path, [f"line {self.setting_line}: {error}"]) from error

    def check_size(self, entry: BlockEntry, width: float, blocks: Sequence[Block], as_drawn: Sequence[Block]) -> None:
        """Refuse a width at which patches became so narrow that they were closed up as slivers.

        Parameters
        ----------
        entry
            Of the pattern file.
        width
            One of its widths, inches.
        blocks, as_drawn
            What was read at that width, and as the drawing is.

        Raises
        ------
        PatternFileError
            If there are fewer patches.
        """
        left, drawn = (sum(len(block.patches) for block in some) for some in (blocks, as_drawn))
        if left < drawn:
            fault = (
                f"line {entry.line}: at a width of {width:g} in {drawn - left} of the {drawn} patches of "
                f"{entry.drawing.name} are too narrow to sew; make it wider"
            )
            raise PatternFileError(self.path, [fault])

    def check_block(self, entry: BlockEntry, block: Block) -> None:
        """Refuse a block with a patch that is narrower than a needle.

        Raises
        ------
        PatternFileError
            If it has one.
        """
        import shapely

        for p in range(len(block.patches)):
            circle = shapely.maximum_inscribed_circle(shapely.Polygon(block.polygon(p)), NEEDLE / 10)
            if 2 * circle.length < NEEDLE:
                x, y = circle.coords[0]
                fault = (
                    f"line {entry.line}: at a width of {block.width:.2f} in the patch at {x:.2f}, {y:.2f} of "
                    f"{entry.drawing.name} is narrower than a needle; make the block wider"
                )
                raise PatternFileError(self.path, [fault])


def read_blocks(
    path: Path,
    *,
    tolerance: float,
    marks: Collection[str] = (),
    lines: bool = False,
    white: White | None = None,
) -> tuple[Block, ...]:
    """Return the blocks of all drawings of a pattern file, each in all its sizes.

    Parameters
    ----------
    path
        The file.
    tolerance, marks, lines, white
        As for `seamtree.read`.

    Raises
    ------
    PatternFileError
        If the file cannot be used, or a drawing has faults.
    """
    from seamtree.block.build import read

    blocks: list[Block] = []
    for entry in parse_pattern(path).blocks:
        for width in entry.widths:
            try:
                blocks += read(
                    entry.drawing,
                    width=width,
                    tolerance=tolerance,
                    skip_layers=entry.skip_layers,
                    marks=marks,
                    lines=lines,
                    white=white,
                )
            except DrawingError as error:
                told = [finding.beside(str(entry.drawing)) for finding in error.findings]
                faults = [f"line {entry.line}: {entry.drawing.name}: {fault}" for fault in told]
                raise PatternFileError(path, faults) from error
    return tuple(blocks)


def parse_pattern(path: Path) -> PatternFile:
    """Return what a pattern file says.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    PatternFileError
        If it is no TOML, or something in it makes no sense; all faults together.
    OSError
        If it cannot be read.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
        data = tomllib.loads(text)
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise PatternFileError(path, [f"is no TOML file: {error}"]) from error
    return _Parser(path, text, data).pattern()


class _Parser:
    """Reads one file and collects what is wrong with it."""

    def __init__(self, path: Path, text: str, data: dict[str, Any]) -> None:
        self._path = path
        self._data = data
        self._faults: list[tuple[int, str]] = []
        self._lines = dict(_line_numbers(text))

    def pattern(self) -> PatternFile:
        """Return what the file says."""
        for name, value in self._data.items():
            if name not in KEYS:
                self._complain(name, 0, None, f"there is no table [{name}]{_nearest(name, KEYS)}")
            elif not isinstance(value, list if name in _LISTS else dict):
                self._complain(name, 0, None, f"{name} is written as {_bracketed(name)}")
        head, setting = self._table("pattern"), self._table("setting")
        fabrics = [entry for n, table in self._tables("fabric") for entry in self._fabric(n, table)]
        self._check_codes(fabrics)
        blocks = [entry for n, table in self._tables("block") for entry in self._block(n, table)]
        if not self._tables("block"):
            self._complain("block", 0, None, "there is no [[block]]; name at least one drawing")
        paper = self._text("pattern", 0, head, "paper", "")
        if paper and paper.lower() not in PAPERS:
            self._complain("pattern", 0, "paper", f"there is no paper {paper!r}; choose {' or '.join(PAPERS)}")
        lengths = self._text("pattern", 0, head, "lengths", "")
        if lengths not in ("", "in", "cm"):
            self._complain("pattern", 0, "lengths", f"lengths are in or cm, not {lengths!r}")
        title = self._text("pattern", 0, head, "title", self._path.stem)
        by, notes = (self._text("pattern", 0, head, key, "") for key in ("by", "notes"))
        made = self._setting(setting) if "setting" in self._data else None
        if self._faults:
            raise PatternFileError(self._path, [f"line {line}: {words}" for line, words in sorted(self._faults)])
        return PatternFile(
            self._path,
            title,
            by,
            notes,
            paper.lower() or None,
            None if not lengths else lengths == "cm",
            tuple(fabric for fabric, _ in fabrics),
            tuple(blocks),
            made,
            tuple(line for _, line in fabrics),
            self._line("setting", 0, None),
        )

    def _line(self, table: str, number: int, key: str | None) -> int:
        places = ((table, number, key), (table, number, None), (table, 0, None))
        return next((self._lines[place] for place in places if place in self._lines), 1)

    def _complain(self, table: str, number: int, key: str | None, words: str) -> None:
        self._faults.append((self._line(table, number, key), words))

    def _table(self, name: str) -> Mapping[str, Any]:
        value = self._data.get(name, {})
        table = value if isinstance(value, dict) else {}
        self._check_keys(name, 0, table)
        return table

    def _tables(self, name: str) -> list[tuple[int, Mapping[str, Any]]]:
        value = self._data.get(name, [])
        tables = [table for table in value if isinstance(table, dict)] if isinstance(value, list) else []
        return list(enumerate(tables))

    def _check_keys(self, name: str, number: int, table: Mapping[str, Any]) -> None:
        for key in table:
            if key not in KEYS[name]:
                words = f"{_bracketed(name)} has no key {key!r}{_nearest(key, KEYS[name])}"
                self._complain(name, number, key, words)

    def _text(self, name: str, number: int, table: Mapping[str, Any], key: str, usual: str) -> str:
        value = table.get(key, usual)
        if not isinstance(value, str):
            self._complain(name, number, key, f"{key} is a text, in quotes")
            return usual
        return value

    def _whole(
        self, name: str, number: int, table: Mapping[str, Any], key: str, *, usual: int, bounds: tuple[int, int]
    ) -> int:
        value = table.get(key, usual)
        if isinstance(value, bool) or not isinstance(value, int) or not bounds[0] <= value <= bounds[1]:
            self._complain(
                name, number, key, f"{key} is a whole number from {bounds[0]} to {bounds[1]}, not {value!r}"
            )
            return usual
        return value

    def _length(self, name: str, number: int, key: str, value: Any, *, least: float = 0.0) -> float:
        """Return a length in inches: a number, or a text with a unit."""
        try:
            length = parse_length(value) if isinstance(value, str) else float(value)
            if isinstance(value, bool) or not least <= length <= 1000 or not math.isfinite(length):
                raise OptionError(f"{key} cannot be {value!r}")
        except (OptionError, TypeError, ValueError) as error:
            words = str(error) if isinstance(error, OptionError) else f"{key} is a length like 2.5 or '6cm'"
            self._complain(name, number, key, words)
            return max(least, 1.0)
        return length

    def _strings(self, name: str, number: int, table: Mapping[str, Any], key: str) -> tuple[str, ...]:
        value = table.get(key, [])
        if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
            self._complain(name, number, key, f"{key} is a list of texts, like ['#1f3a5f']")
            return ()
        return tuple(item.lower() if item.startswith("#") else item for item in value)

    def _fabric(self, number: int, table: Mapping[str, Any]) -> Iterator[tuple[Fabric, int]]:
        self._check_keys("fabric", number, table)
        code = self._text("fabric", number, table, "code", "")
        wrong = check_code(code)
        if wrong is not None:
            self._complain("fabric", number, "code", wrong)
            return
        colours = self._strings("fabric", number, table, "colours")
        width = table.get("width")
        yield (
            Fabric(
                code,
                self._text("fabric", number, table, "name", code),
                colours,
                None if width is None else self._length("fabric", number, "width", width, least=4.0),
            ),
            self._line("fabric", number, "code"),
        )

    def _check_codes(self, fabrics: Sequence[tuple[Fabric, int]]) -> None:
        codes: dict[str, int] = {}
        colours: dict[str | None, int] = {}
        for fabric, line in fabrics:
            first = codes.setdefault(fabric.code.casefold(), line)
            if first != line:
                self._faults.append((line, f"the code {fabric.code!r} is that of the fabric in line {first}, too"))
            for colour in fabric.colours:
                if colours.setdefault(colour, line) != line:
                    self._faults.append((line, f"{colour} belongs to the fabric in line {colours[colour]}, too"))

    def _block(self, number: int, table: Mapping[str, Any]) -> Iterator[BlockEntry]:
        self._check_keys("block", number, table)
        name = self._text("block", number, table, "drawing", "")
        drawing = self._path.parent / name
        if not name:
            self._complain("block", number, "drawing", "a [[block]] names its drawing")
        elif not drawing.is_file():
            self._complain("block", number, "drawing", f"there is no drawing {name!r} beside {self._path.name}")
        width = table.get("width")
        widths = width if isinstance(width, list) else [width]
        if not widths:
            self._complain("block", number, "width", "width is one length or a list of some")
        copies = self._whole("block", number, table, "copies", usual=1, bounds=(1, MOST_COPIES))
        mirrored = self._whole("block", number, table, "mirrored", usual=0, bounds=(0, MOST_COPIES))
        if mirrored > copies:
            self._complain("block", number, "mirrored", f"{mirrored} cannot be mirrored of {copies}")
        yield BlockEntry(
            drawing,
            self._text("block", number, table, "title", ""),
            tuple(None if w is None else self._length("block", number, "width", w, least=NEEDLE) for w in widths),
            copies,
            mirrored,
            self._strings("block", number, table, "skip_layers"),
            self._line("block", number, "width" if width is not None else "drawing"),
        )

    def _setting(self, table: Mapping[str, Any]) -> Setting:
        borders = table.get("borders", [])
        if not isinstance(borders, list):
            self._complain("setting", 0, "borders", "borders is a list of widths, like [1.5, 4]")
            borders = []
        backing = table.get("backing", False)
        if not isinstance(backing, bool):
            self._complain("setting", 0, "backing", "backing is true or false")
        for key in ("across", "down"):
            if key not in table:
                self._complain("setting", 0, key, f"[setting] says how many blocks lie {key}")
        return Setting(
            self._whole("setting", 0, table, "across", usual=1, bounds=(1, MOST_COPIES)),
            self._whole("setting", 0, table, "down", usual=1, bounds=(1, MOST_COPIES)),
            self._length("setting", 0, "sashing", table.get("sashing", 0)),
            tuple(self._length("setting", 0, "borders", width, least=0.25) for width in borders),
            backing is True,
            self._length("setting", 0, "binding", table.get("binding", 0)),
        )


def _line_numbers(text: str) -> Iterator[tuple[tuple[str, int, str | None], int]]:
    """Yield where tables and keys stand: name of the table, its number among those of that name, key; the line."""
    seen: dict[str, int] = {}
    table, number = "", 0
    for line, words in enumerate(text.splitlines(), 1):
        header = _HEADER.fullmatch(words)
        if header is not None:
            table = header[1]
            number = seen.get(table, -1) + 1
            seen[table] = number
            yield (table, number, None), line
        elif (key := _KEY.match(words)) is not None:
            yield (table, number, key[1]), line
            if not table:
                yield (key[1], 0, None), line


def _nearest(word: str, known: Mapping[str, Any] | Sequence[str]) -> str:
    """Return a hint to the known word that is nearest."""
    near = difflib.get_close_matches(word, list(known), 1, 0.5)
    return f"; is it {near[0]!r}?" if near else f"; it may have {', '.join(known)}"


def _bracketed(name: str) -> str:
    return f"[[{name}]]" if name in _LISTS else f"[{name}]"


def print_pattern(drawings: Sequence[tuple[str, Sequence[Block]]], *, title: str) -> str:
    """Return a pattern file to start from, as TOML.

    Parameters
    ----------
    drawings
        Files, each with the blocks in it.
    title
        Of the pattern.
    """
    fabrics = fabrics_of_blocks(block for _, blocks in drawings for block in blocks)
    lines = ["[pattern]", f"title = {_quoted(title)}", 'by = ""', 'notes = ""', 'paper = "a4"', 'lengths = "in"', ""]
    for fabric in fabrics.all:
        if fabric.known:
            colours = ", ".join(_quoted(str(colour)) for colour in fabric.colours)
            lines += ["[[fabric]]", f"code = {_quoted(fabric.code)}", f"name = {_quoted(fabric.name)}"]
            lines += [f"colours = [{colours}]", ""]
    for name, blocks in drawings:
        width = max(block.width for block in blocks) if len(blocks) == 1 else None
        lines += ["[[block]]", f"drawing = {_quoted(name)}"]
        lines += [] if width is None else [f"# width = {width:g}  # as drawn; several: [6, 9]"]
        lines += ["copies = 1", "mirrored = 0", ""]
    lines += ["# [setting]", "# across = 3", "# down = 4", "# sashing = 1.5", "# borders = [2, 4]"]
    lines += ["# backing = true", "# binding = 2.5", ""]
    return "\n".join(lines)


def _quoted(text: str) -> str:
    """Return a TOML basic string."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in escaped) + '"'
