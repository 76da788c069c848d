from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import block_from_polygons
from seamtree.errors import OptionError
from seamtree.planning.build import plan
from seamtree.rating import SCALES, calibrate, default_scale, named_scale, rate
from seamtree.rating.times import WORK, Estimate, Pace, estimate, estimate_of, together, work_of
from tests.support import layouts
from tests.support.traditional import TAUGHT

TWO = replace(default_scale(), paces=(Pace("cutting", (("patches", 2.0),)), Pace("joining", (("joins", 3.0),))))


def taken(*rows) -> list[tuple[Estimate, float]]:
    """Return estimates of so many minutes of cutting and joining, each with the minutes that it took."""
    return [(Estimate((("cutting", cut), ("joining", join))), took) for cut, join, took in rows]


def test_what_a_four_patch_takes():
    four = plan(block_from_polygons(layouts.squares(2, 2), fabrics=["#111111", "#eeeeee"] * 2))
    assert work_of(four) == {
        **dict.fromkeys(WORK, 0),
        "patches": 4,
        "fabrics": 2,
        "units": 2,
        "seams": 2,
        "joins": 1,
        "seam_inches": 8.0,
        "join_inches": 4.0,
        "matched_points": 1,
    }
    assert estimate(four, TWO) == Estimate((("cutting", 8.0), ("joining", 3.0)))
    assert rate(four, scale=TWO, changes=False).time.minutes == 11


def test_a_scale_without_minutes_tells_no_time():
    one = plan(block_from_polygons([shapely.box(0, 0, 4, 4)]))
    rating = rate(one, scale=replace(TWO, paces=()), changes=False)
    assert rating.time is None
    assert rating.to_json()["minutes"] is None


def test_the_parts_add_up_as_printed():
    time = Estimate((("a", 0.4), ("b", 10.5), ("c", 59.49)), 0.25)
    assert time.rounded == (("b", 11), ("c", 59))
    assert time.minutes == 70
    assert time.range == (53, 88)
    assert Estimate((("a", 3.0),), 2.0).range == (0, 9)


def test_blocks_of_a_drawing_together():
    one = Estimate((("a", 1.0), ("b", 2.0)), 0.1)
    assert together([one, None, one]) == Estimate((("a", 2.0), ("b", 4.0)), 0.1)
    assert together([None]) is None


@pytest.mark.parametrize("name", SCALES)
def test_more_of_anything_takes_no_less_time(name):
    scale = named_scale(name)
    work = dict.fromkeys(WORK, 3.0)
    for key in WORK:
        assert sum(minutes for _, minutes in estimate_of({**work, key: 5.0}, scale).parts) >= sum(
            minutes for _, minutes in estimate_of(work, scale).parts
        )


# -- calibration ------------------------------------------------------------------------------------------------


def test_few_times_give_one_factor_by_hand():
    # Shares of the times: 10/20 and 20/30. The least squares of f·s − 1 has f = (s1 + s2) / (s1² + s2²).
    found = calibrate(TWO, taken((6, 4, 20), (15, 5, 30)))
    factor = (1 / 2 + 2 / 3) / (1 / 4 + 4 / 9)
    assert [value for _, value in found.factors] == pytest.approx([factor, factor])
    assert not found.apart
    errors = factor / 2 - 1, factor * 2 / 3 - 1
    assert found.scale.spread == pytest.approx(math.sqrt(errors[0] ** 2 + errors[1] ** 2))
    assert found.scale.paces[0].minutes == (("patches", pytest.approx(2 * factor)),)


def test_one_time_tells_no_spread():
    found = calibrate(TWO, taken((10, 10, 30)))
    assert found.factors == (("cutting", pytest.approx(1.5)), ("joining", pytest.approx(1.5)))
    assert found.scale.spread is None


def test_times_of_different_blocks_calibrate_each_part():
    rows = [
        (cut, join, 2 * cut + 0.5 * join) for cut, join in [(10, 40), (40, 10), (5, 60), (60, 5), (30, 30), (9, 9)]
    ]
    found = calibrate(TWO, taken(*rows))
    assert found.apart
    assert dict(found.factors) == {"cutting": pytest.approx(2, rel=0.03), "joining": pytest.approx(0.5, rel=0.05)}
    assert found.scale.spread < 0.03


def test_parts_that_always_go_together_keep_their_shares():
    found = calibrate(TWO, taken(*((10.0 * k, 20.0 * k, 45.0 * k) for k in range(1, 9))))
    assert found.apart
    assert [value for _, value in found.factors] == pytest.approx([1.5, 1.5])


def test_a_part_that_never_occurred_goes_with_the_others():
    found = calibrate(TWO, taken(*((10.0 * k, 0.0, 30.0 * k) for k in range(1, 5))))
    assert [value for _, value in found.factors] == pytest.approx([3, 3])


@given(st.lists(st.tuples(st.floats(1, 100), st.floats(1, 100), st.floats(0.3, 3)), min_size=1, max_size=12))
def test_no_factor_is_below_zero_and_the_common_one_is_the_least_squares(drawn):
    rows = taken(*((cut, join, (cut + join) * off) for cut, join, off in drawn))
    found = calibrate(TWO, rows)
    assert all(factor >= 0 for _, factor in found.factors)
    if not found.apart:
        shares = np.array([[(cut + join) / took] for (cut, join, _), (_, took) in zip(drawn, rows, strict=True)])
        least = np.linalg.lstsq(shares, np.ones(len(rows)), rcond=None)[0][0]
        assert found.factors[0][1] == pytest.approx(least)


def test_nothing_can_be_learnt_from_work_without_minutes():
    with pytest.raises(OptionError, match="nothing can be learnt"):
        calibrate(TWO, taken((0, 0, 20)))


# -- by hand ----------------------------------------------------------------------------------------------------


def test_by_hand_setting_in_is_taught_early_and_small_pieces_late():
    # Common practice, from memory: hexagons, mitres and the diamond star are pieced by hand because corners are no
    # trouble there, while very many small pieces and long sharp points are.
    scale = named_scale("hand")
    named = {block.name: block for group in TAUGHT for block in group}

    def level(name: str) -> tuple[int, float]:
        rating = rate(plan(named[name].at_width(8.0), time_limit=1.0), scale=scale, changes=False)
        return rating.level, rating.score

    early = max(map(level, ("four patch", "attic window", "tumbling block", "seven-hexagon flower")))
    middle = [level(name) for name in ("quarter circle", "eight-pointed diamond star", "Ohio star")]
    late = min(map(level, ("storm at sea", "simplified feathered star", "mariner's compass")))
    assert early < min(middle)
    assert max(middle) < late
    assert early[0] == 1


def test_by_hand_takes_longer():
    star = plan(block_from_polygons(layouts.split_square_star()))
    by_machine, by_hand = (rate(star, scale=named_scale(name), changes=False).time.minutes for name in SCALES)
    assert by_hand > by_machine
