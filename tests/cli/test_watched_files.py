from __future__ import annotations

import os
import threading
import time

import pytest

from seamtree_cli import watched_files
from seamtree_cli.watched_files import watch_files


def soon(action, delay=0.15):
    """Do something a little later, while somebody waits."""
    timer = threading.Timer(delay, action)
    timer.daemon = True
    timer.start()
    return timer


@pytest.fixture
def drawing(tmp_path):
    path = tmp_path / "gull.svg"
    path.write_text("one")
    return path


def replaced(path, text):
    """Save as many editors do: a new file takes the place of the old one."""
    aside = path.with_name(".gull.tmp")
    aside.write_text(text)
    aside.replace(path)


def in_two_goes(path):
    path.write_text("")
    time.sleep(0.03)
    path.write_text("two halves")


@pytest.mark.parametrize(
    "save",
    [
        lambda path: path.write_text("two"),
        lambda path: replaced(path, "two"),
        in_two_goes,
        lambda path: path.unlink(),
    ],
    ids=["written over", "replaced", "written twice", "gone"],
)
def test_each_save_is_told_once(drawing, save):
    changes = watch_files(lambda: [drawing])
    soon(lambda: save(drawing))
    assert next(changes) == {drawing}
    if drawing.exists():
        assert drawing.read_text().startswith("two")
    soon(lambda: drawing.write_text("three"), 0.3)
    assert next(changes) == {drawing}
    assert drawing.read_text() == "three"


def test_what_is_saved_before_anybody_waits_is_told(drawing):
    changes = watch_files(lambda: [drawing])
    drawing.write_text("two")
    assert next(changes) == {drawing}


def test_the_same_content_and_other_files_are_not_told(drawing, tmp_path):
    changes = watch_files(lambda: [drawing])
    soon(lambda: (os.utime(drawing), replaced(drawing, "one"), (tmp_path / "gull.png").write_text("drawn")), 0.05)
    soon(lambda: drawing.write_text("two"), 0.4)
    next(changes)
    assert drawing.read_text() == "two"


def test_a_file_that_comes_back_is_told(drawing):
    changes = watch_files(lambda: [drawing])
    soon(drawing.unlink)
    assert next(changes) == {drawing}
    soon(lambda: drawing.write_text("one"))
    assert next(changes) == {drawing}


def test_links_are_followed_to_where_they_lead(drawing, tmp_path):
    (tmp_path / "shelf").mkdir()
    link = tmp_path / "shelf" / "link.svg"
    link.symlink_to(drawing)
    changes = watch_files(lambda: [link])
    soon(lambda: drawing.write_text("two"))
    assert next(changes) == {link}


def test_files_that_another_names_are_watched_from_then_on(drawing, tmp_path):
    other = tmp_path / "shelf" / "dinghy.svg"
    other.parent.mkdir()
    other.write_text("one")
    named = [drawing]
    changes = watch_files(lambda: named)
    soon(lambda: (named.append(other), drawing.write_text("two")))
    assert next(changes) == {drawing}
    soon(lambda: other.write_text("two"))
    assert next(changes) == {other}


def test_a_folder_that_is_made_anew(drawing, tmp_path):
    changes = watch_files(lambda: [drawing])
    away = tmp_path.with_name(tmp_path.name + "-away")
    soon(lambda: tmp_path.rename(away))
    assert next(changes) == {drawing}
    soon(lambda: (tmp_path.mkdir(), drawing.write_text("two")))
    assert next(changes) == {drawing}


def test_where_nothing_can_be_watched_it_looks_by_itself(drawing, monkeypatch):
    def refuse(*_paths, **_how):
        raise OSError("no more watches")

    monkeypatch.setattr("watchfiles.watch", refuse)
    monkeypatch.setattr(watched_files, "_ALONE", 0.02)
    changes = watch_files(lambda: [drawing])
    soon(lambda: drawing.write_text("two"), 0.05)
    assert next(changes) == {drawing}
