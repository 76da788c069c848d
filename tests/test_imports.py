"""Imports run one way, and what is slow to import waits until it is needed."""

from __future__ import annotations

import ast
import importlib.util
import json
import subprocess
import sys
from pathlib import Path

import pytest
from benchmarks.families import square_grid, straight_cuts

import seamtree
import seamtree_cli
from seamtree.proofs.files import proofs_json
from seamtree_cli.app import EXAMPLES

LIBRARY = Path(seamtree.__file__).parent
COMMANDS = Path(seamtree_cli.__file__).parent

ONE_UNIT = "\n".join(f"POLYGON ((0 {y}, 6 {y}, 6 {y + 2}, 0 {y + 2}, 0 {y}))" for y in (0, 2, 4))


def imported(path: Path) -> set[str]:
    """Return the first name of every module that a file imports, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name.split(".")[0] for name in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module.split(".")[0])
    return found


def imported_names(path: Path) -> set[str]:
    """Return the whole name of every module that a file imports from, anywhere in it."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {name.name for name in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add("" if node.level else node.module)
    return found


def loaded_by(code: str, *arguments: str) -> set[str]:
    """Run Python code in a fresh process and return the first name of every module that it loaded."""
    return {name.split(".")[0] for name in modules_loaded_by(code, *arguments)}


def modules_loaded_by(code: str, *arguments: str) -> set[str]:
    """Run Python code in a fresh process and return every module that it loaded."""
    tail = "\nimport json, sys; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run(
        [sys.executable, "-c", code + tail, *arguments], capture_output=True, text=True, check=True, encoding="utf-8"
    )
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize("path", sorted(LIBRARY.rglob("*.py")), ids=lambda path: str(path.relative_to(LIBRARY)))
def test_library_imports_neither_the_commands_nor_what_they_print_with(path):
    assert not imported(path) & {"seamtree_cli", "rich", "typer"}


@pytest.mark.parametrize("path", sorted(LIBRARY.rglob("*.py")), ids=lambda path: str(path.relative_to(LIBRARY)))
def test_only_the_search_meets_the_solver(path):
    if "search" not in path.relative_to(LIBRARY).parts:
        assert "ortools" not in imported(path)


@pytest.mark.parametrize("path", sorted((LIBRARY / "proofs").glob("*.py")), ids=lambda path: path.name)
def test_proofs_are_checked_with_nothing_of_what_found_them(path):
    rooms = {name.split(".")[1] for name in imported_names(path) if name.startswith("seamtree.")}
    assert rooms <= {"block", "errors", "geometry", "proofs"}
    assert "" not in imported_names(path)


def test_checking_a_proof_loads_nothing_of_the_search(tmp_path):
    code = (
        "import sys, seamtree\n"
        "from seamtree.proofs.files import read_proofs\n"
        "(block,) = seamtree.read(sys.argv[2])\n"
        "((_, proof),) = read_proofs(open(sys.argv[1], 'rb').read())\n"
        "assert seamtree.check_proof(block, proof).units == 8"
    )
    written = tmp_path / "buoy.json"
    drawing = str(Path(__file__).parents[1] / "samples" / "buoy.svg")
    (block,) = seamtree.read(drawing)
    written.write_text(json.dumps(proofs_json("buoy.svg", [("buoy", seamtree.plan(block).proof)])), encoding="utf-8")
    assert not {name for name in modules_loaded_by(code, str(written), drawing) if name.startswith("seamtree.search")}


@pytest.mark.parametrize("path", sorted(COMMANDS.rglob("*.py")), ids=lambda path: str(path.relative_to(COMMANDS)))
def test_commands_do_not_meet_the_solver(path):
    assert not imported(path) & {"ortools", "networkx"}


def test_there_is_something_to_look_at():
    assert len(list(LIBRARY.rglob("*.py"))) > 10
    assert len(list(COMMANDS.rglob("*.py"))) > 5


def test_importing_the_library_loads_nothing_slow():
    loaded = loaded_by("import seamtree")
    assert "seamtree" in loaded
    assert not loaded & {"rich", "typer", "ortools", "networkx", "seamtree_cli"}


