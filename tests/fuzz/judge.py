"""What must hold for any input whatever."""

from __future__ import annotations

import json
import time
from typing import Literal

from seamtree.block.build import build_blocks
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.dxf.read import read_dxf
from seamtree.drawing.geojson import read_geojson
from seamtree.drawing.pdf.read import read_pdf
from seamtree.drawing.svg.read import read_svg
from seamtree.drawing.wkt import read_wkt
from seamtree.errors import DrawingError, LimitError
from seamtree.planning.build import plan
from seamtree.planning.replay import replay
from tests.fuzz.files import Input

Outcome = Literal["planned", "refused", "limit"]

MOST_SECONDS = 15.0
"""Processor time that one small input may take."""

TIME_LIMIT = 2.0
"""What the search may take for a block, in its own seconds."""


class WrongEndError(AssertionError):
    """An input was not dealt with as it should be."""


def parse(found: Input) -> Drawing:
    """Read a file with the reader of its format, whatever its content looks like."""
    if found.form == "svg":
        return read_svg(found.data, source="t.svg", width=found.width, tolerance=found.tolerance)
    if found.form == "pdf":
        return read_pdf(found.data, source="t.pdf", width=found.width, tolerance=found.tolerance)
    if found.form == "dxf":
        return read_dxf(found.data, source="t.dxf", width=found.width, tolerance=found.tolerance)
    reader = read_geojson if found.form == "geojson" else read_wkt
    return reader(found.data, source=f"t.{found.form}", width=found.width)


def judge(found: Input) -> Outcome:
    """Read and plan an input.

    Returns
    -------
    str
        planned: every block has a plan, which the replay takes. refused: the drawing is faulty, and the message says
        what and is not empty. limit: it is larger than a limit.

    Raises
    ------
    Exception
        Any other end is a find.
    """
    try:
        blocks = build_blocks(parse(found), tolerance=found.tolerance)
    except LimitError as error:
        _check_words(str(error))
        return "limit"
    except DrawingError as error:
        _check_words(str(error))
        return "refused"
    if not blocks:
        raise WrongEndError("neither a block nor a word")
    for block in blocks:
        answer = plan(block, time_limit=TIME_LIMIT)
        polygons = [block.polygon(p) for p in range(len(block.patches))]
        answer_json = answer.to_json()
        json.dumps(answer_json, allow_nan=False)
        replay(polygons, answer_json, tolerance=found.tolerance, curves=block.drawn_curves())
    return "planned"


def judge_in_time(found: Input) -> Outcome:
    """Judge an input and its time; for long runs, not for tests."""
    start = time.process_time()
    outcome = judge(found)
    took = time.process_time() - start
    if took > MOST_SECONDS:
        raise WrongEndError(f"took {took:.1f} s of processor time")
    return outcome


def _check_words(said: str) -> None:
    if not said.strip() or "Traceback" in said:
        raise WrongEndError(f"no clear word: {said!r}")
