"""Drawings as editors save them, from the file to what is printed."""

from __future__ import annotations

import json

import pytest

from tests.cli.running import run

INCH = 'xmlns="http://www.w3.org/2000/svg" width="6in" height="6in" viewBox="0 0 6 6"'


@pytest.fixture
def svg(drawing):
    """Write an SVG drawing of six by six inches and return its path."""

    def write(body, root=INCH, name="harbour.svg"):
        return drawing(f"<svg {root}>{body}</svg>", name)

    return write


def checked(path, *arguments, status=0):
    """Return the blocks of a drawing as JSON."""
    told = run("check", path, "--json", *arguments)
    assert told.exit_code == status, told.output
    return json.loads(told.stdout)["blocks"]


def test_one_round_patch_goes_through_every_command(svg, tmp_path):
    path = svg('<circle cx="3" cy="3" r="2.5" fill="#b22222"/>', name="porthole.svg")
    assert checked(path)[0]["counts"]["patches"] == 1
    rated = run("rate", path)
    assert rated.exit_code == 0
    assert "level 1 of 5" in rated.stdout
    packed = run("pack", path, "-o", tmp_path / "porthole.pdf")
    assert packed.exit_code == 0, packed.output
    audited = run("audit", path, "--rate", "--store", tmp_path / "store")
    assert audited.exit_code == 0, audited.output
    assert "crashed" not in audited.stdout
