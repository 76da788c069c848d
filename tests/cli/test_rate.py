"""The command as its users meet it, from the arguments to the exit status."""

from __future__ import annotations

import csv
import io
import json
import re
from dataclasses import replace

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan
from seamtree.rating import Lesson, default_scale, plan_course, rate, scale_text
from seamtree.rating.lessons import sections_of
from seamtree_cli.rating_tables import render_course, render_rating
from tests.cli.hand_made import dinghy, rope_ring
from tests.cli.running import run
from tests.cli.test_sewing_tree import check_snapshot, printed
from tests.support import layouts
from tests.support.wkt import CURVE, FOUR_PATCH, GAP, RING, TWO_RINGS


def rated(*arguments, **more):
    return run("rate", *arguments, **more)


@pytest.mark.parametrize(("name", "made"), [("rating_dinghy", dinghy), ("rating_rope_ring", rope_ring)])
def test_what_is_printed(name, made):
    check_snapshot(name, printed(*render_rating(rate(made()), default_scale())))


def test_a_course_is_printed():
    named = {
        "logs.svg": layouts.log_cabin(2),
        "four.svg": layouts.squares(2, 2),
        "wedges.svg": layouts.kaleidoscope(),
    }
    lessons = [
        Lesson(f"lessons/{name}", (rate(plan(layouts.at_width(p, 8.0)), changes=False),)) for name, p in named.items()
    ]
    lessons.append(replace(lessons[1], source="lessons/raft.svg"))
    course = plan_course(lessons)
    sections = sections_of(course, default_scale())
    shown = render_course(sections, lambda source: source.partition("/")[2], practice=1, proven=course.proven)
    check_snapshot("rating_course", printed(*shown))


def test_a_better_plan_may_exist():
    block = block_from_polygons(layouts.squares(2, 2))
    text = printed(*render_rating(rate(replace(plan(block), proven=False)), default_scale()))
    assert "a better one may be easier" in text
    assert "not proven" in printed(*render_course([], str, practice=1, proven=False))


def test_the_table_adds_up_as_printed(drawing):
    told = rated(drawing(RING, "rope ring.wkt"))
    assert (told.exit_code, told.stderr) == (0, "")
    lines = told.stdout.splitlines()
    assert lines[0] == "rope ring, 6 × 6 in"
    assert lines[1].startswith("level 2 of 5, confident beginner: ")
    start, end = (next(k for k, line in enumerate(lines) if line.startswith(word)) for word in ("what", "together"))
    points = [
        float(next(w for w in reversed(line.split("  ")[:]) if _is_points(w))) for line in lines[start + 1 : end]
    ]
    assert round(sum(points), 1) == float(lines[end].split()[-1])


def _is_points(word: str) -> bool:
    try:
        return "." in word and float(word) >= 0
    except ValueError:
        return False


def test_json(drawing):
    told = rated(drawing(TWO_RINGS), "--json")
    assert told.exit_code == 0
    (line,) = told.stdout.splitlines()
    answer = json.loads(line)
    assert answer["schema"] == "seamtree-rating/1"
    assert len(answer["blocks"]) == 2
    for block in answer["blocks"]:
        assert set(block) == {
            "name", "width", "height", "level", "levels", "word", "score", "proven", "features", "changes", "skills",
            "minutes",
        }  # fmt: skip
        assert block["level"] == 2
        assert round(sum(part["points"] for part in block["features"]), 1) == block["score"]
        assert set(block["features"][0]) == {"feature", "value", "points", "at", "patches"}
        assert block["features"][0]["feature"] == "partial"
        assert set(block["changes"][0]) == {"change", "text", "points", "level", "changes_design"}
        assert "partial seam" in block["skills"]


def test_json_has_no_infinite_length(drawing):
    told = rated(drawing("POLYGON ((0 0, 4 0, 4 4, 0 4, 0 0))"), "--json")
    (block,) = json.loads(told.stdout)["blocks"]
    values = {part["feature"]: part["value"] for part in block["features"]}
    assert values["shortest_seam"] is None
    assert (block["level"], block["score"], block["changes"]) == (1, 0.0, [])


def test_smaller_is_harder(drawing):
    path = drawing(FOUR_PATCH)
    scores = [json.loads(rated(path, "--json", "--width", w).stdout)["blocks"][0]["score"] for w in ("12", "3", "1")]
    assert scores == sorted(set(scores))


def test_a_curve_is_rated(drawing):
    told = rated(drawing(CURVE, "pool.svg"))
    assert told.exit_code == 0
    assert "level 3 of 5, intermediate" in told.stdout
    assert "curved seams" in told.stdout


