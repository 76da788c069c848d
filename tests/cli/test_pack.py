"""The command as its users meet it, from the arguments to the exit status and the files."""

from __future__ import annotations

import json
from pathlib import Path

import pypdf
import pytest

import seamtree
from tests.cli.running import run
from tests.support.wkt import CORNER, FOUR_PATCH, GAP, HOLE, RING

SAMPLES = Path(__file__).parents[2] / "samples"


def pack(*arguments, **more):
    return run("pack", *arguments, **more)


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def text_of(path):
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


def test_a_pack_is_written(drawing, tmp_path):
    output = tmp_path / "four.pdf"
    told = pack(drawing(FOUR_PATCH), "-o", str(output))
    assert told.exit_code == 0, told.output
    assert told.stderr == ""
    assert told.stdout.splitlines() == ["drawing, 6 × 6 in: 4 patches, 2 units", f"written: {output}"]
    assert names(tmp_path) == ["drawing.wkt", "four.pdf"]
    assert "Unit B" in text_of(output)


def test_foundations_come_one_by_one(drawing, tmp_path):
    folder = tmp_path / "foundations"
    told = pack(drawing(FOUR_PATCH), "--svg", str(folder), "--allowance", "1cm")
    assert told.exit_code == 0, told.output
    assert names(folder) == ["drawing-A.svg", "drawing-B.svg"]
    (block,) = seamtree.read(folder / "drawing-A.svg")
    assert (sorted((block.width, block.height)), len(block.patches)) == ([3, 6], 2)
    again = pack(
        drawing(FOUR_PATCH), "--svg", str(folder), "-o", str(tmp_path / "four.pdf"), "--pages", "foundations"
    )
    assert again.exit_code == 0
    assert names(folder) == ["drawing-A.svg", "drawing-B.svg"]


def test_some_pages_and_paper(drawing, tmp_path):
    output = tmp_path / "four.pdf"
    assert pack(drawing(FOUR_PATCH), "-o", str(output), "--pages", "foundations", "--paper", "LETTER").exit_code == 0
    pages = pypdf.PdfReader(output).pages
    assert all((page.mediabox.width, page.mediabox.height) == (612, 792) for page in pages)
    assert all("Foundations, sheet" in page.extract_text() for page in pages)


@pytest.mark.parametrize("text", [CORNER, RING])
def test_hard_corners_are_packed_with_their_warnings(drawing, tmp_path, text):
    output = tmp_path / "corner.pdf"
    told = pack(drawing(text), "-o", str(output))
    assert told.exit_code == 1, told.output
    assert "warning: " in told.stdout
    assert "Take note: places are inches from the top left corner" in " ".join(text_of(output).split())


