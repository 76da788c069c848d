"""Fixtures of all tests of the command line."""

from __future__ import annotations

import pytest


@pytest.fixture
def drawing(tmp_path):
    """Write a drawing and return its path."""

    def write(text, name="drawing.wkt"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write
