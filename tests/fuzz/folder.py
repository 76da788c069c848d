"""Judge all drawings below a folder, whoever made them: ``python -m tests.fuzz.folder FOLDER``.

Prints what became of each that is read, and every find. For test suites of other programs.
"""

from __future__ import annotations

import argparse
import signal
import sys
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

from seamtree.drawing.read import SUFFIXES
from seamtree.errors import DrawingError
from tests.fuzz.__main__ import _hangs
from tests.fuzz.files import Input
from tests.fuzz.judge import MOST_SECONDS, judge_in_time


def main() -> int:
    """Judge the drawings in the order of their names."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz.folder", description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--width", type=float, help="inches that each is made wide")
    asked = parser.parse_args()
    warnings.simplefilter("error")
    signal.signal(signal.SIGPROF, _hangs)
    fates, slowest = Counter[str](), (0.0, "")
    for path in sorted(path for path in asked.folder.rglob("*") if path.suffix.lower() in SUFFIXES):
        found, begun = Input(path.read_bytes(), SUFFIXES[path.suffix.lower()], 0.02, asked.width), time.process_time()
        signal.setitimer(signal.ITIMER_PROF, 2 * MOST_SECONDS)
        try:
            fate = judge_in_time(found)
        except DrawingError as error:  # a format that its suffix does not promise
            fate = f"refused ({error.findings[0].code})"
        except Exception as error:
            place = traceback.extract_tb(error.__traceback__)[-1]
            fate = "found"
            print(f"{path}: {type(error).__name__}: {str(error)[:300]} ({place.filename}:{place.lineno})", flush=True)
        signal.setitimer(signal.ITIMER_PROF, 0)
        fates[fate] += 1
        if fate == "planned":
            print(f"{path}: planned")
        slowest = max(slowest, (time.process_time() - begun, str(path)))
    print(f"{fates.total()} drawings, {dict(sorted(fates.items()))}; slowest: {slowest[1]}, {slowest[0]:.1f} s")
    return 1 if fates["found"] else 0


if __name__ == "__main__":
    sys.exit(main())