def test_networkx_is_loaded_for_graphs_only():
    code = (
        "import sys, seamtree\n"
        "block = seamtree.block_from_polygons([[(0, 0), (4, 0), (0, 4)]])\n"
        "plan = seamtree.plan(block)\n"
        "seamtree.rate(plan), seamtree.pack(plan), seamtree.render_png(plan), seamtree.mend(block)\n"
        "assert 'networkx' not in sys.modules\n"
        "assert len(plan.to_networkx()) == len(block.to_networkx()) == 1"
    )
    assert "networkx" in loaded_by(code)


def test_a_small_part_with_hard_corners_needs_no_constraint_solver():
    code = (
        "from benchmarks.families import spun_rings\n"
        "from seamtree import block_from_polygons, plan\n"
        "assert plan(block_from_polygons(spun_rings(2))).counts.hard_corners == 2"
    )
    assert "ortools" not in loaded_by(code)


def test_checking_one_unit_through_the_library_loads_nothing_slow(tmp_path):
    drawing = tmp_path / "buoy.wkt"
    drawing.write_text(ONE_UNIT, encoding="utf-8")
    code = (
        "import sys, seamtree\n"
        "(block,) = seamtree.read(sys.argv[1])\n"
        "assert seamtree.plan(block).verdict == 'single unit'"
    )
    loaded = loaded_by(code, str(drawing))
    assert "shapely" in loaded
    assert not loaded & {"rich", "typer", "ortools", "networkx", "seamtree_cli"}


def loaded_by_checking(drawing: Path) -> set[str]:
    code = (
        "import sys\n"
        "from seamtree_cli.main import run\n"
        "sys.argv = ['seamtree', 'check', sys.argv[1]]\n"
        "try:\n"
        "    run()\n"
        "except SystemExit as end:\n"
        "    assert end.code == 0, end.code"
    )
    return modules_loaded_by(code, str(drawing))


SLOW = {
    *("ortools", "pandas", "scipy", "networkx", "reportlab", "resvg_py", "distributed", "pydantic"),
    *("pypdf", "ezdxf", "fontTools", "watchfiles", "anyio"),
    *("multiprocessing", "concurrent.futures", "rich.live", "rich.spinner", "numpy.ma"),
    *(f"seamtree.{name}" for name in ("picture", "pattern", "mending", "rating", "auditing", "following")),
    *(f"seamtree_cli.{name}" for name in EXAMPLES if name != "check"),
    *("seamtree_cli.watching", "seamtree_cli.watched_files", "seamtree_cli.page_server", "http.server"),
}
"""What a small drawing can be checked without, and what takes long to load."""


def test_what_is_slow_to_load_can_be_loaded():
    ours = {name for name in SLOW if name.startswith("seamtree")}
    assert all(importlib.util.find_spec(name) for name in ours)


def test_checking_one_unit_on_the_command_line_loads_nothing_slow(tmp_path):
    drawing = tmp_path / "buoy.wkt"
    drawing.write_text(ONE_UNIT, encoding="utf-8")
    loaded = loaded_by_checking(drawing)
    assert {"rich", "typer", "seamtree_cli", "seamtree_cli.check"} <= loaded
    assert loaded & (SLOW | {"seamtree.search.joined"}) == set()


@pytest.mark.parametrize("draw", [lambda: straight_cuts(12, 3), lambda: square_grid(4, 3)])
def test_checking_joined_units_on_the_command_line_loads_nothing_slow(draw, tmp_path):
    drawing = tmp_path / "raft.wkt"
    drawing.write_text("\n".join(patch.wkt for patch in draw()), encoding="utf-8")
    loaded = loaded_by_checking(drawing)
    assert "seamtree.search.joined" in loaded
    rare = {f"seamtree.search.{name}" for name in ("rows.stretches", "rows.by_rows", "straight.sweep")}
    assert loaded & (SLOW | rare) == set()


def test_a_command_loads_no_other_and_help_loads_all():
    code = (
        "from typer.main import get_command\n"
        "from seamtree_cli.app import build_app\n"
        "print(list(get_command(build_app({})).commands))"
    )
    others = {f"seamtree_cli.{name}" for name in EXAMPLES} - {"seamtree_cli.rate"}
    assert not modules_loaded_by(code.format(["rate", "buoy.svg"])) & others
    assert others < modules_loaded_by(code.format(["--help"]))
