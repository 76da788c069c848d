"""Files that commands write."""

from __future__ import annotations

from pathlib import Path

import pytest

from seamtree.errors import OptionError, SeamtreeError
from seamtree_cli.files import check_target, whole, write_whole


def test_a_file_that_is_better_not_written_is_refused(tmp_path):
    drawing = tmp_path / "gull.svg"
    drawing.write_text("<svg/>")
    (tmp_path / "nest.svg").mkdir()
    link = tmp_path / "link.svg"
    link.symlink_to(drawing)
    for target, said in (
        (tmp_path / "gull.png", "the picture is an SVG file, so its name has to end in .svg, not 'gull.png'"),
        (tmp_path / "away" / "gull.svg", "there is no folder"),
        (tmp_path / "nest.svg", "is a folder"),
        (drawing, "would overwrite the drawing itself"),
        (link, "would overwrite the drawing itself"),
    ):
        with pytest.raises(OptionError, match=said):
            check_target(target, what="the picture", suffix=".svg", sources=[str(drawing), "gone.svg"])
    check_target(tmp_path / "New.SVG", what="the picture", suffix=".svg", sources=[str(drawing)])
    with pytest.raises(OptionError, match="the pattern is a PDF file"):
        check_target(drawing, what="the pattern", suffix=".pdf")


def test_a_file_is_written_whole(tmp_path):
    write_whole(tmp_path / "a.txt", "two\nlines\n")
    assert (tmp_path / "a.txt").read_bytes() == b"two\nlines\n"
    assert [path.name for path in tmp_path.iterdir()] == ["a.txt"]


def test_what_fails_on_the_way_leaves_the_old_file_and_nothing_else(tmp_path):
    target = tmp_path / "a.txt"
    target.write_text("old")

    def interrupted():
        with whole(target) as draft:
            draft.write_text("half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        interrupted()
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_that_has_gone_is_told(tmp_path):
    with pytest.raises(SeamtreeError, match=r"a\.txt: cannot be written: No such file or directory"):
        write_whole(Path(tmp_path / "gone" / "a.txt"), "")
