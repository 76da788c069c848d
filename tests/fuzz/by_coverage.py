"""Let atheris change bytes so that a reader goes ways it has not gone: ``python -m tests.fuzz.by_coverage svg``.

Further arguments are those of libFuzzer, as ``-atheris_runs=100000`` or a folder to keep its inputs in.
"""

from __future__ import annotations

import contextlib
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["seamtree.drawing"]):
    from tests.fuzz.files import Input
    from tests.fuzz.judge import parse

from seamtree.errors import DrawingError

SUFFIXES = {"svg": ".svg", "geojson": ".geojson", "wkt": ".wkt"}


def main() -> None:
    """Fuzz one reader, beginning with the samples of its format."""
    form, *more = sys.argv[1:]
    corpus = tempfile.mkdtemp()
    for number, path in enumerate((Path(__file__).parents[2] / "samples").rglob(f"*{SUFFIXES[form]}")):
        (Path(corpus) / str(number)).write_bytes(path.read_bytes())

    def read_one(data: bytes) -> None:
        with contextlib.suppress(DrawingError):
            parse(Input(data, form, 0.02, None))  # type: ignore[arg-type]

    atheris.Setup([sys.argv[0], "-timeout=20", "-max_len=6000", *more, corpus], read_one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
