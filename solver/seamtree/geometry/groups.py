"""What hangs together."""

from __future__ import annotations

from collections.abc import Iterable


def connected(count: int, pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """Gather things that pairs connect, however indirectly.

    Parameters
    ----------
    count
        How many things there are; their numbers are from 0 on.
    pairs
        Which of them hang together.

    Returns
    -------
    list of list of int
        The groups in the order of their least members, each in ascending order.
    """
    root = list(range(count))

    def find(n: int) -> int:
        while root[n] != n:
            root[n] = root[root[n]]
            n = root[n]
        return n

    for one, other in pairs:
        a, b = find(one), find(other)
        root[max(a, b)] = min(a, b)
    groups: dict[int, list[int]] = {}
    for n in range(count):
        groups.setdefault(find(n), []).append(n)
    return list(groups.values())
