"""Standard streams."""

from __future__ import annotations

import io
import json
import sys

import pytest

from seamtree.errors import SeamtreeError
from seamtree_cli import streams
from seamtree_cli.streams import Output, forgive_unprintable, put_json, say, writing


def test_messages_are_one_line_on_standard_error(capsys):
    say("gull.svg", "two\nlines\x1b[31m")
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == "gull.svg: two lines [31m\n"


def test_an_object_is_one_line_and_numbers_are_numbers(capsys):
    put_json({"a": [1.5, None]})
    assert json.loads(capsys.readouterr().out) == {"a": [1.5, None]}
    with pytest.raises(ValueError, match="not JSON compliant"):
        put_json({"a": float("nan")})


def test_characters_that_a_stream_lacks_get_lookalikes(monkeypatch):
    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="ascii"))
    forgive_unprintable()
    print("6 × 3 in – “gull” ┼ ─ é …")
    sys.stdout.flush()
    assert raw.getvalue() == b'6 x 3 in - "gull" + - ? ...\n'


def test_a_full_disk_is_told_and_a_reader_that_has_gone_is_left_to_the_caller(monkeypatch):
    closed = []
    monkeypatch.setattr(streams, "close_quietly", lambda: closed.append(1))

    def full():
        with writing():
            raise OSError(28, "No space left on device")

    def gone():
        with writing():
            raise BrokenPipeError

    with pytest.raises(BrokenPipeError):
        gone()
    assert not closed
    with pytest.raises(SeamtreeError, match="standard output cannot be written: No space left"):
        full()
    assert closed


def test_rich_does_not_end_the_process_when_the_reader_has_gone():
    with pytest.raises(BrokenPipeError):
        Output().on_broken_pipe()
