"""Sew a plan step by step, with nothing but the polygons of its block and the plan as data.

This is the check that every plan passes before it is shown. It shares no code with the search or the planar map: it
finds anew which patches lie side by side, sews every step of the plan along the whole common boundary of two parts
that exist at that moment, looks at what is straight and where the sewist must pivot, and counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import count, pairwise
from typing import Any

import numpy as np

from seamtree.errors import Point, ReplayError
from seamtree.planning.cloth import Chord, Cloth, sides
from seamtree.planning.copies import are_copies
from seamtree.planning.ridges import Ridges

Data = Mapping[str, Any]

_HARDEST_FIRST = ("set-in", "partial", "curved")

_COUNTED = (
    *("patches", "units", "joins", "single_patches", "foundations", "set_in", "partial", "curved"),
    *("excess_pivots", "matched_points", "nesting_points"),
)

_LENGTH_SLACK = 1e-5
"""Inches by which a stated length may differ from the true one: coordinates and lengths are rounded."""


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


_ANGLES = 2_000
"""Angles at which the size of a unit is measured."""


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
        self._check_size()
        joins: list[tuple[Data, int, int]] = []
        self._walk(self.answer["tree"], joins)
        if len(self.used) < len(self.owner):
            left = min(set(self.owner) - self.used)
            raise ReplayError(f"patch {self.name_of[left]} is in no unit")
        self._check_steps(joins)
        for node, first, second in sorted(joins, key=lambda join: join[0]["step"]):
            self._join(node, first, second)
        self._check_repeats()
        self._check_figures()
        self._check_largest()

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

    def _check_size(self) -> None:
        xs, ys = zip(*self.cloth.points, strict=True)
        for what, stated, true in (
            ("width", self.answer["width"], max(xs) - min(xs)),
            ("height", self.answer["height"], max(ys) - min(ys)),
        ):
            if not abs(stated - true) <= _LENGTH_SLACK:
                raise ReplayError(f"the block is said to have a {what} of {stated} in; it has {true:.6f} in")

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

    def _check_largest(self) -> None:
        """Check at very many angles that no unit of several patches is larger than was asked."""
        size = self._asked("largest")
        if size is None:
            return
        angles = np.linspace(0, np.pi, _ANGLES)
        slack = math.hypot(*size) * np.pi / _ANGLES + self.cloth.tolerance
        for name, patches in self.units.items():
            at = np.array([self.cloth.points[j] for p in patches for j in self.cloth.rings[p]]) @ (1, 1j)
            turned = np.multiply.outer(np.exp(1j * angles), at)
            across, along = np.ptp(turned.real, axis=1), np.ptp(turned.imag, axis=1)
            fits = (across <= size[0] + slack) & (along <= size[1] + slack)
            if len(patches) > 1 and not fits.any():
                raise ReplayError(f"unit {name} is larger than {size[0]:g} by {size[1]:g} in however it is turned")

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
        slack = _LENGTH_SLACK * len(path)
        if "length" in seam and not abs(seam["length"] - true_length) <= slack:
            raise ReplayError(f"{here}: the seam is said to be {seam['length']} in long; it is {true_length:.6f} in")
        self._check_matched(here, node, path, self.owner[first], self.owner[second])
        self._check_corners(here, seam, path)
        if not _is_whole(node["press"]) or node["press"] not in (0, 1):
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

    def _check_corners(self, here: str, seam: Data, path: list[int]) -> None:
        """Check that a seam pivots where it says and nowhere else, and why."""
        kinds: dict[int, str] = {}
        for entry in seam["corners"]:
            corner, kind = self.cloth.corner(entry["at"]), entry["kind"]
            if kind not in _HARDEST_FIRST or corner in kinds:
                raise ReplayError(
                    f"{here}: the hard corner at {self.cloth.place(corner)} is given twice or as {kind!r}"
                )
            kinds[corner] = kind
        hardest = next((kind for kind in _HARDEST_FIRST if kind in kinds.values()), "straight")
        if seam["kind"] != hardest:
            raise ReplayError(f"{here}: the seam is given as {seam['kind']}; its hard corners make it {hardest}")
        for corner in kinds:
            if corner not in path[1:-1]:
                raise ReplayError(f"{here}: the hard corner at {self.cloth.place(corner)} is not on the seam")
        self._check_stretches(here, path, kinds)
        for name in _HARDEST_FIRST:
            self.figures[name.replace("-", "_")] += list(kinds.values()).count(name)
        self.figures["excess_pivots"] += max(0, len(kinds) - 2)

    def _check_stretches(self, here: str, path: Sequence[int], kinds: Mapping[int, str]) -> None:
        """Check what lies between the places where a seam pivots or eases round a curve, and these places."""
        pivots = [k for k in range(1, len(path) - 1) if kinds.get(path[k], "curved") != "curved"]
        curves = list(self._curves(here, path, kinds))
        # A pivot is a place, a curve a run of places: what lies between two of these is straight.
        bends = [(0, 0), *sorted([*((k, k) for k in pivots), *curves]), (len(path) - 1, len(path) - 1)]
        for (_, start), (stop, _) in pairwise(bends):
            stretch = path[start : stop + 1]
            if len(stretch) > 1 and not self.cloth.may_be_straight(stretch):
                raise ReplayError(
                    f"{here}: the seam is not straight from {self.cloth.place(stretch[0])} to "
                    f"{self.cloth.place(stretch[-1])}"
                )
        for (_, start), (first, _), (stop, _) in zip(bends, bends[1:], bends[2:], strict=False):
            if first not in pivots and self.cloth.must_be_straight(path[start : stop + 1]):
                place = self.cloth.place(path[start])
                raise ReplayError(f"{here}: the seam is called curved but is straight at {place}")
        ends = [0, *pivots, len(path) - 1]
        for before, at, after in zip(ends, ends[1:], ends[2:], strict=False):
            self._check_pivot(here, path[before : after + 1], at - before, kinds[path[at]])

    def _curves(self, here: str, path: Sequence[int], kinds: Mapping[int, str]) -> Iterator[tuple[int, int]]:
        """Yield the places of the first and last corner of every drawn curve that a seam is said to ease round."""
        inside = [
            0 < k < len(path) - 1
            and kinds.get(path[k], "curved") == "curved"
            and self.cloth.on_curve(*path[k - 1 : k + 2])
            for k in range(len(path))
        ]
        for k, corner in enumerate(path):
            if kinds.get(corner) != "curved":
                continue
            if not inside[k]:
                raise ReplayError(f"{here}: no curve is drawn at {self.cloth.place(corner)}")
            first = next(n for n in range(k, -1, -1) if not inside[n - 1])
            last = next(n for n in range(k, len(path)) if not inside[n + 1])
            if any(kinds.get(path[n]) == "curved" for n in range(first, k)):
                raise ReplayError(f"{here}: the curve at {self.cloth.place(corner)} is counted twice")
            for n in range(first, last + 1):
                if not self.cloth.may_be_smooth(*path[n - 1 : n + 2]):
                    raise ReplayError(f"{here}: the seam is called curved but turns at {self.cloth.place(path[n])}")
            yield first, last

    def _check_pivot(self, here: str, stretch: Sequence[int], at: int, kind: str) -> None:
        """Check that a seam really pivots at a corner, and that this is a partial seam where it says so."""
        before, corner, after = stretch[at - 1 : at + 2]
        if self.cloth.must_be_straight(stretch):
            raise ReplayError(f"{here}: the seam goes straight on at {self.cloth.place(corner)}")
        others = [far for far in self.cloth.arms[corner] if far not in (before, after)]
        if kind == "partial":
            true = any(self.cloth.may_be_in_line(far, corner, end) for far in others for end in (before, after))
        else:
            bend = self.cloth.may_be_in_line(before, corner, after)
            true = bend or not any(
                self.cloth.must_be_in_line(far, corner, end) for far in others for end in (before, after)
            )
        if not true:
            raise ReplayError(f"{here}: the hard corner at {self.cloth.place(corner)} is wrongly given as {kind}")

    # -- figures --------------------------------------------------------------------------------------------

    def _check_repeats(self) -> None:
        """Check that units said to be sewn on the same foundation are the same shapes and fabrics, turned."""
        fabric = {self.patch_of[entry["id"]]: entry["fabric"] for entry in self.answer["patches"]}
        foundations = len(self.units)
        named: set[str] = set()
        for names in self.answer["repeats"]:
            if len(names) < 2 or not named.isdisjoint(names) or len(set(names)) < len(names):
                raise ReplayError(f"units {', '.join(names)} are not two or more that repeat each other, named once")
            named.update(names)
            foundations -= len(names) - 1
            first, *others = (self.units[name] for name in names)
            for name, other in zip(names[1:], others, strict=True):
                if [fabric[p] for p in first] != [fabric[p] for p in other] or not are_copies(
                    self._corners(first), self._corners(other), tolerance=self.cloth.tolerance
                ):
                    raise ReplayError(f"units {names[0]} and {name} cannot be sewn on the same foundation")
        self.figures["foundations"] = foundations

    def _corners(self, patches: Sequence[int]) -> list[list[Point]]:
        return [[self.cloth.points[n] for n in self.cloth.rings[p]] for p in patches]

    def _check_figures(self) -> None:
        counts = self.answer["counts"]
        for name, true in self.figures.items():
            if not _is_whole(counts[name]) or counts[name] != true:
                raise ReplayError(f"the plan counts {counts[name]} {name.replace('_', ' ')}; there are {true}")
        hard = sum(self.figures[name] for name in ("set_in", "partial", "curved"))
        verdict = "hard corners" if hard else "joined units" if self.figures["joins"] else "single unit"
        if self.answer["verdict"] != verdict:
            raise ReplayError(f"the verdict is {self.answer['verdict']!r}; it should be {verdict!r}")
        bound = self.answer["bound"]
        figures = {"hard_corners": hard, **self.figures}
        for what in ("hard_corners", "set_in", "excess_pivots", "units", "matched_points", "foundations"):
            least, true = bound[what], figures[what]
            proven = self.answer["proven"] and what not in ("matched_points", "foundations")
            if not _is_whole(least) or not 0 <= least <= true or (proven and least != true):
                raise ReplayError(f"the plan has {true} {what.replace('_', ' ')}; its bound says {least}")
        least = bound["join_length"]
        slack = _LENGTH_SLACK * (1 + len(self.cloth.points))
        if isinstance(least, bool) or not 0 <= least <= self.joins_length + slack:
            raise ReplayError(f"the joins are {self.joins_length:.3f} in long; the bound says {least}")


def _is_whole(value: object) -> bool:
    """Tell whether a value is a whole number; yes and no are none, although Python takes them for 1 and 0."""
    return isinstance(value, int) and not isinstance(value, bool)


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
