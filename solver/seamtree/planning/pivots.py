"""Where a seam of a join pivots, and why: as a plan says it, against the cloth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

from seamtree.errors import ReplayError
from seamtree.planning.cloth import Cloth

HARDEST_FIRST = ("set-in", "partial", "curved")
"""The kinds of hard corners; a seam is of the kind of its hardest."""


def check_corners(cloth: Cloth, here: str, seam: Mapping[str, Any], path: list[int]) -> dict[int, str]:
    """Check that a seam pivots where it says and nowhere else, and why.

    Parameters
    ----------
    cloth
        The patches of the block.
    here
        What is sewn, for messages.
    seam
        The seam as the plan has it.
    path
        The corners that it passes.

    Returns
    -------
    dict
        The kind of hard corner where it has one.

    Raises
    ------
    ReplayError
        If what the plan says is not true.
    """
    kinds: dict[int, str] = {}
    for entry in seam["corners"]:
        corner, kind = cloth.corner(entry["at"]), entry["kind"]
        if kind not in HARDEST_FIRST or corner in kinds:
            raise ReplayError(f"{here}: the hard corner at {cloth.place(corner)} is given twice or as {kind!r}")
        kinds[corner] = kind
    hardest = next((kind for kind in HARDEST_FIRST if kind in kinds.values()), "straight")
    if seam["kind"] != hardest:
        raise ReplayError(f"{here}: the seam is given as {seam['kind']}; its hard corners make it {hardest}")
    for corner in kinds:
        if corner not in path[1:-1]:
            raise ReplayError(f"{here}: the hard corner at {cloth.place(corner)} is not on the seam")
    _check_stretches(cloth, here, path, kinds)
    return kinds


def _check_stretches(cloth: Cloth, here: str, path: Sequence[int], kinds: Mapping[int, str]) -> None:
    """Check what lies between the places where a seam pivots or eases round a curve, and these places."""
    pivots = [k for k in range(1, len(path) - 1) if kinds.get(path[k], "curved") != "curved"]
    curves = list(_curves(cloth, here, path, kinds))
    # A pivot is a place, a curve a run of places: what lies between two of these is straight.
    bends = [(0, 0), *sorted([*((k, k) for k in pivots), *curves]), (len(path) - 1, len(path) - 1)]
    for (_, start), (stop, _) in pairwise(bends):
        stretch = path[start : stop + 1]
        if len(stretch) > 1 and not cloth.may_be_straight(stretch):
            raise ReplayError(
                f"{here}: the seam is not straight from {cloth.place(stretch[0])} to {cloth.place(stretch[-1])}"
            )
    for (_, start), (first, _), (stop, _) in zip(bends, bends[1:], bends[2:], strict=False):
        if first not in pivots and cloth.must_be_straight(path[start : stop + 1]):
            place = cloth.place(path[start])
            raise ReplayError(f"{here}: the seam is called curved but is straight at {place}")
    ends = [0, *pivots, len(path) - 1]
    for before, at, after in zip(ends, ends[1:], ends[2:], strict=False):
        _check_pivot(cloth, here, path[before : after + 1], at - before, kinds[path[at]])


def _curves(cloth: Cloth, here: str, path: Sequence[int], kinds: Mapping[int, str]) -> Iterator[tuple[int, int]]:
    """Yield the places of the first and last corner of every drawn curve that a seam is said to ease round."""
    inside = [
        0 < k < len(path) - 1 and kinds.get(path[k], "curved") == "curved" and cloth.on_curve(*path[k - 1 : k + 2])
        for k in range(len(path))
    ]
    for k, corner in enumerate(path):
        if kinds.get(corner) != "curved":
            continue
        if not inside[k]:
            raise ReplayError(f"{here}: no curve is drawn at {cloth.place(corner)}")
        first = next(n for n in range(k, -1, -1) if not inside[n - 1])
        last = next(n for n in range(k, len(path)) if not inside[n + 1])
        if any(kinds.get(path[n]) == "curved" for n in range(first, k)):
            raise ReplayError(f"{here}: the curve at {cloth.place(corner)} is counted twice")
        for n in range(first, last + 1):
            if not cloth.may_be_smooth(*path[n - 1 : n + 2]):
                raise ReplayError(f"{here}: the seam is called curved but turns at {cloth.place(path[n])}")
        yield first, last


def _check_pivot(cloth: Cloth, here: str, stretch: Sequence[int], at: int, kind: str) -> None:
    """Check that a seam really pivots at a corner, and that this is a partial seam where it says so."""
    before, corner, after = stretch[at - 1 : at + 2]
    if cloth.must_be_straight(stretch):
        raise ReplayError(f"{here}: the seam goes straight on at {cloth.place(corner)}")
    others = [far for far in cloth.arms[corner] if far not in (before, after)]
    if kind == "partial":
        true = any(cloth.may_be_in_line(far, corner, end) for far in others for end in (before, after))
    else:
        bend = cloth.may_be_in_line(before, corner, after)
        true = bend or not any(cloth.must_be_in_line(far, corner, end) for far in others for end in (before, after))
    if not true:
        raise ReplayError(f"{here}: the hard corner at {cloth.place(corner)} is wrongly given as {kind}")
