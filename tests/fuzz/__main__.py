"""Make many wrong drawings of seeds and judge them: ``python -m tests.fuzz --inputs 100000``.

Prints what became of them; each find is printed with its seed, which makes it again: ``--first SEED --inputs 1``.
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
from random import Random

from tests.fuzz.files import Input, damage_text, make_input, options
from tests.fuzz.judge import MOST_SECONDS, WrongEndError, judge_in_time

SAMPLES = sorted(
    path
    for path in (Path(__file__).parents[2] / "samples").rglob("*")
    if path.suffix in {".svg", ".geojson", ".wkt"} and path.stat().st_size < 6000
)


def input_of(seed: int) -> Input:
    """Return the input of a seed: three of four are damaged layouts, the fourth is a damaged sample."""
    rng = Random(seed)
    if seed % 4:
        return make_input(rng)
    path = rng.choice(SAMPLES)
    form = {".svg": "svg", ".geojson": "geojson", ".wkt": "wkt"}[path.suffix]
    return Input(damage_text(rng, path.read_bytes(), rng.randint(1, 20)), form, *options(rng))  # type: ignore[arg-type]


def _hangs(*_: object) -> None:
    raise WrongEndError(f"took more than {2 * MOST_SECONDS:.0f} s of processor time")


def main() -> int:
    """Judge the inputs in the order of their seeds, for a number or for a time."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--inputs", type=int, default=100_000)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="stop after that long")
    parser.add_argument("--save", type=Path, help="folder for the inputs of finds")
    options = parser.parse_args()
    warnings.simplefilter("error")
    signal.signal(signal.SIGPROF, _hangs)
    start, fates, seed, slowest = time.monotonic(), Counter[str](), options.first, (0.0, 0)
    for seed in range(options.first, options.first + options.inputs):
        found, begun = input_of(seed), time.process_time()
        signal.setitimer(signal.ITIMER_PROF, 2 * MOST_SECONDS)
        try:
            fates[f"{found.form} {judge_in_time(found)}"] += 1
        except Exception as error:
            fates["found"] += 1
            place = traceback.extract_tb(error.__traceback__)[-1]
            said = f"{type(error).__name__}: {str(error)[:300]}"
            print(f"seed {seed}: {said} ({place.filename}:{place.lineno})", flush=True)
            if options.save:
                options.save.mkdir(parents=True, exist_ok=True)
                (options.save / f"{seed}.{found.form}").write_bytes(found.data)
        signal.setitimer(signal.ITIMER_PROF, 0)
        slowest = max(slowest, (time.process_time() - begun, seed))
        if time.monotonic() - start > options.seconds:
            break
    took = time.monotonic() - start
    print(f"seeds {options.first} to {seed}: {fates.total()} inputs in {took:.0f} s, {dict(sorted(fates.items()))}")
    print(f"slowest: seed {slowest[1]}, {slowest[0]:.1f} s")
    return 1 if fates["found"] else 0


if __name__ == "__main__":
    sys.exit(main())
