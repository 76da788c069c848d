"""Everything that lies in a folder is found, or skipped with its reason."""

from __future__ import annotations

import os
from collections import Counter

import pytest

from seamtree.auditing.places import REASONS, search_places
from seamtree.errors import OptionError


@pytest.fixture
def harbour(tmp_path):
    """Lay out files; those whose name ends in / are folders."""

    def lay(*names):
        for name in names:
            path = tmp_path / "harbour" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.mkdir() if name.endswith("/") else path.write_text("")
        return tmp_path / "harbour"

    return lay


def told(found, home):
    return {os.path.relpath(entry.path, home): entry.reason for entry in found.skipped}


def test_all_is_accounted_for(harbour):
    names = ["b.svg", "a.WKT", "notes.txt", ".hidden.svg", ".git/c.svg", "deep/d.svgz", "deep/e.pdf", "deep/f.eps"]
    home = harbour(*names, "g.DXF", "empty/")
    found = search_places([str(home)])
    drawings = [os.path.relpath(path, home) for path in found.drawings]
    assert drawings == ["a.WKT", "b.svg", "deep/d.svgz", "deep/e.pdf", "g.DXF"]
    assert told(found, home) == {
        ".hidden.svg": "hidden", ".git": "hidden", "notes.txt": "other suffix", "deep/f.eps": "other suffix",
    }  # fmt: skip


def test_links_to_folders_are_told_or_followed(harbour):
    home = harbour("a.svg", "near/b.svg", "../far/c.svg", "../far/deep/d.svg")
    (home / "far").symlink_to(home.parent / "far")
    (home / "again").symlink_to(home / "near")
    (home / "near" / "loop").symlink_to(home)
    (home.parent / "far" / "loop").symlink_to(home.parent / "far")
    (home / "lost").symlink_to(home / "lost")
    (home / "link.svg").symlink_to(home / "a.svg")
    found = search_places([str(home)])
    assert [os.path.relpath(path, home) for path in found.drawings] == ["a.svg", "link.svg", "near/b.svg"]
    links = {name for name, reason in told(found, home).items() if reason == "linked folder"}
    assert links == {"far", "again", "near/loop"}
    found = search_places([str(home)], follow_links=True)
    assert [os.path.relpath(path, home) for path in found.drawings] == [
        "a.svg", "far/c.svg", "far/deep/d.svg", "link.svg", "near/b.svg",
    ]  # fmt: skip
    assert told(found, home) == {
        "again": "seen before", "near/loop": "loop of links", "far/loop": "loop of links", "lost": "other suffix",
    }  # fmt: skip


def test_links_that_branch_come_to_an_end(harbour):
    """Twenty folders, each linked twice from the one before: a million paths, but twenty folders."""
    home = harbour(*(f"../cove/{k}/{k}.svg" for k in range(20)), "a.svg")
    cove = home.parent / "cove"
    for k in range(19):
        for name in ("left", "right"):
            (cove / f"{k}" / name).symlink_to(cove / f"{k + 1}")
    (home / "in").symlink_to(cove / "0")
    found = search_places([str(home)], follow_links=True)
    assert len(found.drawings) == 21
    assert Counter(entry.reason for entry in found.skipped) == {"seen before": 19}


def test_a_place_given_twice_is_searched_once(harbour):
    home = harbour("a.svg", "deep/b.svg", "notes.txt")
    found = search_places([str(home), str(home / "deep"), str(home / "a.svg")])
    assert len(found.drawings) == 2
    assert len(found.skipped) == 1


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="nothing is locked for root")
def test_a_locked_folder_is_told(harbour):
    home = harbour("a.svg", "locked/b.svg")
    (home / "locked").chmod(0)
    try:
        assert told(search_places([str(home)]), home) == {"locked": "no permission"}
    finally:
        (home / "locked").chmod(0o700)


def test_a_folder_without_drawings_is_a_slip(harbour):
    with pytest.raises(OptionError, match="no drawings below"):
        search_places([str(harbour("notes.txt"))])


def test_reasons_are_all_told():
    assert len({*REASONS}) == 6
