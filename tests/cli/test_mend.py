"""The command as its users meet it, from the arguments to the exit status and the file."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

import seamtree
from tests.cli.running import run
from tests.support.emblems import SQUARE, svg
from tests.support.wkt import CORNER, CURVE, FOUR_PATCH, GAP, HOLE, RING, TWO_RINGS, box

EMBLEM = svg(SQUARE)


def mend(*arguments, **more):
    return run("mend", *arguments, **more)


def test_fewer_alternatives_than_asked_for_are_said_and_their_figures_told(drawing):
    told = mend(drawing(RING, "rope ring.wkt"), "--alternatives", "3").stdout.splitlines()
    assert told[-2] == "1 matched point, 2 different foundations"
    assert told[-1] == "no other change as small was found, but for the same one turned or mirrored"


def test_a_mended_drawing_is_written_and_checks_clean(drawing, tmp_path):
    output = tmp_path / "mended.svg"
    told = mend(drawing(RING, "rope ring.wkt"), "-o", str(output))
    assert told.exit_code == 0, told.output
    assert told.stderr == ""
    lines = told.stdout.splitlines()
    assert lines[0] == "rope ring, 6 × 6 in"
    assert lines[1] == "as drawn: 5 patches, 2 units, 1 hard corner (1 partial)"
    assert "carry the seam between" in told.stdout
    assert "mended: 6 patches, 2 units, no hard corners" in lines
    assert "proven: no fewer added patches do, nor do as few with fewer units" in lines
    checked = run("check", str(output), "--json")
    assert checked.exit_code == 0
    (block,) = json.loads(checked.stdout)["blocks"]
    assert block["counts"]["patches"] == 6
    assert "added-seams" in output.read_text(encoding="utf-8")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["mended.svg", "rope ring.wkt"]
    assert "nothing to mend: straight seams sew it" in mend(str(output)).stdout


def test_json_is_one_line(drawing):
    path = drawing(RING)
    told = mend(path, "--json", "--alternatives", "5")
    assert told.exit_code == 0
    assert told.stdout.count("\n") == 1
    answer = json.loads(told.stdout)
    assert answer["source"] == path
    assert len(answer["alternatives"]) == 1  # the others are the same, turned
    for entry in answer["alternatives"]:
        assert entry["added_patches"] == 1
        assert entry["proven"] is True
        (((ax, ay), (bx, by)),) = entry["added_seams"]
        assert abs(ax - bx) + abs(ay - by) == pytest.approx(2)
        assert entry["before"]["partial"] == 1
        assert entry["after"]["partial"] == 0
        assert entry["after"]["patches"] == 6


def test_nothing_to_mend(drawing):
    told = mend(drawing(FOUR_PATCH))
    assert told.exit_code == 0
    assert told.stdout.splitlines()[1:] == ["nothing to mend: straight seams sew it"]
    answer = json.loads(mend(drawing(FOUR_PATCH), "--json").stdout)
    assert answer["alternatives"] == []
    assert answer["blocks"][0]["nothing_to_mend"] is True


def test_what_cannot_be_mended_is_said_with_what_may_help(drawing):
    told = mend(drawing(CURVE, "buoy.svg"))
    assert told.exit_code == 1
    assert "has curved seams: --curve-tolerance" in " ".join(told.stdout.split())


def test_curves_become_straight_seams(drawing, tmp_path):
    output = tmp_path / "mended.svg"
    told = mend(drawing(CURVE, "buoy.svg"), "--curve-tolerance", "0.35", "-o", str(output))
    assert told.exit_code == 0, told.output
    assert "by two straight seams: the drawing moves by up to 0.3" in " ".join(told.stdout.split())
    assert run("check", str(output)).exit_code == 0


def test_so_few_units(drawing):
    told = mend(drawing(CORNER), "--units", "1")
    assert told.exit_code == 0
    assert "mended: 3 patches, 1 unit, no hard corners" in told.stdout
    hopeless = mend(drawing(FOUR_PATCH), "--units", "1")
    assert hopeless.exit_code == 1
    assert "cannot make this block a single unit: every way was tried" in hopeless.stdout
    assert "nothing to mend: 2 units sew it" in mend(drawing(FOUR_PATCH), "--units", "2").stdout
    assert mend(drawing(box(0, 0, 2, 2)), "--units", "1").exit_code == 0


def test_what_each_patch_buys(drawing):
    told = mend(drawing(EMBLEM, "buoy.svg"), "--frontier")
    assert told.exit_code == 0, told.output
    assert "  1 unit with 3 patches more (proven)" in told.stdout.splitlines()
    (rung,) = json.loads(mend(drawing(EMBLEM, "buoy.svg"), "--frontier", "--json").stdout)["alternatives"]
    assert (rung["added_patches"], rung["least_added_patches"], rung["proven"]) == (3, 3, True)
    assert rung["before"] is None
    kept = mend(drawing(FOUR_PATCH), "--frontier")
    assert "2 units as drawn" in kept.stdout


def test_a_motif_on_a_background(drawing, tmp_path):
    path = drawing(EMBLEM, "buoy.svg")
    refused = run("check", path)
    assert refused.exit_code == 2
    assert "'seamtree mend' gives it seams" in " ".join(refused.stderr.split())
    output, picture = tmp_path / "mended.svg", tmp_path / "picture.svg"
    told = mend(path, "-o", str(output), "--picture", str(picture))
    assert told.exit_code == 0, told.output
    assert "as drawn: 2 patches; at 1 place no seam reaches what is drawn" in told.stdout.splitlines()
    assert "mended: 5 patches, 1 unit, no hard corners" in told.stdout
    assert run("check", str(output)).exit_code == 0
    # Her own file, with a layer more.
    text = output.read_text(encoding="utf-8")
    start, end = text.index('<g id="added-seams"'), text.index("</g>\n", text.index('<g id="added-seams"')) + 5
    assert text[:start] + text[end:] == EMBLEM
    assert "#d1006c" in picture.read_text(encoding="utf-8")


def test_a_picture_may_be_a_png(drawing, tmp_path):
    path = drawing(EMBLEM, "buoy.svg")
    picture = tmp_path / "picture.png"
    told = mend(path, "--picture", str(picture))
    assert told.exit_code == 0, told.output
    assert picture.read_bytes()[:4] == b"\x89PNG"
    told = mend(path, "--picture", str(tmp_path / "picture.pdf"))
    assert told.exit_code == 2
    assert "its name has to end in .svg or .png" in " ".join(told.stderr.split())
    same = mend(path, "--picture", str(tmp_path / "b.svg"), "-o", str(tmp_path / "b.svg"))
    assert same.exit_code == 2
    assert not (tmp_path / "b.svg").exists()


def test_a_spared_fabric_that_is_not_there(drawing):
    told = mend(drawing(EMBLEM, "buoy.svg"), "--spare", "crimsn")
    assert told.exit_code == 2
    assert "the nearest name is crimson" in told.stderr


@pytest.mark.parametrize("name", ["mended.wkt", "mended.geojson", "mended.svg"])
def test_a_drawing_of_any_kind_is_written_as_any_kind(drawing, tmp_path, name):
    output = tmp_path / name
    assert mend(drawing(RING), "-o", str(output)).exit_code == 0
    (block,) = seamtree.read(output)
    assert len(block.patches) == 6


def test_merging_drops_a_seam(tmp_path):
    shapes = [("#1f3a5f", "M0 0H2V2H0Z"), ("#1f3a5f", "M2 0H4V4H0V2H2Z"), ("#87ceeb", "M4 0H6V4H4Z")]
    path = tmp_path / "drawing.svg"
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="4in" viewBox="0 0 6 4">'
        + "".join(f'<path fill="{fill}" d="{d}"/>' for fill, d in shapes)
        + "</svg>",
        encoding="utf-8",
    )
    told = mend(str(path), "--merge", "-o", str(tmp_path / "mended.svg"))
    assert told.exit_code == 0, told.output
    assert "drop the seam between" in told.stdout
    assert "mended: 2 patches, 1 unit, no hard corners" in told.stdout
    (block,) = seamtree.read(tmp_path / "mended.svg")
    assert len(block.patches) == 2


def test_every_block_of_a_drawing_is_mended(drawing, tmp_path):
    output = tmp_path / "mended.svg"
    told = mend(drawing(TWO_RINGS), "--json", "-o", str(output))
    assert told.exit_code == 0
    answer = json.loads(told.stdout)
    assert [entry["block"] for entry in answer["alternatives"]] == ["drawing 1", "drawing 2"]
    assert [len(block.patches) for block in seamtree.read(output)] == [6, 6]


def test_a_drawing_from_standard_input():
    told = mend("-", "--json", input=RING)
    assert told.exit_code == 0
    assert json.loads(told.stdout)["source"] == "-"


@pytest.mark.parametrize("text", [GAP, HOLE, "POLYGON", ""])
def test_a_faulty_drawing_is_refused(drawing, tmp_path, text):
    output = tmp_path / "mended.svg"
    told = mend(drawing(text), "-o", str(output))
    assert told.exit_code == 2
    assert told.stdout == ""
    assert told.stderr.startswith(str(tmp_path / "drawing.wkt"))
    assert not output.exists()


# -- slips of the hand ---------------------------------------------------------------------------------------------

SLIPPED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 8 8">'
    '<g fill="none" stroke="#000"><path id="frame" d="M0 0H8V8H0Z"/><path id="mast" d="M3 0V8"/>'
    '<path id="boom" d="M3.1 4H8"/></g></svg>'
)


def test_slips_are_mended_first(drawing, tmp_path):
    path, output = drawing(SLIPPED, "dinghy.svg"), tmp_path / "mended.svg"
    told = mend(path, "--within", "0.15in", "-o", str(output))
    assert told.exit_code == 0, told.output
    assert "mended first: 1 slip of the hand" in told.stdout.splitlines()
    assert "close the gap at boom at 3.00, 4.00: moved by 0.10 in" in told.stdout
    assert "without them: 3 patches, 1 unit, no hard corners" in told.stdout.splitlines()
    assert output.read_text(encoding="utf-8") == SLIPPED.replace("M3.1 4H8", "M3 4 L8 4")
    answer = json.loads(mend(path, "--within", "4mm", "--json").stdout)
    assert answer["blocks"][0]["slips"] == [{"at": [3.0, 4.0], "kind": "gap", "distance": 0.1, "shape": "boom"}]


def test_a_slip_that_is_too_large_is_a_fault_with_the_size_that_would_do(drawing, tmp_path):
    output = tmp_path / "mended.svg"
    for size in ((), ("--within", "0.05in")):
        told = mend(drawing(SLIPPED, "dinghy.svg"), *size, "-o", str(output))
        assert told.exit_code == 2
        assert told.stdout == ""
        assert "The end of boom at (3.10, 4.00) in meets nothing" in " ".join(told.stderr.split())
        assert "'--within 0.1in' would mend it" in " ".join(told.stderr.split())
        assert not output.exists()


def test_a_bend_that_costs_hard_corners_is_told(drawing):
    bent = SLIPPED.replace("M3 0V8", "M3 0V5L3.06 6L3 8").replace("M3.1 4", "M3 4")
    told = mend(drawing(bent, "dinghy.svg"))
    assert told.exit_code == 1, told.output
    assert "perhaps by a slip of the hand: --within 0.06in mends that first." in " ".join(told.stdout.split())
    assert mend(drawing(bent, "dinghy.svg"), "--within", "0.1").exit_code == 0


def test_a_frame_that_was_not_drawn_comes_in_the_layer(drawing, tmp_path):
    text = SLIPPED.replace('<path id="frame" d="M0 0H8V8H0Z"/>', "").replace("M3.1 4H8", "M3 4H8M3 2H0")
    output = tmp_path / "mended.svg"
    told = mend(drawing(text, "dinghy.svg"), "--within", "0.15", "-o", str(output))
    assert told.exit_code == 0, told.output
    assert "draw the frame" in told.stdout
    assert 'id="added-seams"' in output.read_text(encoding="utf-8")
    assert run("check", str(output)).exit_code == 0


def test_a_drawing_that_is_not_there(tmp_path):
    told = mend(str(tmp_path / "gone.svg"))
    assert told.exit_code == 2
    assert told.stdout == ""
    assert "No such file" in told.stderr


def test_the_drawing_itself_is_never_overwritten(drawing, tmp_path):
    path = drawing(CURVE, "buoy.svg")
    os.link(path, tmp_path / "other name.svg")
    for name in (path, str(tmp_path / "other name.svg")):
        told = mend(path, "-o", name)
        assert told.exit_code == 2
        assert "would overwrite the drawing itself" in told.stderr
    assert Path(path).read_text(encoding="utf-8") == CURVE


@pytest.mark.parametrize("name", ["mended.dxf", "mended", "no folder/mended.svg", "folder.svg"])
def test_a_file_that_cannot_be_written_is_refused_before_any_work(drawing, tmp_path, name):
    (tmp_path / "folder.svg").mkdir()
    told = mend(drawing(RING), "-o", str(tmp_path / name))
    assert told.exit_code == 2
    assert told.stdout == ""
    assert told.stderr.count("\n") == 1


def test_a_file_is_written_whole_or_not_at_all(drawing, tmp_path, monkeypatch):
    output = tmp_path / "mended.svg"
    output.write_text("before", encoding="utf-8")

    def fail(*_arguments):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", fail)
    told = mend(drawing(RING), "-o", str(output))
    assert told.exit_code == 2
    assert "No space left on device" in told.stderr
    assert output.read_text(encoding="utf-8") == "before"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["drawing.wkt", "mended.svg"]


@pytest.mark.parametrize(
    "arguments",
    [
        ("--alternatives", "0"),
        ("--alternatives", "6"),
        ("--curve-tolerance", "0"),
        ("--curve-tolerance", "nan"),
        ("--units", "1", "--merge"),
        ("--units", "0"),
        ("--frontier", "--merge"),
        ("--merge", "--spare", "crimson"),
        ("--time-limit", "-1"),
        ("--within", "0"),
        ("--within", "0.01"),
        ("--within", "a little"),
    ],
)
def test_options_that_make_no_sense(drawing, arguments):
    told = mend(drawing(RING), *arguments)
    assert told.exit_code == 2
    assert told.stdout == ""
    assert "Traceback" not in told.output
