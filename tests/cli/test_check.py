"""The command as its users meet it, from the arguments to the exit status."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time

import pytest

import seamtree
from seamtree.errors import OptionError
from tests.cli.running import run
from tests.support.wkt import FOUR_PATCH, GAP, ONE_UNIT, OVERLAPS, RING


def check(*arguments, **more):
    return run("check", *arguments, **more)


def start(*arguments, **more):
    return subprocess.Popen(
        [sys.executable, "-m", "seamtree_cli.main", "check", *arguments],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        **more,
    )


@pytest.mark.parametrize(
    ("text", "status", "verdict"),
    [(ONE_UNIT, 0, "single unit"), (FOUR_PATCH, 0, "joined units"), (RING, 1, "hard corners")],
)
def test_exit_status_tells_the_verdict(drawing, text, status, verdict):
    path = drawing(text)
    told = check(path)
    assert told.exit_code == status, told.output
    assert told.stderr == ""
    answer = check(path, "--json")
    assert answer.exit_code == status
    (block,) = json.loads(answer.stdout)["blocks"]
    assert block["verdict"] == verdict


def test_a_piped_tree_is_plain_text(drawing):
    told = check(drawing(FOUR_PATCH, "four patch.wkt"))
    assert "\x1b" not in told.stdout
    assert "━" not in told.stdout
    lines = told.stdout.splitlines()
    assert lines[0] == "four patch, 6 × 6 in"
    assert lines[1] == "2 units, joined by straight seams"
    assert lines[2].startswith("4 patches, 1 join, 1 matched point")
    assert lines[-2].startswith("└── join 1: unit A to unit B, straight, 6 in, 1 matched point (")
    assert lines[-1].startswith("    press toward unit ")


def test_a_picture_can_be_asked_for(drawing):
    told = check(drawing(FOUR_PATCH), "--picture")
    assert told.stdout.startswith("┏━")
    assert {"A1", "A2", "B1", "B2"} <= set(re.findall(r"[AB]\d", told.stdout.split("in\n")[0]))


def test_on_a_terminal_there_is_a_picture_in_colour(drawing):
    pty = pytest.importorskip("pty")
    keeper, terminal = pty.openpty()
    environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "100", "LINES": "50"}
    for name in ("NO_COLOR", "FORCE_COLOR", "COLORTERM"):
        environment.pop(name, None)
    process = subprocess.Popen(
        [sys.executable, "-m", "seamtree_cli.main", "check", drawing(FOUR_PATCH)],
        stdout=terminal,
        stderr=subprocess.PIPE,
        env=environment,
    )
    os.close(terminal)
    seen = b""
    try:
        while piece := os.read(keeper, 4096):
            seen += piece
    except OSError:  # how Linux says that the other end is closed
        pass
    os.close(keeper)
    _, errors = process.communicate(timeout=60)
    assert process.returncode == 0, errors
    assert "┏━" in seen.decode()
    assert b"\x1b[" in seen


def test_json_is_one_object_a_line_and_nothing_else(drawing):
    answer = check(drawing(ONE_UNIT, "one.wkt"), drawing(FOUR_PATCH, "two.wkt"), "--json")
    first, second = map(json.loads, answer.stdout.splitlines())
    assert answer.stderr == ""
    assert first["schema"] == second["schema"] == "seamtree/1"
    assert first["source"].endswith("one.wkt")
    assert second["source"].endswith("two.wkt")
    assert first["blocks"][0]["counts"]["units"] == 1
    assert second["blocks"][0]["counts"]["units"] == 2
    assert second["blocks"][0]["tree"]["kind"] == "join"


@pytest.mark.parametrize("json_option", [(), ("--json",)])
def test_a_faulty_drawing_says_so_on_standard_error_only(drawing, json_option):
    path = drawing(GAP)
    told = check(path, *json_option)
    assert told.exit_code == 2
    assert told.stdout == ""
    assert told.stderr.startswith(f"{path}: ")
    assert len(told.stderr.splitlines()) == 1


def test_every_fault_has_a_line_of_its_own(drawing):
    path = drawing(OVERLAPS)
    lines = check(path).stderr.splitlines()
    assert len(lines) >= 2
    assert all(line.startswith(f"{path}: ") for line in lines)


def test_a_faulty_drawing_does_not_stop_the_others(drawing):
    sound, faulty, hard = drawing(ONE_UNIT, "a.wkt"), drawing(GAP, "b.wkt"), drawing(RING, "c.wkt")
    told = check(sound, faulty, hard)
    assert told.exit_code == 2
    assert [line for line in told.stdout.splitlines() if line.endswith("6 × 6 in")] == ["a, 6 × 6 in", "c, 6 × 6 in"]
    assert told.stderr.startswith(f"{faulty}: ")
    assert check(sound, hard).exit_code == 1


@pytest.mark.parametrize("workers", ["2", "3", "7"])
def test_any_number_of_workers_gives_the_same_answers_in_the_same_order(drawing, workers):
    paths = [drawing(text, f"{k}.wkt") for k, text in enumerate([RING, ONE_UNIT, GAP, FOUR_PATCH])]
    alone = start(*paths, "--json")
    together = start(*paths, "--json", "--workers", workers)
    assert together.communicate(timeout=60) == alone.communicate(timeout=60)
    assert together.returncode == alone.returncode == 2


def test_standard_input(drawing):
    answer = check("-", "--json", input=FOUR_PATCH)
    assert answer.exit_code == 0, answer.stderr
    assert json.loads(answer.stdout)["source"] == "-"
    process = start(drawing(ONE_UNIT), "-", drawing(ONE_UNIT, "last.wkt"), "--json", "--workers", "2", stdin=-1)
    out, _ = process.communicate(FOUR_PATCH, timeout=60)
    assert [len(json.loads(line)["blocks"][0]["patches"]) for line in out.splitlines()] == [3, 4, 3]
    twice = check("-", "-")
    assert twice.exit_code == 2
    assert twice.stderr == "seamtree: standard input (-) can be read only once\n"


def test_what_all_blocks_of_a_drawing_share_is_said_once(drawing):
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="10in" height="4in" viewBox="0 0 10 4">'
        '<rect width="10" height="4" fill="white"/>'
        '<rect x="1" y="1" width="2" height="1" fill="navy"/><rect x="1" y="2" width="2" height="1" fill="red"/>'
        '<rect x="5" y="1" width="2" height="1" fill="navy"/><rect x="5" y="2" width="2" height="1" fill="red"/>'
        "</svg>"
    )
    lines = check(drawing(svg, "pair.svg")).stdout.splitlines()
    assert [line for line in lines if line.startswith("pair")] == ["pair 1, 2 × 2 in", "pair 2, 2 × 2 in"]
    assert sum("page" in line for line in lines) == 1
    heading = next(k for k, line in enumerate(lines) if line.startswith("In all 2 blocks of"))
    assert any("page" in line for line in lines[heading:])


def test_width_sets_the_size(drawing):
    (block,) = json.loads(check(drawing(FOUR_PATCH), "--width", "12", "--json").stdout)["blocks"]
    assert (block["width"], block["height"]) == pytest.approx((12, 12))


@pytest.mark.parametrize(
    "arguments",
    [
        ("--width", "0"),
        ("--width", "-3"),
        ("--width", "nan"),
        ("--width", "inf"),
        ("--width", "wide"),
        ("--tolerance", "-1"),
        ("--tolerance", "nan"),
        ("--time-limit", "-1"),
        ("--time-limit", "nan"),
        ("--workers", "0"),
        ("--workers", "many"),
        ("--no-such-option",),
    ],
)
def test_senseless_options_are_refused_once(drawing, arguments):
    told = check(drawing(ONE_UNIT), drawing(FOUR_PATCH, "other.wkt"), *arguments)
    assert told.exit_code == 2
    assert told.stdout == ""
    assert arguments[0].strip("-").replace("-", " ") in told.stderr.replace("-", " ")
    assert "Traceback" not in told.stderr
    assert "internal error" not in told.stderr


def test_what_is_no_drawing_is_refused(drawing, tmp_path):
    missing = str(tmp_path / "missing.svg")
    for path in (missing, str(tmp_path), drawing("", "empty.svg"), drawing("ahoy", "ahoy.svg")):
        told = check(path)
        assert told.exit_code == 2
        assert told.stdout == ""
        assert told.stderr.startswith(f"{path}: ")
        assert len(told.stderr.splitlines()) == 1
        assert "internal error" not in told.stderr


def test_no_arguments_shows_help_and_is_wrong():
    told = run()
    assert told.exit_code == 2
    assert check().exit_code == 2


def test_help_explains_the_job():
    help_text = check("--help", env={"COLUMNS": "200"}).stdout
    for word in ("--width", "--tolerance", "--skip-layer", "--time-limit", "--workers", "--json", "--picture"):
        assert word in help_text
    assert "seamtree check samples/" in help_text
    assert "exit status" in help_text.lower()


def test_version():
    told = run("--version")
    assert told.exit_code == 0
    assert told.stdout == f"seamtree {seamtree.__version__}\n"


def test_an_unexpected_error_is_one_line(drawing, monkeypatch):
    def fail(*_, **__):
        raise ZeroDivisionError("knot\nslipped")

    monkeypatch.setattr("seamtree.planning.build.plan", fail)
    monkeypatch.delenv("SEAMTREE_DEBUG", raising=False)
    path = drawing(ONE_UNIT)
    told = check(path, drawing(GAP, "gap.wkt"))
    assert told.exit_code == 2
    first, second = told.stderr.splitlines()
    assert first.startswith(f"{path}: internal error (ZeroDivisionError: knot slipped)")
    assert "gap.wkt" in second
    monkeypatch.setenv("SEAMTREE_DEBUG", "1")
    assert "Traceback" in check(path).stderr


def test_an_error_while_printing_is_one_line(drawing, monkeypatch):
    def fail(*_, **__):
        raise ZeroDivisionError

    monkeypatch.setattr("seamtree_cli.check.render_plan", fail)
    told = check(drawing(ONE_UNIT))
    assert told.exit_code == 2
    assert told.stderr.startswith("seamtree: internal error (ZeroDivisionError)")


def test_an_option_error_of_the_library_is_told_once(drawing, monkeypatch):
    def fail(*_, **__):
        raise OptionError("no such tide")

    monkeypatch.setattr("seamtree.block.build.read", fail)
    told = check(drawing(ONE_UNIT), drawing(ONE_UNIT, "b.wkt"))
    assert told.exit_code == 2
    assert told.stderr == "seamtree: no such tide\n"


def test_a_layer_that_one_drawing_lacks_does_not_stop_the_others(drawing):
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="2in" height="4in" viewBox="0 0 2 4">'
        '<rect width="2" height="2" fill="navy"/><rect y="2" width="2" height="2" fill="red"/>'
        '<g id="{}"><path d="M0 1L1 1.5" stroke="black"/></g></svg>'
    )
    lacks, has = drawing(svg.format("stitching"), "lacks.svg"), drawing(svg.format("notes"), "has.svg")
    told = check(lacks, has, "--skip-layer", "notes")
    assert told.exit_code == 2
    assert told.stdout.startswith("has, 2 × 4 in\n")
    assert told.stderr.startswith("seamtree: ")
    assert "lacks.svg" in told.stderr
    assert len(told.stderr.splitlines()) == 1


def test_the_name_of_a_faulty_drawing_is_said_once(drawing):
    path = drawing("<svg", "torn.svg")
    assert check(path).stderr.count("torn.svg") == 1


def test_an_output_without_an_alphabet_gets_lookalikes(drawing):
    process = start(drawing(FOUR_PATCH, "four.wkt"), "--picture", env={**os.environ, "PYTHONIOENCODING": "ascii"})
    out, errors = process.communicate(timeout=60)
    assert process.returncode == 0, errors
    assert "four, 6 x 6 in" in out
    assert out.startswith("+--")
    assert "?" not in out


@pytest.mark.skipif(os.name != "posix", reason="pipes and signals of POSIX")
def test_a_reader_that_goes_away_is_no_error(drawing):
    process = start(*[drawing(FOUR_PATCH)] * 400)
    process.stdout.readline()
    process.stdout.close()
    with process.stderr:
        assert process.stderr.read() == ""
    assert process.wait(timeout=60) == 141


@pytest.mark.skipif(os.name != "posix", reason="pipes and signals of POSIX")
@pytest.mark.parametrize("workers", ["1", "2"])
def test_interrupting_is_quiet(drawing, tmp_path, workers):
    """Ctrl-C reaches every process of the terminal's group, the helpers as well."""
    pipes = [str(tmp_path / f"{name}.svg") for name in "ab"]
    for path in pipes:
        os.mkfifo(path)  # reading it waits for a writer that never comes
    process = start(drawing(ONE_UNIT), *pipes, "--json", "--workers", workers, start_new_session=True)
    process.stdout.readline()
    time.sleep(2)  # the helpers have started by then, on a busy machine as well
    os.killpg(process.pid, signal.SIGINT)
    out, errors = process.communicate(timeout=60)
    assert (process.returncode, out, errors) == (130, "", "")