def test_a_scale_of_ones_own(drawing, tmp_path):
    scale = tmp_path / "my-class.toml"
    scale.write_text(
        rated("--print-scale").stdout.replace('word = "beginner"', 'word = "deck hand"'), encoding="utf-8"
    )
    told = rated(drawing(FOUR_PATCH), "--scale", str(scale))
    assert "level 1 of 5, deck hand" in told.stdout


def test_the_printed_scale_is_the_one_that_comes_along():
    told = rated("--print-scale")
    assert (told.exit_code, told.stdout) == (0, scale_text("machine"))


def test_a_faulty_scale_stops_before_any_work(tmp_path):
    scale = tmp_path / "my-class.toml"
    scale.write_text("[points]\nunits = 3", encoding="utf-8")
    told = rated("nowhere.svg", "--scale", str(scale))
    assert (told.exit_code, told.stdout) == (2, "")
    assert told.stderr.count("\n") == 1
    assert "my-class.toml', level: there have to be 1 to 20 tables [[level]]" in told.stderr


@pytest.mark.parametrize(
    "arguments",
    [[], ["a.svg", "--print-scale"], ["a.svg", "--course", "."], ["--course", ".", "--print-scale"]],
    ids=["nothing", "drawing and scale", "drawing and course", "course and scale"],
)
def test_one_thing_at_a_time(arguments):
    told = rated(*arguments)
    assert (told.exit_code, told.stdout) == (2, "")
    assert "one of the three" in told.stderr


def test_printing_the_scale_takes_no_file():
    told = rated("--print-scale", "--scale", "x.toml")
    assert told.exit_code == 2
    assert "--scale machine or --scale hand" in told.stderr


def test_the_scale_for_piecing_by_hand(drawing, tmp_path):
    assert rated("--print-scale", "--scale", "hand").stdout == scale_text("hand")
    told = rated(drawing(RING, "rope ring.wkt"), "--scale", "hand")
    assert told.exit_code == 0
    assert "closing a seam later" in told.stdout


# -- times ----------------------------------------------------------------------------------------------------


@pytest.fixture
def harbour(tmp_path):
    for name, text in [("ring.wkt", RING), ("four.wkt", FOUR_PATCH), ("gap.wkt", GAP)]:
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def minutes(told) -> dict:
    return json.loads(told.stdout)["blocks"][0]["minutes"]


def test_times_of_a_class_calibrate_the_estimate(harbour):
    four = str(harbour / "four.wkt")
    before = minutes(rated(four, "--json"))
    assert before["spread"] is None
    assert before["together"] == sum(before["parts"].values())
    times = harbour / "class.csv"
    times.write_text(f"Drawing;Minutes;Width\r\nfour.wkt;{2 * before['together']};\r\nfour.wkt;50,5;12in\r\n")
    told = rated(four, "--json", "--times", str(times))
    assert told.exit_code == 0
    assert told.stderr.startswith(f"{times}: 2 times: all minutes × ")
    assert minutes(told)["together"] > before["together"]
    assert minutes(told)["spread"] > 0
    assert "two of three sewists" in rated(four, "--times", str(times)).stdout


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("drawing,width\nfour.wkt,8\n", "have no column minutes; the first row has to be drawing,minutes"),
        ("", "have no column drawing and minutes"),
        ("drawing,minutes\n", "have no rows"),
        ("drawing,minutes\nfour.wkt,soon\n", "row 2: minutes have to be a number above 0, like 95, not 'soon'"),
        ("drawing,minutes\nfour.wkt,0\n", "row 2: minutes have to be a number above 0"),
        ("drawing,minutes\n\n,20\n", "row 3: it names no drawing"),
        ("drawing,minutes,width\nfour.wkt,20,wide\n", "row 2: 'wide' is no length"),
        ("drawing,minutes\nfour.wkt,20\ngap.wkt,20\n", "row 3: 'gap.wkt': There is a gap"),
        ("drawing,minutes\nnowhere.wkt,20\n", "row 2: 'nowhere.wkt': "),
        ("drawing,minutes\n\udcff,20\n", "are no text in UTF-8"),
    ],
)
def test_times_that_make_no_sense(harbour, text, message):
    times = harbour / "class.csv"
    times.write_bytes(text.encode("utf-8", "surrogateescape"))
    told = rated(str(harbour / "four.wkt"), "--times", str(times))
    assert (told.exit_code, told.stdout) == (2, "")
    assert message in told.stderr
    assert told.stderr.count("\n") == 1


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_a_calibrated_scale_is_a_scale(harbour, ends):
    four = str(harbour / "four.wkt")
    times, mine, saved = harbour / "class.csv", harbour / "mine.toml", harbour / "saved.toml"
    times.write_text("drawing,minutes,width\nfour.wkt,20,\nfour.wkt,61,12\nring.wkt,80,\n")
    mine.write_text(scale_text("machine").replace("patches = 0.8", "patches = 1  # ours").replace("\n", ends))
    for number in range(2):  # what was calibrated can be calibrated once more
        told = rated("--print-scale", "--times", str(times), "--scale", str(mine if number == 0 else saved))
        assert told.exit_code == 0
        assert "3 times: all minutes × " in told.stderr
        saved.write_text(told.stdout)
    assert told.stdout.count("spread") == 1
    assert "# ours" in told.stdout
    assert "# Minutes, for an estimate" in told.stdout
    once = rated(four, "--json", "--times", str(times), "--scale", str(mine))
    again = rated(four, "--json", "--scale", str(saved))
    assert minutes(again)["together"] == pytest.approx(minutes(once)["together"], rel=0.01)
    assert minutes(again)["spread"] == pytest.approx(minutes(once)["spread"], rel=0.01)
    kept = json.loads(rated(four, "--json", "--scale", str(mine)).stdout)["blocks"][0]
    assert kept["features"] == json.loads(again.stdout)["blocks"][0]["features"]


