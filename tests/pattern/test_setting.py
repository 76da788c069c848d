"""Quilts put together, worked out by hand (common practice)."""

import pytest

import seamtree
from seamtree.errors import OptionError
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.setting import build_quilt, setting_cuts, write_setting
from seamtree.pattern.work import BlockWork, Setting, build_work
from tests.search.straight.test_parts import squares


def work_of(setting, copies=12, mirrored=0, side=6):
    block = BlockWork(seamtree.plan(squares(side, side)), "squares", copies, mirrored)
    return build_work([block], title="quilt", setting=setting)


def test_three_by_four_blocks_with_all_there_is():
    # Blocks of 6 in, sashing of 1 in: 3 × 7 − 1 = 20 by 4 × 7 − 1 = 27 in. Borders of 1 1/2 and 3 in: 29 × 36 in.
    setting = Setting(3, 4, 1.0, (1.5, 3.0), True, 2.5)
    quilt = build_quilt(work_of(setting), allowance=0.25, fabric_width=40)
    assert (quilt.width, quilt.height) == (29, 36)
    assert [(band.name, band.number, band.width, band.length) for band in quilt.bands] == [
        ("sashing between blocks", 8, 1.5, 6.5),
        ("sashing between rows", 3, 1.5, 20.5),
        ("border 1, sides", 2, 2.0, 27.5),
        ("border 1, top and bottom", 2, 2.0, 23.5),
        ("border 2, sides", 2, 3.5, 30.5),
        ("border 2, top and bottom", 2, 3.5, 29.5),
        # 2 × (29 + 36) + 10 = 140 in: four strips of 40.
        ("binding", 4, 2.5, 40),
        # 37 × 44 in: one length of 44 in of a fabric of 40 in.
        ("backing", 1, 40, 44),
    ]
    assert quilt.cells[0].at == (4.5, 4.5)
    assert quilt.cells[-1].at == (4.5 + 14, 4.5 + 21)
    told = " ".join(write_setting(quilt, lengths=Lengths()))
    assert "4 rows of 3 blocks" in told


def test_long_strips_are_joined_from_several():
    # 12 blocks of 6 in side by side are 72 in; with borders of 4 in the upper one is cut 4 1/2 × 80 1/2 in: 1/2 in is
    # lost at each join, so 40 + 40 + 1 1/2 in.
    quilt = build_quilt(work_of(Setting(12, 1, 0.0, (4.0,))), allowance=0.25, fabric_width=40)
    cuts = [
        (fabric.name, cut.short, cut.long) for fabric, cut in setting_cuts(quilt, allowance=0.25, fabric_width=40)
    ]
    assert [band.length for band in quilt.bands] == [6.5, 80.5]
    assert (
        cuts
        == [("border 1", 4.5, 6.5)] * 2 + [("border 1", 4.5, 40), ("border 1", 4.5, 40), ("border 1", 1.5, 4.5)] * 2
    )


def test_a_wide_backing_is_pieced():
    # 60 × 72 in and 4 in all round: 68 × 80 in; two lengths of 80 in (160 in) or, across, three of 68 in (204 in).
    quilt = build_quilt(work_of(Setting(10, 12, backing=True), copies=120), allowance=0.25, fabric_width=40)
    assert [(band.number, band.length) for band in quilt.bands] == [(2, 80)]


def test_mirror_twins_are_mixed_in():
    quilt = build_quilt(work_of(Setting(3, 4), mirrored=6), allowance=0.25, fabric_width=40)
    assert sum(cell.twin for cell in quilt.cells) == 6


def test_setting_and_blocks_must_fit():
    with pytest.raises(OptionError, match="3 × 3 = 9 blocks, but 12 are sewn"):
        build_quilt(work_of(Setting(3, 3)), allowance=0.25, fabric_width=40)
    blocks = [BlockWork(seamtree.plan(squares(n, n)), str(n)) for n in (2, 3)]
    work = build_work(blocks, title="quilt", setting=Setting(2, 1))
    with pytest.raises(OptionError, match="have one size"):
        build_quilt(work, allowance=0.25, fabric_width=40)
