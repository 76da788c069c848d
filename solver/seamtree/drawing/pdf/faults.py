"""What is said of a PDF file that cannot be used."""

from __future__ import annotations

from functools import partial

from seamtree.drawing.damage import damaged as damaged_file

damaged = partial(damaged_file, kind="PDF")
