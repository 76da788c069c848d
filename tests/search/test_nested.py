import sys

import pytest

from seamtree.search.nested import Nested, follow


def _sum_to(n: int) -> Nested[int]:
    return n + (yield _sum_to(n - 1)) if n else 0


def test_calls_nest_deeper_than_the_process_allows_and_leave_its_limit_alone():
    before = sys.getrecursionlimit()
    deep = 20 * before
    assert follow(_sum_to(deep)) == deep * (deep + 1) // 2
    assert sys.getrecursionlimit() == before


def _raising(n: int) -> Nested[int]:
    if not n:
        raise KeyError("deep down")
    return (yield _raising(n - 1))


def _catching(n: int, left: list[str]) -> Nested[int]:
    try:
        return (yield _raising(n))
    except KeyError:
        left.append("caught")
        return 1 + (yield _sum_to(n))
    finally:
        left.append("left")


def test_errors_pass_through_all_that_wait_to_one_that_knows_what_to_do():
    with pytest.raises(KeyError, match="deep down"):
        follow(_raising(5000))
    left: list[str] = []
    assert follow(_catching(5000, left)) == 1 + 5000 * 5001 // 2
    assert left == ["caught", "left"]