def test_minutes_on_one_line_cannot_be_replaced(harbour):
    times, mine = harbour / "class.csv", harbour / "mine.toml"
    times.write_text("drawing,minutes\nfour.wkt,20\n")
    text = scale_text("machine")
    mine.write_text("minutes = {cutting = {patches = 1}}\n" + text[: text.index("# Minutes, for an estimate")])
    told = rated("--print-scale", "--times", str(times), "--scale", str(mine))
    assert (told.exit_code, told.stdout) == (2, "")
    assert "write each part as a table of its own" in told.stderr


def test_times_need_a_file_and_minutes(harbour):
    four = str(harbour / "four.wkt")
    assert "cannot be read" in rated(four, "--times", str(harbour / "nowhere.csv")).stderr
    times, scale = harbour / "class.csv", harbour / "my-class.toml"
    times.write_text("drawing,minutes\nfour.wkt,20\n")
    text = scale_text("machine")
    scale.write_text(text[: text.index("# Minutes, for an estimate")])
    told = rated(four, "--times", str(times), "--scale", str(scale))
    assert told.exit_code == 2
    assert "has no minutes to calibrate" in told.stderr
    assert "time:" not in rated(four, "--scale", str(scale)).stdout


def test_a_faulty_drawing_does_not_stop_the_others(drawing):
    told = rated(drawing(GAP, "gap.wkt"), drawing(FOUR_PATCH, "four.wkt"), "nowhere.svg")
    assert told.exit_code == 2
    assert "level 1 of 5" in told.stdout
    assert "gap.wkt: There is a gap" in told.stderr
    assert "nowhere.svg: " in told.stderr


# -- courses --------------------------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "lessons"
    place.mkdir()
    for name, text in [("ring.wkt", RING), ("four.wkt", FOUR_PATCH), ("notes.txt", "no drawing")]:
        (place / name).write_text(text, encoding="utf-8")
    return place


def test_a_course(folder):
    told = rated("--course", str(folder))
    assert (told.exit_code, told.stderr) == (0, "")
    lines = told.stdout.splitlines()
    assert lines[0] == "2 lessons, 3 skills, no blocks for practice"
    assert lines[2] == "level 1, beginner"
    assert lines[4].split()[:2] == ["1", "four.wkt"]
    assert "partial seam (builds on 1)" in told.stdout
    assert "proven: " in told.stdout


def test_a_course_as_json_is_the_same_with_more_workers(folder):
    one, two = (rated("--course", str(folder), "--json", "--workers", n) for n in ("1", "2"))
    assert one.stdout == two.stdout
    steps = [json.loads(line) for line in one.stdout.splitlines()]
    assert [step["step"] for step in steps] == [1, 2]
    assert [step["source"].rpartition("/")[2] for step in steps] == ["four.wkt", "ring.wkt"]
    assert steps[1]["new_skills"] == ["partial seam"]
    assert [(step["lesson"], step["section"], step["builds_on"]) for step in steps] == [(1, 1, []), (2, 2, [1])]


def test_a_course_leaves_faulty_drawings_out(folder):
    (folder / "gap.wkt").write_text(GAP, encoding="utf-8")
    told = rated("--course", str(folder))
    assert told.exit_code == 2
    assert told.stdout.startswith("2 lessons")
    assert "There is a gap" in told.stderr


