"""The examples in README.md do what they say. With UPDATE_README=1, what they print is written into it."""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
from pathlib import Path

import pytest

from tests.cli.running import run

PROJECT = Path(__file__).parents[1]
PATH = PROJECT / "README.md"
README = PATH.read_text(encoding="utf-8")
BLOCKS = re.findall(r"^```(\w+)\n(.*?)^```$", README, flags=re.MULTILINE | re.DOTALL)


def compare(before, shown, printed):
    """Compare what an example prints with what the readme shows after it."""
    if os.environ.get("UPDATE_README"):
        text = PATH.read_text(encoding="utf-8")
        assert text.count(before + shown) == 1
        PATH.write_text(text.replace(before + shown, before + printed), encoding="utf-8")
    else:
        assert printed == shown


def examples(language):
    return [text for kind, text in BLOCKS if kind == language]


def commands():
    """Split every console block at its prompts: pairs of a command and what it prints."""
    for text in examples("console"):
        for example in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
            command, _, output = example.partition("\n")
            yield pytest.param(command, output, id=command)


def test_there_are_examples():
    assert len(list(commands())) >= 2
    assert len(examples("python")) >= 1
    assert len(examples("shell")) == 2


@pytest.mark.parametrize(("command", "output"), list(commands()))
def test_command_prints_what_the_readme_shows(command, output, tmp_path, monkeypatch):
    (tmp_path / "samples").symlink_to(PROJECT / "samples")  # what a command writes does not stay
    monkeypatch.chdir(tmp_path)
    program, *arguments = shlex.split(command)
    assert program == "seamtree"
    done = run(*arguments, env={"COLUMNS": "80", "XDG_CACHE_HOME": str(tmp_path)})
    printed = "".join(line.rstrip() + "\n" for line in done.output.splitlines())
    compare(f"$ {command}\n", output, printed)


def python_examples():
    """Pairs of a Python block and the text block right after it."""
    for (kind, code), (following, output) in zip(BLOCKS, [*BLOCKS[1:], ("", "")], strict=True):
        if kind == "python":
            assert following == "text", "show what the example prints"
            yield pytest.param(code, output, id=code.splitlines()[0])


@pytest.mark.parametrize(("code", "output"), list(python_examples()))
def test_python_prints_what_the_readme_shows(code, output, monkeypatch):
    monkeypatch.chdir(PROJECT)
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(compile(code, "README.md", "exec"), {})  # noqa: S102
    compare(f"{code}```\n\n```text\n", output, printed.getvalue())


@pytest.mark.parametrize("line", [line for text in examples("shell") for line in text.splitlines()])
def test_set_up_commands_use_what_is_there(line):
    """The two commands make an environment, so they are not run here; the paths they name must exist."""
    for path in re.findall(r"samples/\S+", line):
        assert (PROJECT / path).is_file()
    assert re.fullmatch(r"python3 -m venv \.venv && \.venv/bin/pip install -q \"\.\[test\]\" && \.venv/bin/.+", line)
