"""What would help, in the words of the library."""

from __future__ import annotations

import ast
import inspect
import re
from pathlib import Path

import pytest

import seamtree
from seamtree import remedies
from seamtree.rating import scale
from seamtree.remedies import CODES, Remedy

LIBRARY = Path(seamtree.__file__).parent


def test_a_remedy_stands_in_a_text_as_what_somebody_who_calls_the_library_writes():
    assert f"say {remedies.WHITE_PAPER}" == "say `white='paper'`"
    assert str(Remedy("mend-straightened", "0.1")) == "`mend(curve_tolerance=0.1)`"


def test_only_known_ones_can_be_named():
    with pytest.raises(ValueError, match="no remedy 'glue'"):
        Remedy("glue")


@pytest.mark.parametrize("code", CODES)
def test_what_is_named_is_there(code):
    """Arguments of `read`, `sketch`, `plan` or `mend`; functions of the package or of one of its rooms."""
    name = re.match(r"`([\w.]+)", str(Remedy(code, "0.1")))[1]
    functions = (seamtree.read, seamtree.sketch, seamtree.plan, seamtree.mend)
    arguments = {name for function in functions for name in inspect.signature(function).parameters}
    assert name in {*arguments, *dir(seamtree), *dir(scale), "Record.to_json"}


@pytest.mark.parametrize("path", sorted(LIBRARY.rglob("*.py")), ids=lambda path: str(path.relative_to(LIBRARY)))
def test_no_text_of_the_library_names_an_option_or_a_command(path):
    named = re.compile(
        r"(?<![-\w<!])--[a-z]|seamtree (check|mend|pack|rate|audit|proofread|picture|follow|recheck)\b"
    )
    tree = ast.parse(path.read_text(encoding="utf-8"))
    told = [node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)]
    assert [text for text in told if named.search(text)] == []