def test_an_explanation_is_printed_below_the_tree(drawing):
    told = check(drawing(FOUR_PATCH, "four patch.wkt"), "--explain")
    assert told.exit_code == 0
    below = told.stdout.split("Why not fewer units")[1]
    assert "knot that takes 1 join" in below
    assert all(len(line) <= 80 for line in below.splitlines())


def test_an_explanation_is_a_key_of_its_block(drawing):
    told = check(drawing(FOUR_PATCH, "four patch.wkt"), "--explain", "--json")
    (block,) = json.loads(told.stdout)["blocks"]
    assert [knot["joins"] for knot in block["explanation"]["knots"]] == [1]
    assert block["explanation"]["ways"] == 2


@pytest.mark.parametrize(
    ("option", "fault"),
    [
        (("--largest", "0x5"), "'0x5' is no size: width and height have to be above 0"),
        (("--largest", "5"), "'5' is no size; write width and height like 5x5, 7x9.5in or 19cmx25cm"),
        (("--largest", "5x"), "'5x' is no size"),
        (("--largest", "5xfive"), "'five' is no length"),
        (("--fit", "a5"), "there is no paper 'a5'; choose a4 or letter"),
        (("--fit", "a4", "--largest", "5x5"), "give one of them"),
        (("--prefer", "colours"), "colours"),
    ],
)
def test_wishes_that_make_no_sense(drawing, option, fault):
    told = check(drawing(FOUR_PATCH), *option)
    assert told.exit_code == 2
    assert fault in " ".join(told.stderr.split())
    assert told.stdout == ""


