"""What an audit finds out about a drawing, as plain data."""

from __future__ import annotations

import base64
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal, get_args

from seamtree import arguments
from seamtree.drawing.reading import White
from seamtree.errors import Finding, check_time_limit
from seamtree.planning.wishes import NO_WISHES, Wishes
from seamtree.remedies import Remedy
from seamtree.tolerances import TOLERANCE

SCHEMA = "seamtree-audit/1"
"""Name and version of the layout of records; what is stored under another one is not used."""

STAND_IN = "⟦name⟧"
"""Stands for the name of the drawing in a record that is kept: drawings with the same content share their record."""

SKIPPED = "skipped"
"""State of what was found but is no drawing to audit (`seamtree.auditing.places`), beside those of records."""

State = Literal["audited", "faulty", "cut off", "crashed", "not audited"]
"""What became of a drawing. The first two are answers about the drawing; the others may end otherwise next time."""

Verdict = Literal["single unit", "joined units", "hard corners", "faulty", "cut off", "crashed", "not audited"]
VERDICTS: tuple[Verdict, ...] = (
    "single unit",
    "joined units",
    "hard corners",
    "faulty",
    "cut off",
    "crashed",
    "not audited",
)
"""From the best to the worst; the verdict of a drawing is the worst of its blocks."""


@dataclass(frozen=True, slots=True)
class Settings:
    """How drawings are read and worked on: all that an answer depends on besides the drawing.

    Parameters
    ----------
    width, tolerance, skip_layers, marks, lines, white
        As for `seamtree.read`; a layer that a drawing lacks is a fault of the drawing.
    pdf_page
        Which page of PDF files is read, from 1 on; None for the first. Drawings of other formats have no pages.
    time_limit
        As for `seamtree.plan`.
    proofread
        Whether to prove the numbers printed on drawings that have some.
    rate
        Whether to rate how hard each block is to sew.
    pictures
        Whether to draw each block, for the page.
    wishes
        What is asked of plans.
    """

    width: float | None = None
    tolerance: float = TOLERANCE
    skip_layers: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()
    lines: bool = False
    white: White | None = None
    pdf_page: int | None = None
    time_limit: float = 10.0
    proofread: bool = False
    rate: bool = False
    pictures: bool = False
    wishes: Wishes = NO_WISHES

    def check(self) -> None:
        """Refuse settings that make no sense for any drawing.

        Raises
        ------
        OptionError
            If one makes none.
        """
        from seamtree.drawing.limits import MAX_PAGES, check_options

        for name in ("tolerance", "time_limit") if self.width is None else ("width", "tolerance", "time_limit"):
            arguments.real(name, getattr(self, name))
        arguments.texts("skip_layers", self.skip_layers)
        arguments.texts("marks", self.marks)
        if self.white is not None:
            arguments.choice("white", self.white, get_args(White))
        if self.pdf_page is not None:
            arguments.whole("pdf_page", self.pdf_page, least=1, most=MAX_PAGES)
        for name in ("lines", "proofread", "rate", "pictures"):
            arguments.flag(name, getattr(self, name))
        arguments.instance("wishes", self.wishes, Wishes)
        check_options(self.width, self.tolerance)
        check_time_limit(self.time_limit)


@dataclass(frozen=True, slots=True)
class BlockRecord:
    """What is known about one block.

    Parameters
    ----------
    name
        From the file name of the drawing.
    width, height
        Inches.
    verdict, proven, bound, counts, warnings
        As in a plan; `bound` and `counts` as plain mappings from the names of the figures.
    proof
        What holds of the printed numbers, as `seamtree.Proofreading.to_json` says it; None where there are none
        or nobody asked.
    rating
        How hard it is to sew, as `seamtree.rating.Rating.to_json` says it; None where nobody asked.
    picture
        SVG for the page (`seamtree.auditing.thumbnail`), without any name; None where nobody asked.
    seams
        All seams and the outline (`seamtree.auditing.equal`), to find equal blocks.
    """

    name: str
    width: float
    height: float
    verdict: str
    proven: bool
    bound: Mapping[str, int]
    counts: Mapping[str, int]
    warnings: tuple[Finding, ...] = ()
    proof: Mapping[str, Any] | None = None
    rating: Mapping[str, Any] | None = None
    picture: str | None = None
    seams: str | None = None

    def __repr__(self) -> str:
        return f"<BlockRecord of {self.name[:60]!r}: {self.verdict}>"

    @property
    def hard_corners(self) -> int:
        """Set-in, partial and curved corners together."""
        return sum(self.counts[kind] for kind in ("set_in", "partial", "curved"))


