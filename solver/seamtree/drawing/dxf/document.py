"""DXF files as documents: loaded, checked, and their unit."""

from __future__ import annotations

import contextlib
import logging
import re
from collections.abc import Iterator
from functools import partial
from io import BytesIO

from ezdxf import recover
from ezdxf.document import Drawing as Document
from ezdxf.lldxf.const import DXFError
from ezdxf.lldxf.tagger import binary_tags_loader
from ezdxf.units import conversion_factor

from seamtree.drawing import damage
from seamtree.errors import DrawingError, Finding

_BINARY = b"AutoCAD Binary DXF"
_MARKS = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_UTF8_MARK = b"\xef\xbb\xbf"

FAILURES = (DXFError, *damage.FAILURES)
"""How the library fails where a file is damaged."""

_PARTS = frozenset({"VERTEX", "SEQEND", "ATTRIB", "MTEXT"})
"""What follows an object that it belongs to, and is none by itself; columns of a paragraph are read as one."""

_FRAMES = b"ACAD_MTEXT_TEXT_BORDERS"
"""What paragraphs call the list of the outlines of their frame."""

damaged = partial(damage.damaged, kind="DXF")

_INCH = 1
_MILLIMETRES_PER_INCH = 25.4


def unknown(source: str, kind: str) -> DrawingError:
    """Return the error for an object that DXF does not know."""
    shown = "".join(letter if letter.isascii() and letter.isprintable() else "?" for letter in kind[:30])
    message = (
        f"{source} holds an object of a kind that cannot be read, {shown}. Break it up into lines in the program "
        "that drew it, or save the drawing as a plain SVG file."
    )
    return DrawingError(Finding("unknown-object", message), source=source)


def load(data: bytes, source: str) -> Document:
    """Load a document.

    Raises
    ------
    DrawingError
        ``damaged-file`` when it cannot be loaded whole: the library leaves out objects that it cannot make out.
    """
    try:
        if data.startswith(_BINARY):
            document = Document.load(binary_tags_loader(data))
            if document.audit().has_errors:
                raise damaged(source, "a part of it makes no sense")
            return document
        data = _as_text(data)
        wanted = _count_objects(data, source)
        document, auditor = recover.read(BytesIO(data))
    except DrawingError:
        raise
    except FAILURES as error:
        raise damaged(source, damage.clause(error)) from error
    if auditor.has_errors:
        raise damaged(source, " ".join(auditor.errors[0].message.split()).rstrip("."))
    things = [thing for layout in document.layouts for thing in layout if thing.is_alive]
    held = sum(thing.dxftype() not in _PARTS for thing in things)
    if held < wanted:
        raise damaged(source, f"{wanted - held} of its {wanted} objects cannot be made out")
    return document


def _as_text(data: bytes) -> bytes:
    """Return the text without its byte order mark, in UTF-8 where it was in UTF-16."""
    for mark, encoding in _MARKS:
        if data.startswith(mark):
            return data.removeprefix(mark).decode(encoding, "replace").encode()
    return data.removeprefix(_UTF8_MARK)


def _count_objects(data: bytes, source: str) -> int:
    """Return how many objects the file holds in its drawing; the tags must stand in pairs to its end.

    Frames of paragraphs are no objects of their own: the library takes their outlines for parts of the texts.
    """
    section, count, begins = b"", 0, False
    handles: set[bytes] = set()
    frames: set[bytes] = set()
    in_frames = False
    for code, value in _tags(data, source):
        if code == 1000 and value.startswith(_FRAMES):
            in_frames = value == _FRAMES + b"_BEGIN"
        elif code == 1005 and in_frames:
            frames.add(value)
        elif code == 5:
            handles.add(value)
        if code == 2 and begins:
            section = value
        begins = code == 0 and value == b"SECTION"
        if code != 0:
            continue
        if value == b"EOF":
            return count - len(frames & handles)
        if value == b"ENDSEC":
            section = b""
        elif section == b"ENTITIES" and value.decode("latin-1") not in _PARTS:
            count += 1
    raise damaged(source, "it ends too early")


def _tags(data: bytes, source: str) -> Iterator[tuple[int, bytes]]:
    """Yield the codes with their values in capitals."""
    lines = iter(re.split(rb"\r\n|\n|\r", data))
    for code in lines:
        value = next(lines, b"").strip().upper()
        if not code.strip() and not value:
            continue
        try:
            yield int(code), value
        except ValueError:
            raise damaged(source, "its lines are out of step") from None


def inches_per_unit(document: Document) -> tuple[float, str]:
    """Return inches to the unit of a document, and what is assumed where it does not say (else an empty string)."""
    code = document.header.get("$INSUNITS", 0)
    with contextlib.suppress(LookupError, TypeError, ValueError, ArithmeticError):
        factor = float(conversion_factor(code, _INCH)) if code else 0.0  # type: ignore[arg-type]
        if factor > 0.0:
            return factor, ""
    if document.header.get("$MEASUREMENT", 0) == 1:
        return 1 / _MILLIMETRES_PER_INCH, "millimetres"
    return 1.0, "inches"


@contextlib.contextmanager
def quiet() -> Iterator[None]:
    """Hold back what the library says."""
    logger = logging.getLogger("ezdxf")
    before = logger.level
    logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        logger.setLevel(before)
