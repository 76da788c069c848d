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


BANNER = '<rect width="6" height="6" fill="#b22222"/>' + "".join(
    f'<path d="M0 {y}H6" stroke="#fff"/>' for y in (1.5, 3.5)
)


def test_thick_strokes_are_strips_unless_they_are_said_to_be_lines(svg):
    path = svg(BANNER)
    (block,) = checked(path)
    assert [patch["fabric"] for patch in block["patches"]].count("#ffffff") == 2
    assert block["warnings"][0]["code"] == "stroke-is-fabric"
    (block,) = checked(path, "--lines")
    assert block["counts"]["patches"] == 3
    assert {patch["fabric"] for patch in block["patches"]} == {"#b22222"}


def test_white_round_a_disc_is_a_field_and_no_disc_alone(svg):
    path = svg('<rect width="6" height="6" fill="#fff"/><circle cx="3" cy="3" r="2" fill="#b22222"/>')
    told = run("check", path)
    assert told.exit_code == 2
    assert "lies wholly inside another patch (rect 1)" in told.stderr
    (block,) = checked(path, "--white", "paper")
    assert block["counts"]["patches"] == 1


@pytest.mark.parametrize(
    ("width", "inches"),
    [("8", 8), ("8in", 8), ("7 1/2 in", 7.5), ('3/4"', 0.75), ("15cm", 15 / 2.54), ("150mm", 15 / 2.54)],
)
def test_the_width_may_be_any_length(svg, width, inches):
    (block,) = checked(svg(BANNER), "--width", width)
    assert block["width"] == pytest.approx(inches, abs=1e-6)


@pytest.mark.parametrize("width", ["wide", "8 feet", "nan", "inf", "1e3", "0", "0in"])
def test_a_width_that_is_no_length_is_refused(svg, width):
    told = run("check", svg(BANNER), "--width", width)
    assert told.exit_code == 2
    assert "--width" in told.output or "width must be" in told.output


@pytest.mark.parametrize("command", ["check", "rate", "mend", "proofread", "picture", "pack", "audit"])
def test_every_command_that_reads_drawings_has_the_options(command):
    told = run(command, "--help", env={"COLUMNS": "200"})
    assert all(option in told.stdout for option in ("--width", "--marks", "--lines", "--white", "--skip-layer"))


def test_what_is_in_a_marks_layer_is_a_marking_in_every_command(svg, tmp_path):
    path = svg(
        BANNER + '<g id="buttons"><circle cx="3" cy="2.5" r="1.2" fill="gold"/><path d="M1 4L5 5" stroke="#000"/></g>'
    )
    (block,) = checked(path, "--marks", "buttons")
    assert block["counts"]["patches"] == 5
    assert "2 shapes are sewn on afterwards, as asked" in json.dumps(block["warnings"])
    picture = tmp_path / "banner.svg"
    assert run("picture", path, "--marks", "buttons", "-o", picture).exit_code == 0
    assert "marking of the drawing, no seam" in picture.read_text(encoding="utf-8")
    assert run("pack", path, "--marks", "buttons", "-o", tmp_path / "banner.pdf").exit_code == 0
    audited = run("audit", path, "--marks", "buttons", "--store", tmp_path / "store")
    assert audited.exit_code == 0, audited.output
    told = run("check", path, "--marks", "eyes")
    assert told.exit_code == 2
    assert "'eyes'. Groups with names: 'buttons'." in told.stderr
