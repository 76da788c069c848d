"""Sew a plan step by step, with nothing but the polygons of its block and the plan as data.

This is the check that every plan passes before it is shown. It shares no code with the search or the planar map: it
finds anew which patches lie side by side, sews every step of the plan along the whole common boundary of two parts
that exist at that moment, looks at what is straight and where the sewist must pivot, and counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import count, pairwise
from typing import Any

from seamtree.errors import Point, ReplayError
from seamtree.planning.cloth import Chord, Cloth, sides
from seamtree.planning.pivots import HARDEST_FIRST, check_corners
from seamtree.planning.ridges import Ridges
from seamtree.planning.stated import (
    LENGTH_SLACK,
    Data,
    check_figures,
    check_largest,
    check_size,
    count_foundations,
    is_whole,
)

_COUNTED = (
    *("patches", "units", "joins", "single_patches", "foundations", "set_in", "partial", "curved"),
    *("excess_pivots", "matched_points", "nesting_points"),
)


def replay(
    polygons: Sequence[Sequence[Point]], answer: Data, *, tolerance: float, curves: Sequence[Sequence[Chord]] = ()
) -> None:
    """Check that a plan is a real sewing order of its block, and that all it says about itself is true.

    Parameters
    ----------
    polygons
        The corners of the patches of the block in turn (inches, in the frame of the plan). Neighbours share all
        corners of the boundary between them.
    answer
        The plan as data: the object of one block (see `seamtree.planning.report.block_json`).
    tolerance
        What cloth cannot tell apart, inches.
    curves
        For each smooth curve of the drawing the ends of its chords, as corners of the patches.

    Raises
    ------
    ReplayError
        If anything is wrong; the message names the step, the patches and the place.
    """
    cloth = Cloth(polygons, tolerance=tolerance, curves=curves)
    try:
        _Table(cloth, answer).sew()
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as problem:
        raise ReplayError(f"the plan is not laid out as it should be: {problem!r}") from problem


class _Table:
    """The sewing table: the parts that exist, and the figures so far.

    Parameters
    ----------
    cloth
        The patches of the block.
    answer
        The plan as data.
    """

    def __init__(self, cloth: Cloth, answer: Data) -> None:
        self.cloth = cloth
        self.answer = answer
        self.patch_of = self._match_patches()
        self.name_of = {patch: name for name, patch in self.patch_of.items()}
        self.owner = list(range(len(cloth.rings)))
        self.members = {patch: [patch] for patch in self.owner}
        self.used: set[int] = set()
        self.ridges = Ridges(cloth)
        self.units: dict[str, list[int]] = {}
        self.figures = dict.fromkeys(_COUNTED, 0)
        self.figures["patches"] = len(cloth.rings)
        self.joins_length = 0.0

    def sew(self) -> None:
        """Sew everything, then compare the figures."""
        check_size(self.cloth, self.answer)
        joins: list[tuple[Data, int, int]] = []
        self._walk(self.answer["tree"], joins)
        if len(self.used) < len(self.owner):
            left = min(set(self.owner) - self.used)
            raise ReplayError(f"patch {self.name_of[left]} is in no unit")
        self._check_steps(joins)
        for node, first, second in sorted(joins, key=lambda join: join[0]["step"]):
            self._join(node, first, second)
        self.figures["foundations"] = count_foundations(self.cloth, self.answer, self.units, self.patch_of)
        check_figures(self.cloth, self.answer, self.figures, self.joins_length)
        check_largest(self.cloth, self._asked("largest"), self.units)

    # -- the data -------------------------------------------------------------------------------------------

    def _match_patches(self) -> dict[str, int]:
        """Return which patch of the block each patch of the plan is."""
        index = {ring: patch for patch, ring in enumerate(self.cloth.rings)}
        found: dict[str, int] = {}
        missing = set(index)
        for entry in self.answer["patches"]:
            name = entry["id"]
            ring = self.cloth.turned([self.cloth.corner(point) for point in entry["polygon"]])
            if ring not in index:
                raise ReplayError(f"patch {name} at {self.cloth.place(ring[0])} is no patch of the block")
            if name in found or ring not in missing:
                raise ReplayError(f"patch {name} at {self.cloth.place(ring[0])} is listed twice")
            found[name] = index[ring]
            missing.discard(ring)
        if len(found) < len(index):
            raise ReplayError(f"the plan lists {len(found)} patches; the block has {len(index)}")
        return found

    def _walk(self, root: Data, joins: list[tuple[Data, int, int]]) -> None:
        """Sew the units in turn, and list the joins, each after its parts, with one patch of either part."""
        names = _names()
        finished: list[int] = []
        stack: list[tuple[Data, bool]] = [(root, False)]
        while stack:
            node, ready = stack.pop()
            if node["kind"] == "unit":
                # Printed units keep their letters, whichever comes first.
                finished.append(self._grow(node, node["name"] if self._asked("kept") else next(names)))
            elif node["kind"] != "join":
                raise ReplayError(f"a node of the tree is a {node['kind']!r}, neither a unit nor a join")
            elif ready:
                second, first = finished.pop(), finished.pop()
                joins.append((node, first, second))
                finished.append(first)
            else:
                first_part, second_part = node["parts"]
                stack += [(node, True), (second_part, False), (first_part, False)]

    def _asked(self, wish: str) -> Any:
        return self.answer.get("wishes", {}).get(wish)

    def _check_steps(self, joins: Sequence[tuple[Data, int, int]]) -> None:
        """Check that the joins are numbered from 1 on without a gap, each after those it needs."""
        steps = sorted(node["step"] for node, _, _ in joins)
        if steps != list(range(1, len(joins) + 1)):
            raise ReplayError(f"the joins are numbered {steps}, not from 1 to {len(joins)}")
        for node, _, _ in joins:
            for part in node["parts"]:
                if part["kind"] == "join" and part["step"] > node["step"]:
                    raise ReplayError(f"step {node['step']} joins a part that is sewn only in step {part['step']}")

    # -- sewing ---------------------------------------------------------------------------------------------

    def _grow(self, node: Data, name: str) -> int:
        """Sew a unit patch by patch and return its first patch."""
        if node["name"] != name:
            raise ReplayError(f"unit {node['name']} should be called {name}: it is next in sewing order")
        ids = list(node["patches"])
        if not ids or ids != [f"{name}{k}" for k in range(1, len(ids) + 1)]:
            raise ReplayError(f"the patches of unit {name} are numbered {', '.join(map(str, ids))}")
        first = -1
        for patch_id in ids:
            if patch_id not in self.patch_of:
                raise ReplayError(f"patch {patch_id} of unit {name} is not listed")
            patch = self.patch_of[patch_id]
            self.used.add(patch)
            if first >= 0:
                self._add(patch, first)
            first = patch if first < 0 else first
        self.units[name] = [self.patch_of[patch_id] for patch_id in ids]
        self.figures["units"] += 1
        self.figures["single_patches"] += len(ids) == 1
        return first

    def _add(self, patch: int, first: int) -> None:
        """Sew one patch onto a unit."""
        here = f"unit {self.name_of[first].rstrip('0123456789')}, patch {self.name_of[patch]}"
        common = self._common(patch, first)
        path = self._path(common, here)
        if not self.cloth.may_be_straight(path):
            raise ReplayError(
                f"{here}: its boundary with the patches before it, from {self.cloth.place(path[0])} to "
                f"{self.cloth.place(path[-1])}, is not one straight stretch"
            )
        # A patch is flipped over its seam and pressed: the allowance lies under it.
        self._press(common, patch)
        self._merge(patch, first)

    def _common(self, a: int, b: int) -> list[tuple[int, int]]:
        """Return the sides that two parts share, each as the smaller part has it."""
        one, other = sorted((self.owner[a], self.owner[b]), key=lambda part: len(self.members[part]))
        return [
            side
            for patch in self.members[one]
            for side in sides(self.cloth.rings[patch])
            if (beyond := self.cloth.patch_at.get(side[::-1])) is not None and self.owner[beyond] == other
        ]

    def _press(self, common: Sequence[tuple[int, int]], toward: int) -> None:
        """Press a seam toward the part that a patch is sewn into."""
        own = self.owner[self.cloth.patch_at[common[0]]]
        self.ridges.press(common, toward=own == self.owner[toward])

    def _merge(self, a: int, b: int) -> None:
        small, large = sorted((self.owner[a], self.owner[b]), key=lambda part: len(self.members[part]))
        moved = self.members.pop(small)
        for patch in moved:
            self.owner[patch] = large
        self.members[large] += moved

    def _path(self, common: Sequence[tuple[int, int]], here: str) -> list[int]:
        """Return the corners along a common boundary, which must be one unbroken stretch.

        It may end where it starts: at a corner where one of the parts touches itself or the outline of the block.
        """
        onward = dict(common)
        if not onward:
            raise ReplayError(f"{here}: the two parts have no boundary in common")
        starts = sorted(set(onward) - set(onward.values())) or [min(onward)]
        path = [starts[0]]
        while path[-1] in onward:
            path.append(onward.pop(path[-1]))
        if len(starts) > 1 or len(path) <= len(common):
            ends = " and ".join(self.cloth.place(n) for n in starts[:2])
            raise ReplayError(f"{here}: the two parts meet along more than one stretch, from {ends}")
        return path

    def _join(self, node: Data, first: int, second: int) -> None:
        """Sew a join."""
        here = f"step {node['step']}, {self._part_name(first)} to {self._part_name(second)}"
        common = self._common(first, second)
        true = self._path(common, here)
        seam = node["seam"]
        path = [self.cloth.corner(point) for point in seam["path"]]
        if not _same_path(path, true):
            raise ReplayError(
                f"{here}: the path of the seam is not the whole common boundary, which runs from "
                f"{self.cloth.place(true[0])} to {self.cloth.place(true[-1])}"
            )
        true_length = sum(math.dist(self.cloth.points[a], self.cloth.points[b]) for a, b in pairwise(path))
        self.joins_length += true_length
        slack = LENGTH_SLACK * len(path)
        if "length" in seam and not abs(seam["length"] - true_length) <= slack:
            raise ReplayError(f"{here}: the seam is said to be {seam['length']} in long; it is {true_length:.6f} in")
        self._check_matched(here, node, path, self.owner[first], self.owner[second])
        kinds = check_corners(self.cloth, here, seam, path)
        for name in HARDEST_FIRST:
            self.figures[name.replace("-", "_")] += list(kinds.values()).count(name)
        self.figures["excess_pivots"] += max(0, len(kinds) - 2)
        if not is_whole(node["press"]) or node["press"] not in (0, 1):
            raise ReplayError(f"{here}: it is pressed toward part {node['press']!r}; its parts are 0 and 1")
        self._press(common, (first, second)[node["press"]])
        self.figures["joins"] += 1
        self._merge(first, second)

    def _part_name(self, patch: int) -> str:
        """Return the units of the part that a patch is sewn into, for messages."""
        units = {self.name_of[p].rstrip("0123456789") for p in self.members[self.owner[patch]]}
        return "+".join(sorted(units, key=lambda name: (len(name), name)))

    # -- seams ----------------------------------------------------------------------------------------------

    def _check_matched(self, here: str, node: Data, path: Sequence[int], one: int, other: int) -> None:
        """Find the corners strictly inside a join where seams arrive from both sides, and those that nest there."""
        matched: dict[int, tuple[list[int], list[int]]] = {}
        for corner in path[1:-1]:
            arriving: dict[int, list[int]] = {one: [], other: []}
            for far in self.cloth.arms[corner]:
                arriving.setdefault(self._inside(corner, far), []).append(far)
            if arriving[one] and arriving[other]:
                matched[corner] = arriving[one], arriving[other]
        self._compare(here, "a matched point", node["seam"]["matched"], set(matched))
        nests = {self.cloth.corner(point) for point in node["nests"]}
        true = set()
        for corner, seams in matched.items():
            # Where it is in doubt which seams are in line, the plan is believed.
            believed = corner in nests and self.ridges.may_nest(corner, *seams)
            if believed or not self.ridges.may_clash(corner, *seams):
                true.add(corner)
        self._compare(here, "a point that nests", node["nests"], true)
        self.figures["matched_points"] += len(matched)
        self.figures["nesting_points"] += len(true)

    def _compare(self, here: str, what: str, points: Sequence[Sequence[float]], true: set[int]) -> None:
        """Check that a plan names just the corners that it should, each once."""
        stated = [self.cloth.corner(point) for point in points]
        if sorted(stated) != sorted(true):
            wrong = min(true.symmetric_difference(stated) or stated)
            raise ReplayError(f"{here}: {self.cloth.place(wrong)} is wrongly given as {what} or left out")

    def _inside(self, a: int, b: int) -> int:
        """Return the part that has a side strictly inside it, -1 if none has."""
        parts = {-1 if p is None else self.owner[p] for p in (self._beyond(a, b), self._beyond(b, a))}
        return parts.pop() if len(parts) == 1 else -1

    def _beyond(self, a: int, b: int) -> int | None:
        return self.cloth.patch_at.get((a, b))


def _names() -> Iterator[str]:
    """Yield A to Z, then AA, AB and so on: numbers in base 26 with no digit for nought."""
    for number in count(1):
        letters = ""
        rest = number
        while rest:
            rest, digit = divmod(rest - 1, 26)
            letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[digit] + letters
        yield letters


def _same_path(path: Sequence[int], true: Sequence[int]) -> bool:
    """Tell whether two paths pass the same corners, in either direction; a ring may start anywhere."""
    if true[0] != true[-1]:
        return list(path) in (list(true), list(reversed(true)))
    if len(path) != len(true) or path[0] != path[-1] or path[0] not in true:
        return False
    at = true.index(path[0])
    turned = [*true[at:-1], *true[: at + 1]]
    return list(path) in (turned, turned[::-1])
