"""The audit of one drawing: the function that an executor calls, here or on another machine."""

from __future__ import annotations

import contextlib
import hashlib
from dataclasses import asdict, astuple, dataclass, field, replace
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import seamtree
from seamtree.auditing.record import SCHEMA, STAND_IN, BlockRecord, Record, Settings
from seamtree.errors import DrawingError, Finding, OptionError, describe_unexpected, is_out_of_memory

if TYPE_CHECKING:
    from seamtree.block.model import Block
    from seamtree.planning.model import Plan

_DECIMALS = 6
"""Places after the point of sizes and places, as in the JSON of a plan."""

PICTURE_SIZE = 180.0
"""Longest side of a block in its picture, points."""

UNEXPECTED = "internal-error"
"""Code of the fault of a drawing that brought out a fault of this program."""


_TRIAL = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="2in" height="2in" viewBox="0 0 2 2">'
    '<rect width="1" height="1"/><rect x="1" width="1" height="1"/>'
    '<rect y="1" width="1" height="1"/><rect x="1" y="1" width="1" height="1"/></svg>'
)
"""A drawing to read and plan before memory is limited: four squares."""


@dataclass(frozen=True, slots=True)
class Job:
    """A drawing to audit.

    Parameters
    ----------
    data
        The whole file. It is sent and not read again, so that the answer belongs to what was looked up in the store.
    suffix
        Of the file name, lower case; it tells the format where the content leaves it open.
    settings
        How to work on it.
    version
        `code_version` of who asks.

    Attributes
    ----------
    digest
        Of the content (SHA-256, hexadecimal).
    key
        What the answer depends on, as a digest: content, settings (pictures change no answer) and version.
    """

    data: bytes
    suffix: str
    settings: Settings
    version: str
    digest: str = field(init=False)
    key: str = field(init=False)

    def __post_init__(self) -> None:
        content = hashlib.sha256(self.data)
        about = repr((SCHEMA, self.version, self.suffix)) + _options(self.settings)
        key = hashlib.sha256(about.encode() + b"\0" + content.digest())
        object.__setattr__(self, "digest", content.hexdigest())
        object.__setattr__(self, "key", key.hexdigest())


@lru_cache(maxsize=8)
def _options(settings: Settings) -> str:
    """Return the options that answers depend on; all drawings of an audit have the same."""
    return repr(astuple(replace(settings, pictures=False)))


class OtherVersionError(Exception):
    """Another process that was asked has another version of this program."""


_ANSWERING = (".py", ".toml")
"""Suffixes of the library's files that answers depend on: its modules, and the scale that ratings come from."""


@cache
def code_version() -> str:
    """Return the version of the program with a digest of the library's modules and scale.

    The number alone would not do: what another state of the files answered must never be taken for an answer of this
    one.
    """
    home = Path(seamtree.__file__).parent
    digest = hashlib.sha256()
    for path in sorted(path for path in home.rglob("*") if path.suffix in _ANSWERING):
        text = path.read_bytes()
        digest.update(f"{path.relative_to(home).as_posix()} {len(text)}\n".encode() + text)
    return f"{seamtree.__version__}+{digest.hexdigest()[:16]}"


def prepare() -> None:
    """Load what every drawing needs, before any is worked on.

    The libraries take some memory when they are first used, GEOS when it first fails: that must not be when there is
    none left, for it would end the process without a word.
    """
    import shapely

    with contextlib.suppress(shapely.GEOSException):
        shapely.from_wkt("LINE")
    audit_drawing(Job(_TRIAL.encode(), ".svg", Settings(), code_version()))


def audit_drawing(job: Job) -> Record:
    """Read a drawing, plan each of its blocks, and what else its settings ask for.

    Returns
    -------
    Record
        With `STAND_IN` for the name of the drawing.

    Raises
    ------
    MemoryError
        If there is not enough memory.
    OtherVersionError
        If whoever asks has another version of the program.
    """
    if job.version != code_version():
        raise OtherVersionError(f"seamtree {code_version()} was asked by {job.version}")
    try:
        return Record(STAND_IN, "audited", blocks=_audit_blocks(job))
    except DrawingError as error:
        return Record(STAND_IN, "faulty", tuple(map(_rounded, error.findings)))
    except OptionError as error:
        return Record(STAND_IN, "faulty", (Finding("option", str(error)),))
    except MemoryError:
        raise
    except Exception as error:
        if is_out_of_memory(error):
            raise MemoryError from error
        return Record(STAND_IN, "crashed", (unexpected(error),))


def unexpected(error: BaseException) -> Finding:
    """Tell of an error that nobody expected."""
    return Finding(UNEXPECTED, describe_unexpected(error))


def _audit_blocks(job: Job) -> tuple[BlockRecord, ...]:
    from seamtree.block.build import build_blocks
    from seamtree.drawing.read import find_format, parse_drawing

    settings = job.settings
    source = STAND_IN + job.suffix
    drawing = parse_drawing(
        job.data,
        source=source,
        width=settings.width,
        tolerance=settings.tolerance,
        skip_layers=settings.skip_layers,
        marks=settings.marks,
        lines=settings.lines,
        white=settings.white,
        pdf_page=settings.pdf_page if find_format(job.data, source) == "pdf" else None,
    )
    blocks = build_blocks(drawing, tolerance=settings.tolerance)
    return tuple(_audit_block(block, settings) for block in blocks)


def _audit_block(block: Block, settings: Settings) -> BlockRecord:
    from seamtree.auditing.equal import pack_seams
    from seamtree.planning.build import plan

    best = plan(block, time_limit=settings.time_limit, wishes=settings.wishes)
    return BlockRecord(
        name=block.name,
        width=round(block.width, _DECIMALS),
        height=round(block.height, _DECIMALS),
        verdict=best.verdict,
        proven=best.proven,
        bound=asdict(best.bound),
        counts=asdict(best.counts),
        warnings=tuple(map(_rounded, best.warnings)),
        proof=_proof(block, best, settings) if settings.proofread else None,
        rating=_rating(best) if settings.rate else None,
        picture=_picture(best) if settings.pictures else None,
        seams=pack_seams(block),
    )


def _proof(block: Block, best: Plan, settings: Settings) -> dict[str, Any] | None:
    """Return what holds of the printed numbers; None where there are none."""
    from seamtree.proofreading import proofread

    try:
        return proofread(block, time_limit=settings.time_limit, best=best).to_json()
    except DrawingError:  # nothing to read
        return None


def _rating(best: Plan) -> dict[str, Any]:
    """Rate how hard a block is to sew; what would make it easier takes too long for a whole catalogue."""
    from seamtree.rating import rate

    return rate(best, changes=False).to_json()


def _picture(best: Plan) -> str:
    """Draw a block, small: units tinted and named, hard corners marked."""
    from seamtree.auditing.thumbnail import write_thumbnail
    from seamtree.picture import SMALL, draw_plan

    look = replace(SMALL, numbers="units", hatching=False)
    return write_thumbnail(draw_plan(best, look=look, size=PICTURE_SIZE))


def _rounded(finding: Finding) -> Finding:
    at = finding.at
    return replace(finding, at=at and (round(at[0], _DECIMALS), round(at[1], _DECIMALS)))