@pytest.mark.parametrize("text", [GAP, HOLE, "POLYGON", ""])
def test_a_faulty_drawing_makes_no_file(drawing, tmp_path, text):
    told = pack(drawing(text), "-o", str(tmp_path / "x.pdf"), "--svg", str(tmp_path / "x"))
    assert told.exit_code == 2
    assert told.stdout == ""
    assert told.stderr.startswith(str(tmp_path / "drawing.wkt"))
    assert names(tmp_path) == ["drawing.wkt"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "say where to write"),
        (("-o", "x.svg"), "has to end in .pdf"),
        (("-o", "no folder/x.pdf"), "there is no folder"),
        (("--svg", "no folder/x"), "there is no folder"),
        (("-o", "x.pdf", "--paper", "foolscap"), "there is no paper 'foolscap'"),
        (("-o", "x.pdf", "--allowance", "wide"), "'wide' is no length"),
        (("-o", "x.pdf", "--allowance", "0"), "seam allowance must be above 0"),
        (("-o", "x.pdf", "--margin", "9in"), "must be between"),
        (("-o", "x.pdf", "--margin", "1/8in"), "part of the margin"),
        (("-o", "x.pdf", "--copies", "0"), "copies must be 1 to"),
        (("-o", "x.pdf", "--pages", "cover"), "there are no pages 'cover'"),
        (("-o", "x.pdf", "--fabric-width", "1in"), "must be between"),
        (("-o", "x.pdf", "--round-up", "0"), "must be between"),
        (("-o", "x.pdf", "--width", "500"), "is the width of the drawing right"),
    ],
)
def test_misuse_is_told_and_makes_no_file(drawing, tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    told = pack(drawing(FOUR_PATCH), *arguments)
    assert told.exit_code == 2
    assert said in told.stderr
    assert told.stderr.count("\n") == 1
    assert names(tmp_path) == ["drawing.wkt"]


def test_what_makes_no_sense_is_refused_before_the_drawing_is_read(tmp_path):
    told = pack(str(tmp_path / "nowhere.svg"), "-o", str(tmp_path / "x.pdf"), "--margin", "9in")
    assert told.exit_code == 2
    assert "the margin of the pieces must be between" in told.stderr


def test_a_folder_that_is_a_file_is_refused(drawing, tmp_path):
    path = drawing(FOUR_PATCH)
    told = pack(path, "--svg", path)
    assert told.exit_code == 2
    assert "is a file, not a folder" in told.stderr


def test_one_fabric_has_one_column_on_the_first_page(drawing, tmp_path):
    one, two = tmp_path / "one.pdf", tmp_path / "two.pdf"
    assert pack(drawing(FOUR_PATCH), "-o", str(one)).exit_code == 0
    assert pack(str(SAMPLES / "buoy.svg"), "-o", str(two)).exit_code == 0
    first = [pypdf.PdfReader(path).pages[0].extract_text().split() for path in (one, two)]
    assert [words.count("Buy") for words in first] == [1, 2]


def test_how_pieces_are_cut_is_up_to_the_user(drawing, tmp_path):
    output = tmp_path / "four.pdf"
    told = pack(
        drawing(FOUR_PATCH), "-o", str(output), "--margin", "3/4in", "--round-up", "1in", "--fabric-width", "11in"
    )
    assert told.exit_code == 0
    text = " ".join(text_of(output).split())
    assert "more than its patch all round, allowance included, rounded up to the next 1 in" in text
    # Patches of 3 in and twice 3/4 in are 4 1/2, so 5 in; two of them to a strip of 11 in.
    assert "2 of 5 in 4 5 × 5 in A1, A2, B1, B2" in text


def test_all_blocks_of_a_drawing_are_in_one_pack(tmp_path):
    told = pack(str(SAMPLES / "beach-huts.svg"), "-o", str(tmp_path / "huts.pdf"))
    assert told.exit_code == 0
    text = text_of(tmp_path / "huts.pdf")
    assert all(f"beach-huts {n}" in text for n in (1, 2, 3))


def test_several_drawings_are_one_pack(drawing, tmp_path):
    (tmp_path / "wall").mkdir()
    one, other = drawing(FOUR_PATCH), tmp_path / "wall" / "rope.wkt"
    other.write_text("POLYGON ((0 0, 5 0, 5 3, 0 3, 0 0))\nPOLYGON ((0 3, 5 3, 5 5, 0 5, 0 3))", encoding="utf-8")
    output = tmp_path / "harbour wall.pdf"
    told = pack(one, str(other), "-o", str(output), "--copies", "3", "--json")
    assert told.exit_code == 0, told.stderr
    answer = json.loads(told.stdout)
    assert {unit["block"] for unit in answer["units"]} == {"drawing", "rope"}
    assert {unit["copies"] for unit in answer["units"]} == {3}
    text = text_of(output)
    assert text.startswith("harbour wall")
    assert text.count("What you need") == text.count("Cutting list\n") - 1 == 1  # once more in the contents
    assert "drawing × 3" in text
    assert "rope × 3" in text
    assert "Foundations of rope" in text


def test_one_faulty_drawing_of_several_makes_no_pack(drawing, tmp_path):
    faulty = tmp_path / "faulty.wkt"
    faulty.write_text(GAP, encoding="utf-8")
    told = pack(drawing(FOUR_PATCH), str(faulty), "-o", str(tmp_path / "x.pdf"))
    assert told.exit_code == 2
    assert told.stderr.startswith(str(faulty))
    assert not (tmp_path / "x.pdf").exists()


def test_a_drawing_from_standard_input(tmp_path):
    told = pack("-", "-o", str(tmp_path / "x.pdf"), "--pages", "foundations", input=FOUR_PATCH)
    assert told.exit_code == 0
    assert names(tmp_path) == ["x.pdf"]


def test_places_in_centimetres_are_the_same_on_paper_and_on_the_terminal(tmp_path):
    bent = (
        "<svg xmlns='http://www.w3.org/2000/svg' width='6in' height='6in' viewBox='0 0 6 6' fill='none' "
        "stroke='#000'><path d='M0 0H6V6H0Z M1.757 0V3.333H6'/></svg>"
    )
    out = tmp_path / "x.pdf"
    told = pack("-", "-o", str(out), "--metric", "--pages", "first", input=bent)
    paper = " ".join(pypdf.PdfReader(out).pages[0].extract_text().split())
    assert "set-in corner at 4.46, 8.47" in " ".join(told.stdout.split())
    assert "set-in corner at 4.46, 8.47" in paper


def test_warnings_are_in_centimetres_with_metric(drawing, tmp_path):
    arguments = (drawing(CORNER), "-o", str(tmp_path / "x.pdf"), "--pages", "cutting")
    inches, metric = pack(*arguments), pack(*arguments, "--metric")
    (there,), (here,) = (
        [line for line in told.stdout.splitlines() if "set-in corner at" in line] for told in (inches, metric)
    )
    place, converted = (line.split(" at ")[1].split(" (")[0].split(", ") for line in (there, here))
    assert [float(n) for n in converted] == pytest.approx([2.54 * float(n) for n in place], abs=0.02)


def test_warnings_of_a_pattern_file_name_its_keys(tmp_path):
    (tmp_path / "small.wkt").write_text("POLYGON ((0 0, 1 0, 1 1, 0 1, 0 0))", encoding="utf-8")
    pattern = tmp_path / "small.toml"
    pattern.write_text('[[block]]\ndrawing = "small.wkt"\nwidth = 1\n', encoding="utf-8")
    told = pack(str(pattern), "-o", str(tmp_path / "x.pdf"), "--pages", "foundations")
    warning = " ".join(told.stdout.split())
    assert "`width` gives the finished width" in warning
    assert "--width" not in warning
