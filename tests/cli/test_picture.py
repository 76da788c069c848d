from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.cli.running import run

SAMPLES = Path(__file__).parents[2] / "samples"
SVG = "{http://www.w3.org/2000/svg}"


def written(target):
    return ET.fromstring(target.read_bytes())  # noqa: S314 -- our own file


@pytest.mark.parametrize(("sample", "status"), [("buoy.svg", 0), ("mackerel.wkt", 0), ("tide-pool.svg", 1)])
def test_svg(tmp_path, sample, status):
    target = tmp_path / "out.svg"
    done = run("picture", SAMPLES / sample, "-o", target)
    assert done.exit_code == status
    assert " ".join(done.stdout.split()).startswith("written:")
    assert done.stderr == ""
    assert written(target).find(f"{SVG}title").text == Path(sample).stem
    assert [path.name for path in tmp_path.iterdir()] == ["out.svg"]


def test_png(tmp_path):
    small, large = tmp_path / "small.PNG", tmp_path / "large.png"
    assert run("picture", SAMPLES / "dinghy.svg", "-o", small, "--resolution", "50").exit_code == 0
    assert run("picture", SAMPLES / "dinghy.svg", "-o", large, "--resolution", "100").exit_code == 0
    assert small.read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    widths = [int.from_bytes(path.read_bytes()[16:20], "big") for path in (small, large)]
    assert widths[1] == pytest.approx(2 * widths[0], abs=2)


def test_fabrics(tmp_path):
    units, fabrics = tmp_path / "units.svg", tmp_path / "fabrics.svg"
    run("picture", SAMPLES / "buoy.svg", "-o", units)
    run("picture", SAMPLES / "buoy.svg", "-o", fabrics, "--fabrics")
    assert "dark teal" in {text.text for text in written(fabrics).iter(f"{SVG}text")}
    assert "dark teal" not in {text.text for text in written(units).iter(f"{SVG}text")}


def test_all_blocks_of_a_drawing_are_in_one_picture(tmp_path):
    target = tmp_path / "huts.svg"
    assert run("picture", SAMPLES / "beach-huts.svg", "-o", target).exit_code == 0
    said = [text.text for text in written(target).iter(f"{SVG}text")]
    assert {"beach-huts 1", "beach-huts 2", "beach-huts 3"} <= set(said)
    assert said.count("A1") == 3


def test_width_and_standard_input(tmp_path):
    target = tmp_path / "out.svg"
    done = run("picture", "-", "-o", target, "--width", "9", input="POLYGON ((0 0, 3 0, 3 2, 0 2, 0 0))")
    assert done.exit_code == 0
    assert any((text.text or "").startswith("9 × 6 in") for text in written(target).iter(f"{SVG}text"))


def test_faulty_drawing_makes_no_file_and_leaves_an_old_one_alone(tmp_path):
    target = tmp_path / "out.svg"
    target.write_text("old", encoding="utf-8")
    done = run("picture", SAMPLES / "faulty-gap.svg", "-o", target)
    assert done.exit_code == 2
    assert "gap" in done.stderr
    assert done.stdout == ""
    assert [path.name for path in tmp_path.iterdir()] == ["out.svg"]
    assert target.read_text(encoding="utf-8") == "old"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("-o", "out.jpg"), "has to end in .svg or .png, not 'out.jpg'"),
        (("-o", "out"), "has to end in .svg or .png"),
        (("-o", "nowhere/out.svg"), "there is no folder 'nowhere'"),
        (("-o", "out.png", "--resolution", "0"), "1 to 20,000 each way"),
        (("-o", "out.png", "--resolution", "nan"), "1 to 20,000 each way"),
        (("-o", "out.svg", "--time-limit", "0"), "time limit"),
        (("-o", "buoy.svg"), "would overwrite the drawing itself"),
    ],
)
def test_misuse(tmp_path, monkeypatch, arguments, said):
    monkeypatch.chdir(tmp_path)
    drawing = tmp_path / "buoy.svg"
    drawing.write_bytes((SAMPLES / "buoy.svg").read_bytes())
    done = run("picture", drawing, *arguments)
    assert done.exit_code == 2
    assert said in done.stderr
    assert len(done.stderr.splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["buoy.svg"]
    assert drawing.read_bytes() == (SAMPLES / "buoy.svg").read_bytes()


def test_pictures_in_the_json_of_check():
    done = run("check", SAMPLES / "beach-huts.svg", SAMPLES / "sea-star.svg", "--json", "--picture")
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    blocks = [block for answer in answers for block in answer["blocks"]]
    assert len(blocks) == 4
    for block in blocks:
        root = ET.fromstring(block["picture"])  # noqa: S314 -- our own text
        assert root.find(f"{SVG}title").text == block["name"]
        assert root.get("role") == "img"
    ids = [ET.fromstring(b["picture"]).find(f"{SVG}title").get("id") for b in answers[0]["blocks"]]  # noqa: S314
    assert len(set(ids)) == 3


def test_without_the_option_json_has_no_pictures():
    for more in ((), ("--no-picture",)):
        (line,) = run("check", SAMPLES / "dinghy.svg", "--json", *more).stdout.splitlines()
        assert "picture" not in json.loads(line)["blocks"][0]
