"""The command that proves printed numbers, from the arguments to the exit status."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.running import run

SAMPLES = Path(__file__).parents[2] / "samples"
MUSSEL = str(SAMPLES / "mussel.svg")


def proofread(*arguments, **more):
    return run("proofread", *arguments, **more)


def feature(label, left, top, right, bottom):
    ring = [[left, top], [right, top], [right, bottom], [left, bottom], [left, top]]
    properties = {} if label is None else {"label": label}
    return {"type": "Feature", "properties": properties, "geometry": {"type": "Polygon", "coordinates": [ring]}}


@pytest.fixture
def rows(tmp_path):
    """Write a drawing of strips one above the other with these labels, and return its path."""

    def write(*labels, name="rows.geojson"):
        features = [feature(label, 0, -y - 2, 6, -y) for y, label in zip(range(0, 99, 2), labels, strict=False)]
        path = tmp_path / name
        path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="utf-8")
        return str(path)

    return write


@pytest.fixture
def swapped(tmp_path):
    """The mussel with two numbers of unit B swapped."""
    text = (SAMPLES / "mussel.svg").read_text(encoding="utf-8")
    text = text.replace(">B1<", ">?<").replace(">B3<", ">B1<").replace(">?<", ">B3<")
    path = tmp_path / "swapped.svg"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_printed_numbers_are_proven():
    told = proofread(MUSSEL)
    assert told.exit_code == 0, told.output
    assert told.stderr == ""
    assert told.stdout.splitlines() == [
        "mussel, 9.24 × 7 in",
        "proven: can be sewn as printed (33 labelled patches, 3 units)",
        "no sewing order has fewer units",
    ]


def test_swapped_numbers_are_refuted_with_place_and_remedy(swapped):
    told = proofread(swapped)
    assert told.exit_code == 1
    words = " ".join(told.stdout.split())
    assert "refuted: 1 fault (33 labelled patches, 3 units)" in words
    assert "fault: B3 meets B1 and B2 along two different lines, with a corner at 6.67, 3.36." in words
    assert "Nearest valid order of unit B: renumber 2 patches (the fewest): B1 → B3, B3 → B1." in words
    assert "Unit A can be sewn in printed order, 15 patches." in words
    assert "Straight seams join the units." in words


def test_one_object_a_drawing_on_a_line(swapped, rows):
    told = proofread("--json", MUSSEL, swapped, rows("1", "2"))
    assert told.exit_code == 1
    answers = [json.loads(line) for line in told.stdout.splitlines()]
    assert [answer["source"] for answer in answers] == [MUSSEL, swapped, answers[2]["source"]]
    assert [answer["blocks"][0]["proven"] for answer in answers] == [True, False, True]
    assert all(answer["schema"] == "seamtree-proofread/1" for answer in answers)


def test_nothing_to_read_is_a_fault_of_the_drawing(rows):
    told = proofread(rows(None, None))
    assert told.exit_code == 2
    assert told.stdout == ""
    assert "rows.geojson: No patch of the block rows has a label to read." in told.stderr
    assert proofread("--json", rows("mist", "quay")).stdout == ""


def test_the_highest_status_counts_and_every_drawing_is_told(rows, swapped, tmp_path):
    told = proofread(MUSSEL, swapped, rows(None, None), str(tmp_path / "nowhere.svg"))
    assert told.exit_code == 2
    assert "mussel, " in told.stdout
    assert "swapped, " in told.stdout
    assert len(told.stderr.splitlines()) == 2


@pytest.mark.parametrize(
    ("labels", "said"),
    [
        (("A1", "A2", "A2"), "A2 is printed on 2 patches"),
        (("A1", "A2", "A4"), "A3 is printed nowhere"),
        (("A1", "A2", None), "The patch at 3.00, 5.00 has no label"),
        (("A1", "A2", "A3 B1"), "The patch at 3.00, 5.00 has several labels: A3, B1"),
        (("A1", "B1", "A2"), "Unit A is in 2 pieces"),
    ],
)
def test_faulty_numbers_are_refuted(rows, labels, said):
    told = proofread(rows(*labels))
    assert told.exit_code == 1
    assert said in " ".join(told.stdout.split())


def test_other_text_is_noted(rows):
    told = proofread(rows("A1 sky", "A2", "A3"))
    assert told.exit_code == 0
    assert "note: Text that is no label is ignored: 'sky'." in told.stdout


def test_labels_outside_are_refuted(tmp_path):
    path = tmp_path / "outside.svg"
    text = (SAMPLES / "mussel.svg").read_text(encoding="utf-8")
    path.write_text(text.replace("</svg>", '<text x="-60" y="20">D4</text></svg>'), encoding="utf-8")
    told = proofread(str(path))
    assert told.exit_code == 1
    assert "The text 'D4' at" in " ".join(told.stdout.split())


def test_fewer_units_are_told(rows):
    told = proofread(rows("A1", "B1", "C1"))
    assert told.exit_code == 0
    assert "note: 1 unit would do instead of 3; seamtree check tells how." in told.stdout


def test_misuse_is_told_once(rows):
    told = proofread(rows("1", "2"), MUSSEL, "--time-limit", "0")
    assert told.exit_code == 2
    assert told.stderr.count("the time limit must be") == 1
    assert proofread("-", "-").exit_code == 2
    assert proofread().exit_code == 2


def test_standard_input_and_several_processes(swapped):
    source = Path(MUSSEL).read_text(encoding="utf-8")
    told = proofread("-", input=source)
    assert told.exit_code == 0
    together = proofread("--json", "--workers", "2", MUSSEL, swapped)
    assert together.exit_code == 1
    assert together.stdout == proofread("--json", MUSSEL, swapped).stdout


def test_text_of_a_drawing_cannot_command_the_terminal(rows):
    told = proofread(rows("A1 \x1b[31mred[bold]", "A2"))
    assert "\x1b" not in told.stdout
    assert "[bold]" in told.stdout


def test_proofreading_units_loads_no_solver():
    code = (
        "import sys\n"
        "from seamtree_cli.main import run\n"
        f"sys.argv = ['seamtree', 'proofread', {MUSSEL!r}]\n"
        "try:\n"
        "    run()\n"
        "except SystemExit as end:\n"
        "    assert end.code == 0, end.code\n"
        "assert not {'ortools', 'networkx'} & {name.split('.')[0] for name in sys.modules}"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