@pytest.mark.parametrize("name", ["nowhere", "lessons/four.wkt", "empty"])
def test_a_course_needs_a_folder_with_drawings(folder, name):
    (folder.parent / "empty").mkdir()
    told = rated("--course", str(folder.parent / name))
    assert (told.exit_code, told.stdout) == (2, "")
    assert "there is no folder" in told.stderr or "there are no drawings below" in told.stderr


def test_nothing_but_faults_prints_no_course(tmp_path):
    (tmp_path / "gap.wkt").write_text(GAP, encoding="utf-8")
    told = rated("--course", str(tmp_path))
    assert (told.exit_code, told.stdout) == (2, "")


def test_a_course_as_a_page_and_a_table(folder, tmp_path):
    (folder / "=cmd.wkt").write_text(FOUR_PATCH, encoding="utf-8")
    page, table = tmp_path / "course.html", tmp_path / "course.csv"
    told = rated("--course", str(folder), "--report", str(page), "--csv", str(table))
    assert told.exit_code == 0
    assert told.stderr == f"written: {page}\nwritten: {table}\n"
    text = page.read_text(encoding="utf-8")
    assert "<h1>A course of lessons</h1>" in text
    assert "Lesson 2: ring.wkt" in text
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"))))
    assert [(row["step"], row["lesson"], row["kind"]) for row in rows] == [
        ("1", "1", "lesson"), ("2", "1", "practice"), ("3", "2", "lesson")
    ]  # fmt: skip
    assert rows[0]["drawing"] == "'=cmd.wkt"  # no formula
    assert (rows[2]["new skills"], rows[2]["builds on"]) == ("partial seam", "1")
    assert all(int(row["minutes"]) > 0 and float(row["width"]) > 0 for row in rows)
    assert table.read_bytes().count(b"\r\n") == 4


def test_nothing_above_a_level(folder):
    told = rated("--course", str(folder), "--max-level", "1")
    assert told.exit_code == 0
    assert told.stderr == f"{folder}: 1 drawing above level 1 left out\n"
    assert told.stdout.startswith("1 lesson, 2 skills")
    told = rated("--course", str(folder), "--max-level", "6")
    assert (told.exit_code, told.stdout) == (2, "")
    assert "the scale has 5 levels" in told.stderr


def test_a_class_that_knows_something(folder):
    told = rated("--course", str(folder), "--json", "--start-with", "several units", "--start-with", "ring")
    steps = [json.loads(line) for line in told.stdout.splitlines()]
    assert [step["source"].rpartition("/")[2] for step in steps] == ["ring.wkt", "four.wkt"]
    assert [step["new_skills"] for step in steps] == [["partial seam"], ["matched points"]]


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("nothing", "is no drawing below"),
        ("four", "may be "),
        ("wheel.wkt", "two levels or more below"),
    ],
)
def test_what_a_course_cannot_start_with(folder, name, message):
    (folder / "again").mkdir()
    (folder / "again" / "four.wkt").write_text(FOUR_PATCH, encoding="utf-8")
    hard = "\n".join(polygon.wkt for polygon in layouts.hexagon_flower())
    (folder / "wheel.wkt").write_text(hard, encoding="utf-8")
    told = rated("--course", str(folder), "--start-with", name)
    assert (told.exit_code, told.stdout) == (2, "")
    assert message in told.stderr
    assert "Traceback" not in told.stderr


def test_a_lesson_to_start_with_is_not_left_out(folder):
    told = rated("--course", str(folder), "--start-with", "ring", "--max-level", "1")
    assert told.exit_code == 2
    assert "which is above level 1" in told.stderr


@pytest.mark.parametrize(
    "option", [["--max-level", "2"], ["--start-with", "x"], ["--report", "x.html"], ["--csv", "x.csv"]]
)
def test_what_is_for_a_course(drawing, option):
    told = rated(drawing(FOUR_PATCH), *option)
    assert (told.exit_code, told.stdout) == (2, "")
    assert "give --course as well" in told.stderr


def test_files_are_checked_before_any_work(folder):
    told = rated("--course", str(folder), "--report", str(folder / "course.txt"))
    assert (told.exit_code, told.stdout) == (2, "")
    assert "has to end in .html" in told.stderr


def test_a_scale_with_other_levels(folder, tmp_path):
    text = scale_text("machine")
    scale = tmp_path / "my-class.toml"
    levels = "".join(f"[[level]]\nword = 'grade {n}'\nfrom = {n}\n" for n in range(7))
    scale.write_text(levels + text[text.index("[points]") :], encoding="utf-8")
    told = rated("--course", str(folder), "--scale", str(scale))
    assert told.exit_code == 0
    assert "level 5, grade 4" in told.stdout
    assert "level 5 of 7, grade 4" in rated(str(folder / "ring.wkt"), "--scale", str(scale)).stdout


