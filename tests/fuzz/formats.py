"""Change bytes of PDF and DXF files and judge what is read: ``python -m tests.fuzz.formats pdf --bytes 100000``.

Beside the ways to damage a text, bytes are changed singly. Pages that are packed are told from those that are not:
what is read of a packed one with a byte changed is what was read before, or refused, unless the byte belongs to a
table outside of the packed contents; those are *other* and printed with ``--others``, for a person to judge.
"""

from __future__ import annotations

import argparse
import signal
import sys
import time
import traceback
import warnings
from collections import Counter
from functools import cache
from io import BytesIO
from pathlib import Path
from random import Random

import ezdxf
import pypdf

from seamtree.drawing.drawn import Drawing
from seamtree.errors import DrawingError, LimitError
from tests.fuzz.__main__ import _hangs
from tests.fuzz.files import TEXT_WAYS, Input
from tests.fuzz.judge import MOST_SECONDS, WrongEndError, judge_in_time, parse

FILES = Path(__file__).parents[1] / "drawing"
MOST_SIZE = 18_000
_PLANNED = 8
"""Of so many inputs one is planned as well; the others are only read: what follows is the same for all formats."""


@cache
def seeds(form: str) -> tuple[tuple[str, bytes], ...]:
    """Return files to change: those of the tests, and for PDF each with its contents unpacked as well."""
    found = []
    for path in sorted((FILES / form / "files").glob(f"*.{form}")):
        data = path.read_bytes()
        if len(data) > (MOST_SIZE if form == "dxf" else MOST_SIZE // 6):
            continue
        found.append((f"packed {path.name}", data))
        if form == "pdf":
            found.append((f"unpacked {path.name}", unpacked(data)))
    if form == "dxf":
        found += [(f"made {version}", made_dxf(version)) for version in ("R12", "R2000", "R2010", "R2018")]
    return tuple(found)


def unpacked(data: bytes) -> bytes:
    """Return a PDF file with the contents of its pages unpacked."""
    writer = pypdf.PdfWriter(clone_from=BytesIO(data))
    for page in writer.pages:
        contents = page.get_contents()
        if contents is not None:
            stream = pypdf.generic.DecodedStreamObject()
            stream.set_data(contents.get_data())
            page[pypdf.generic.NameObject("/Contents")] = stream
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def made_dxf(version: str) -> bytes:
    """Return a small DXF file with objects of all kinds that are read."""
    document = ezdxf.new(version, units=1)
    model = document.modelspace()
    block = document.blocks.new("pane")
    block.add_line((0, 0), (2, 0))
    block.add_arc((0, 0), 2, 0, 90)
    block.add_line((0, 2), (0, 0))
    model.add_blockref("pane", (2, 2))
    model.add_blockref("pane", (2, 2), dxfattribs={"rotation": 180})
    outline = [(0, 0), (4, 0), (4, 4), (0, 4)]
    if version == "R12":
        model.add_polyline2d(outline, close=True)
        model.add_solid([(0, 0), (1, 0), (0, 1)])
    else:
        model.add_lwpolyline(outline, close=True)
        model.add_hatch(color=1).paths.add_polyline_path([(0, 0), (1, 0), (0, 1)])
        model.add_spline([(0, 3), (1, 3.5), (4, 3)])
        model.add_ellipse((2, 2), (0.5, 0), 0.5)
        model.add_mtext("A2", dxfattribs={"insert": (3, 3), "char_height": 0.2})
    model.add_circle((2, 2), 0.2)
    model.add_text("A1", height=0.2).set_placement((1, 1))
    out = BytesIO()
    wrapper = _TextOut(out)
    document.write(wrapper)  # type: ignore[arg-type]
    return out.getvalue()


class _TextOut:
    def __init__(self, out: BytesIO) -> None:
        self._out = out

    def write(self, text: str) -> int:
        return self._out.write(text.encode("utf-8", "surrogateescape"))


def change(rng: Random, data: bytes) -> tuple[bytes, int]:
    """Return changed data and how many bytes of it were changed singly; now and then parts are damaged as text is."""
    changed = bytearray(data)
    times = rng.choice([1, 1, 1, 2, 5, 20])
    for _ in range(times):
        place = rng.randrange(len(changed))
        changed[place] = rng.randrange(256) if rng.random() < 0.5 else changed[place] ^ (1 << rng.randrange(8))
    data = bytes(changed)
    if rng.random() < 0.15:
        data = rng.choice(TEXT_WAYS)(rng, data)
    return data, times


def summary(drawing: Drawing) -> tuple[object, ...]:
    """Return what a byte outside of the contents hardly changes: paints, and how many points they have."""
    return tuple((shape.fill, shape.stroked, sum(len(t.points) for t in shape.tracks)) for shape in drawing.shapes)


@cache
def original(form: str, name: str) -> tuple[object, ...]:
    """Return the summary of a file before it was changed."""
    return summary(parse(Input(dict(seeds(form))[name], form, 0.02, None)))  # type: ignore[arg-type]


def main() -> int:
    """Judge files until so many bytes were changed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.formats", description=__doc__)
    parser.add_argument("form", choices=["pdf", "dxf"])
    parser.add_argument("--bytes", type=int, default=100_000)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after that long")
    parser.add_argument("--others", action="store_true", help="print the packed files that are read differently")
    asked = parser.parse_args()
    warnings.simplefilter("error")
    signal.signal(signal.SIGPROF, _hangs)
    start, fates, seed, count, slowest = time.monotonic(), Counter[str](), asked.first, 0, (0.0, 0)
    while count < asked.bytes and time.monotonic() - start < asked.seconds:
        rng = Random(seed)
        name, data = rng.choice(seeds(asked.form))
        data, times = change(rng, data)
        found, begun = Input(data, asked.form, 0.02, rng.choice([None, None, 8.0])), time.process_time()
        signal.setitimer(signal.ITIMER_PROF, 2 * MOST_SECONDS)
        try:
            fates[_judged(found, plan=seed % _PLANNED == 0)] += 1
            if name.startswith("packed") and asked.form == "pdf":
                fates[_compared(name, data, seed, asked.others)] += 1
        except Exception as error:
            fates["found"] += 1
            place = traceback.extract_tb(error.__traceback__)[-1]
            said = f"{type(error).__name__}: {str(error)[:300]}"
            print(f"seed {seed} ({name}): {said} ({place.filename}:{place.lineno})", flush=True)
        signal.setitimer(signal.ITIMER_PROF, 0)
        slowest = max(slowest, (time.process_time() - begun, seed))
        seed, count = seed + 1, count + times
    took = time.monotonic() - start
    print(f"seeds {asked.first} to {seed - 1}: {count} bytes in {took:.0f} s, {dict(sorted(fates.items()))}")
    print(f"slowest: seed {slowest[1]}, {slowest[0]:.1f} s")
    return 1 if fates["found"] else 0


def _judged(found: Input, *, plan: bool) -> str:
    """Judge an input, with its blocks and their plans or without."""
    if plan:
        return judge_in_time(found)
    try:
        parse(found)
    except DrawingError as error:
        if not str(error).strip():
            raise WrongEndError("no clear word") from error
        return "limit" if isinstance(error, LimitError) else "refused"
    return "read"


def _compared(name: str, data: bytes, seed: int, others: bool) -> str:
    """Say whether a changed file reads as it did before."""
    try:
        now = summary(parse(Input(data, "pdf", 0.02, None)))  # type: ignore[arg-type]
    except DrawingError:
        return "packed: refused"
    if now == original("pdf", name):
        return "packed: same"
    if others:
        print(f"seed {seed} ({name}): {len(original('pdf', name))} shapes, now {len(now)}")
    return "packed: other"


if __name__ == "__main__":
    sys.exit(main())