@dataclass(frozen=True, slots=True)
class Record:
    """What became of one drawing.

    Parameters
    ----------
    source
        Its file name, as the system has it: bytes that are no UTF-8 are surrogates (PEP 383).
    state
        ``audited``, ``faulty``, ``cut off`` (a limit of time or memory), ``crashed``, or ``not audited`` since
        whoever worked on it has gone.
    faults
        What is wrong, unless it was audited.
    blocks
        Its blocks, if it was audited.
    digest
        Of its content (SHA-256, hexadecimal); empty if it could not be loaded, or as long as the record has no name.
    """

    source: str
    state: State
    faults: tuple[Finding, ...] = ()
    blocks: tuple[BlockRecord, ...] = ()
    digest: str = ""

    def __post_init__(self) -> None:
        if (self.state == "audited") != bool(self.blocks) or (self.state == "audited") == bool(self.faults):
            raise ValueError(f"a drawing that is {self.state} has either blocks or faults")

    def __repr__(self) -> str:
        return f"<Record of {self.source[-60:]!r}: {self.verdict}>"

    @property
    def verdict(self) -> Verdict:
        """The worst verdict of its blocks, or what became of it."""
        if self.state != "audited":
            return self.state
        found = {block.verdict for block in self.blocks}
        return max((verdict for verdict in VERDICTS if verdict in found), key=VERDICTS.index)

    @property
    def final(self) -> bool:
        """Whether this is an answer about the drawing, the same whenever it is asked for."""
        return self.state in ("audited", "faulty")

    def named(self, source: str) -> Record:
        """Return the record with the name of a drawing put in where it was left open."""
        shown = shown_name(source)
        name = Path(shown).stem or shown
        file = STAND_IN + known_suffix(source)

        def fill(text: str) -> str:
            # The name of the file, then the name of a block, which is the same without its suffix.
            return text.replace(file, shown).replace(STAND_IN, name)

        def fill_finding(finding: Finding) -> Finding:
            filled = replace(finding, message=fill(finding.message))
            return replace(filled, message=filled.beside(shown))

        return replace(
            self,
            source=source,
            faults=tuple(map(fill_finding, self.faults)),
            blocks=tuple(
                replace(
                    block,
                    name=fill(block.name),
                    warnings=tuple(map(fill_finding, block.warnings)),
                    proof=_filled(block.proof, fill),
                    rating=_filled(block.rating, fill),
                )
                for block in self.blocks
            ),
        )

    def to_json(self, *, whole: bool = False) -> dict[str, Any]:
        """Return the record as plain data, without the pictures; if `whole`, with what is for this program alone."""
        hidden = ("picture",) if whole else ("picture", "seams")
        return {
            "schema": SCHEMA,
            **source_json(self.source),
            "state": self.state,
            **({"digest": self.digest} if self.digest else {}),
            "faults": [fault.to_json() for fault in self.faults],
            "blocks": [
                {
                    **{name: value for name, value in _fields(block).items() if name not in hidden},
                    "warnings": [warning.to_json() for warning in block.warnings],
                }
                for block in self.blocks
            ],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any], pictures: tuple[str | None, ...] = ()) -> Record:
        """Make a record of what `to_json` returned and the pictures of its blocks.

        Raises
        ------
        KeyError, TypeError, ValueError
            If the data has another layout.
        """
        if data["schema"] != SCHEMA:
            raise ValueError(f"the record is not of {SCHEMA}")
        drawn = pictures or (None,) * len(data["blocks"])
        return cls(
            _source_of(data),
            data["state"],
            tuple(_from_finding(fault) for fault in data["faults"]),
            tuple(
                BlockRecord(
                    **{**block, "warnings": tuple(_from_finding(w) for w in block["warnings"])}, picture=picture
                )
                for block, picture in zip(data["blocks"], drawn, strict=True)
            ),
            str(data.get("digest", "")),
        )


def shown_name(source: str) -> str:
    r"""Return a file name as text: bytes that are no UTF-8 as ``\xff``."""
    return source.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def source_json(source: str) -> dict[str, str]:
    """Return a file name for JSON, which knows text only: one that is none also as its bytes (base64, RFC 4648)."""
    shown = shown_name(source)
    if shown == source:
        return {"source": source}
    return {"source": shown, "source_bytes": base64.b64encode(os.fsencode(source)).decode("ascii")}


def _source_of(data: Mapping[str, Any]) -> str:
    """Return the file name that `source_json` wrote."""
    if "source_bytes" in data:
        return os.fsdecode(base64.b64decode(data["source_bytes"], validate=True))
    return str(data["source"])


def known_suffix(source: str) -> str:
    """Return the suffix of a file name if it may tell the format of a drawing, else nothing."""
    from seamtree.drawing.read import SUFFIXES

    suffix = os.path.splitext(source)[1].lower()  # noqa: PTH122, a path as an object takes ten times as long
    return suffix if suffix in SUFFIXES else ""


def _filled(value: Any, fill: Callable[[str], str]) -> Any:
    """Fill in all texts of plain data."""
    if isinstance(value, str):
        return fill(value)
    if isinstance(value, Mapping):
        return {key: _filled(entry, fill) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [_filled(entry, fill) for entry in value]
    return value


def _fields(block: BlockRecord) -> dict[str, Any]:
    return {name: getattr(block, name) for name in BlockRecord.__slots__}


def _from_finding(data: Mapping[str, Any]) -> Finding:
    at = data["at"]
    remedies = tuple([Remedy(code) for code in data.get("remedies", ())])
    return Finding(data["code"], data["message"], at and (at[0], at[1]), tuple(data["patches"]), remedies)