@pytest.mark.parametrize("size", ["6x3", "3in x 6in", "15.24cmx7.62cm", "15.24x7.62cm", "152.4mmx76.2mm"])
def test_sizes_in_any_unit(drawing, size):
    told = check(drawing(FOUR_PATCH), "--largest", size, "--json")
    (block,) = json.loads(told.stdout)["blocks"]
    assert block["counts"]["units"] == 2
    assert sorted(block["wishes"]["largest"]) == pytest.approx([3, 6])


def test_a_limit_below_every_patch_names_each(drawing):
    told = check(drawing(FOUR_PATCH), "--largest", "1x1", "--no-picture")
    assert told.exit_code == 0
    assert "note: Patches A1, B1, C1 and D1 are larger than 1 × 1 in" in " ".join(told.stdout.split())


def test_a_proof_of_limited_units_is_rechecked(drawing, tmp_path):
    proof = tmp_path / "proof.json"
    path = drawing(FOUR_PATCH)
    assert check(path, "--largest", "3x3", "--proof", proof).exit_code == 0
    told = run("recheck", proof, path)
    assert told.exit_code == 0, told.output
    assert "with units no larger than 3 × 3 in takes fewer than 4 units" in " ".join(told.stdout.split())


def test_units_that_cannot_be_had_are_refused_with_the_plan(drawing):
    cells = [("B", 0, 0), ("A", 3, 0), ("A", 0, 3), ("B", 3, 3)]
    features = [
        {
            "type": "Feature",
            "properties": {"label": label},
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[x, y], [x + 3, y], [x + 3, y + 3], [x, y + 3], [x, y]]],
            },
        }
        for label, x, y in cells
    ]
    path = drawing(json.dumps({"type": "FeatureCollection", "features": features}), "tiles.geojson")
    told = check(path, "--no-picture")
    assert told.exit_code == 1
    assert "2 units, joined by straight seams" in told.stdout
    assert "note: The printed units cannot be had: Unit A is in several pieces" in " ".join(told.stdout.split())
    assert check(path, "--renumber").exit_code == 0