# -- widths and one line each ---------------------------------------------------------------------------------


def test_several_widths_in_one_table(drawing):
    path = drawing(RING, "rope ring.wkt")
    told = rated(path, "--widths", "12,1,2in,10cm")
    assert (told.exit_code, told.stderr) == (0, "")
    assert "".join(told.stdout.split()).startswith("".join(path.split()))  # however long lines are broken
    lines = told.stdout.splitlines()
    rows = [line.split() for line in lines if re.match(r" *[\d.]+ in  ", line)]
    assert [row[:2] for row in rows] == [["1", "in"], ["2", "in"], ["3.94", "in"], ["12", "in"]]
    points = [float(row[3]) for row in rows]
    assert points == sorted(points, reverse=True)
    single = json.loads(rated(path, "--json", "--width", "2").stdout)["blocks"][0]
    assert points[1] == single["score"]
    level = json.loads(rated(path, "--json", "--width", "12").stdout)["blocks"][0]["level"]
    assert f"level {level} from " in lines[-1]


def test_several_widths_as_json(drawing):
    path = drawing(FOUR_PATCH, "four.wkt")
    told = rated(path, "--widths", "4,8", "--json")
    answer = json.loads(told.stdout)
    assert (answer["schema"], answer["source"]) == ("seamtree-rating/1", path)
    assert [row["width"] for row in answer["widths"]] == [4, 8]
    assert answer["widths"][1]["blocks"] == [
        {**json.loads(rated(path, "--width", "8", "--json").stdout)["blocks"][0], "changes": []}
    ]
    assert [row["score"] for row in answer["widths"]] == sorted(
        (row["score"] for row in answer["widths"]), reverse=True
    )


def test_what_can_be_read_only_once_is_not_rated_at_several_widths():
    told = rated("-", "--widths", "4,8", input=FOUR_PATCH)
    assert (told.exit_code, told.stdout) == (2, "")
    assert "save it to a file first" in told.stderr


@pytest.mark.parametrize("options", [["--tolerance", "0"], ["--widths", "200000"]])
def test_options_are_checked_at_every_width(drawing, options):
    told = rated(drawing(FOUR_PATCH), "--widths", "4,8", *options)
    assert (told.exit_code, told.stdout) == (2, "")
    assert "must be" in told.stderr


def test_one_line_for_each_drawing(drawing):
    ring, four, gap = drawing(RING, "ring.wkt"), drawing(FOUR_PATCH, "four.wkt"), drawing(GAP, "gap.wkt")
    told = rated(ring, four, gap, "--brief")
    assert told.exit_code == 2
    assert "gap.wkt: There is a gap" in told.stderr
    lines = told.stdout.splitlines()
    assert len(lines) == 3
    assert [line.split()[0] for line in lines] == ["drawing", ring, four]
    assert "6 × 6 in" in lines[1]
    told = rated(ring, four, "--brief", "--widths", "2,8")
    assert told.exit_code == 0
    lines = told.stdout.splitlines()
    assert lines[0].split()[:5] == ["drawing", "2", "in", "8", "in"]
    assert len(lines) == 3


def test_a_width_at_which_a_drawing_cannot_be_rated_is_told(drawing):
    # Two rings a quarter of an inch apart and more at 12 in, and too close to each other at 2 in.
    path = drawing(TWO_RINGS, "rings.wkt")
    told = rated(path, "--widths", "1,20")
    assert told.exit_code == 2
    assert "apart" in told.stdout
    brief = rated(path, "--widths", "1,20", "--brief")
    assert brief.exit_code == 2
    assert f"{path}: 1 in wide: " in brief.stderr
    assert "–" in brief.stdout
    everywhere = rated(drawing(GAP, "gap.wkt"), "--widths", "4,6")
    assert (everywhere.exit_code, everywhere.stdout) == (2, "")
    assert "There is a gap" in everywhere.stderr


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--widths", "0"], "takes 1 to 20 widths above zero"),
        (["--widths", "4,"], "is no length"),
        (["--widths", ",".join(map(str, range(1, 23)))], "takes 1 to 20 widths"),
        (["--widths", "4", "--width", "8"], "leave --width and --course out"),
        (["--brief", "--json"], "leave --course and --json out"),
    ],
)
def test_wishes_that_make_no_sense(drawing, arguments, message):
    told = rated(drawing(FOUR_PATCH), *arguments)
    assert (told.exit_code, told.stdout) == (2, "")
    assert message in told.stderr
    assert told.stderr.count("\n") == 1
