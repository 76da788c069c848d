"""Many ways to falsify a plan, each tried on many plans: the replay catches every one.

`test_replay.py` looks at what the replay says; here only truth counts. A way changes a copy of a plan, or finds that
the plan has nothing that it could falsify. Where a change may leave the plan true (patches may be sewn in several
orders), the way itself makes sure by plain geometry that it does not.
"""

from __future__ import annotations

import copy
import math
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise, permutations
from typing import Any

import pytest

from seamtree.block.assemble import Face, assemble_block
from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ReplayError
from seamtree.planning.build import plan
from seamtree.planning.replay import replay
from seamtree.planning.report import block_json
from tests.support import layouts
from tests.support.random_layouts import random_layout

Answer = dict[str, Any]
Way = Callable[["Draft"], bool]

PLANS = 100
RANDOM_SEEDS = range(400)


@dataclass
class Draft:
    """A plan as data that may be changed, with the block that it is for."""

    block: Block
    answer: Answer
    rng: random.Random

    def joins(self) -> list[Answer]:
        return sorted((n for n in self.nodes() if n["kind"] == "join"), key=lambda node: node["step"])

    def units(self) -> list[Answer]:
        found = [n for n in self.nodes() if n["kind"] == "unit"]
        return sorted(found, key=lambda unit: (len(unit["name"]), unit["name"]))

    def nodes(self) -> Iterator[Answer]:
        stack = [self.answer["tree"]]
        while stack:
            node = stack.pop()
            yield node
            stack += node.get("parts", ())

    def entry(self, patch_id: str) -> Answer:
        return next(entry for entry in self.answer["patches"] if entry["id"] == patch_id)

    def pick(self, choices):
        """Return one of the choices at random, None if there are none."""
        choices = list(choices)
        return self.rng.choice(choices) if choices else None

    def exchange(self, one: str, other: str) -> None:
        """Give two patches each other's numbers."""
        a, b = self.entry(one), self.entry(other)
        for key in ("polygon", "fabric", "label"):
            a[key], b[key] = b[key], a[key]

    def index(self, patch_id: str) -> int:
        """Return which patch of the block has a number."""
        ring = {tuple(corner) for corner in self.entry(patch_id)["polygon"]}
        return next(p for p in range(len(self.block.patches)) if rounded(self.block.polygon(p)) == ring)

    def is_chain(self, ids) -> bool:
        """Tell whether patches can be sewn in turn, looking only at which sides each shares with those before it."""
        return is_chain(self.block, tuple(self.index(patch_id) for patch_id in ids))

    def rename(self, names: dict[str, str]) -> None:
        """Give patches other numbers, in the list and in the tree."""
        for entry in self.answer["patches"]:
            entry["id"] = names.get(entry["id"], entry["id"])
        for unit in self.units():
            unit["patches"] = [names.get(patch_id, patch_id) for patch_id in unit["patches"]]

    def name_in_order(self) -> None:
        """Name units, patches and joins by their places in the tree, as a plan should, and count them anew."""
        names: dict[str, str] = {}
        letters = iter("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
        stack, step = [(self.answer["tree"], False)], 0
        while stack:
            node, ready = stack.pop()
            if node["kind"] == "unit":
                node["name"] = next(letters)
                names |= {p: f"{node['name']}{k}" for k, p in enumerate(node["patches"], 1)}
            elif ready:
                step += 1
                node["step"] = step
            else:
                stack += [(node, True), (node["parts"][1], False), (node["parts"][0], False)]
        self.rename(names)
        units = self.units()
        self.answer["repeats"] = []
        self.answer["proven"] = False
        self.answer["bound"]["units"] = 1
        self.answer["counts"] |= {
            "units": len(units),
            "foundations": len(units),
            "joins": step,
            "single_patches": sum(len(unit["patches"]) == 1 for unit in units),
        }


def rounded(polygon) -> set[tuple[float, float]]:
    return {(round(x, 6), round(y, 6)) for x, y in polygon}


def shared_sides(block: Block, patch: int, others: set[int]) -> list[int]:
    return [
        k for k, e in enumerate(block.edges) if {e.left, e.right} - {patch} <= others and patch in (e.left, e.right)
    ]


def is_chain(block: Block, order: tuple[int, ...]) -> bool:
    for k in range(1, len(order)):
        edges = [
            e
            for e in block.edges
            if e.interior and {e.left, e.right} <= set(order[: k + 1]) and order[k] in (e.left, e.right)
        ]
        if not edges or not one_straight_run(block, edges):
            return False
    return True


def one_straight_run(block: Block, edges) -> bool:
    """Tell whether edges hang together and no corner of them lies off the line from end to end."""
    arms: dict[int, int] = {}
    for edge in edges:
        for j in (edge.start, edge.end):
            arms[j] = arms.get(j, 0) + 1
    ends = [j for j, n in arms.items() if n == 1]
    if len(ends) != 2:
        return False
    (ax, ay), (bx, by) = (block.junctions[j] for j in ends)
    length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    away = [((x - ax) * (by - ay) - (y - ay) * (bx - ax)) / length for x, y in (block.junctions[j] for j in arms)]
    return max(away) - min(away) <= 2 * block.tolerance


# -- ways: numbers --------------------------------------------------------------------------------------------


def swap_two_numbers_of_a_unit(draft: Draft) -> bool:
    pairs = []
    for unit in draft.units():
        ids = unit["patches"]
        for a, b in permutations(range(len(ids)), 2):
            swapped = list(ids)
            swapped[a], swapped[b] = ids[b], ids[a]
            if a < b and not draft.is_chain(swapped):
                pairs.append((ids[a], ids[b]))
    pair = draft.pick(pairs)
    if pair is None:
        return False
    draft.exchange(*pair)
    return True


def swap_numbers_of_two_units(draft: Draft) -> bool:
    # The units divide the block in another way then, unless each is a single patch.
    units = draft.units()
    pair = draft.pick((a, b) for a in units for b in units if a is not b and len(a["patches"]) > 1)
    if pair is None:
        return False
    draft.exchange(*(draft.pick(unit["patches"]) for unit in pair))
    return True


def sew_a_unit_backwards(draft: Draft) -> bool:
    unit = draft.pick(u for u in draft.units() if not draft.is_chain(u["patches"][::-1]))
    if unit is None:
        return False
    ids = unit["patches"]
    draft.rename(dict(zip(ids, ids[::-1], strict=True)))
    unit["patches"] = ids
    return True


def sew_a_patch_to_one_that_it_does_not_touch(draft: Draft) -> bool:
    choices = []
    for unit in draft.units():
        first, *rest = unit["patches"]
        at = draft.index(first)
        choices += [(unit, p) for p in rest if not shared_sides(draft.block, at, {draft.index(p)})]
    choice = draft.pick(choices)
    if choice is None:
        return False
    unit, far = choice
    draft.exchange(unit["patches"][1], far)
    return True


def number_a_unit_from_two(draft: Draft) -> bool:
    unit = draft.units()[0]
    draft.rename({p: f"{unit['name']}{k}" for k, p in enumerate(unit["patches"], 2)})
    return True


def use_a_number_twice(draft: Draft) -> bool:
    first, second = draft.answer["patches"][:2]
    second["id"] = first["id"]
    return True


# -- ways: patches --------------------------------------------------------------------------------------------


def forget_a_patch(draft: Draft) -> bool:
    draft.pick(draft.units())["patches"].pop()
    return True


def forget_a_patch_and_its_polygon(draft: Draft) -> bool:
    last = draft.pick(draft.units())["patches"].pop()
    draft.answer["patches"].remove(draft.entry(last))
    draft.answer["counts"]["patches"] -= 1
    return True


def list_a_polygon_twice(draft: Draft) -> bool:
    first, second = draft.rng.sample(draft.answer["patches"], 2)
    first["polygon"] = copy.deepcopy(second["polygon"])
    return True


def move_a_corner_by_a_hair(draft: Draft) -> bool:
    corner = draft.pick(draft.pick(draft.answer["patches"])["polygon"])
    corner[draft.rng.randrange(2)] += 1e-4
    return True


def leave_out_a_corner(draft: Draft) -> bool:
    polygon = draft.pick(draft.answer["patches"])["polygon"]
    polygon.pop(draft.rng.randrange(len(polygon)))
    return True


def cross_over_the_sides_of_a_patch(draft: Draft) -> bool:
    polygon = draft.pick(entry["polygon"] for entry in draft.answer["patches"] if len(entry["polygon"]) > 3)
    if polygon is None:
        return False
    polygon[0], polygon[1] = polygon[1], polygon[0]
    return True


def mirror(draft: Draft) -> bool:
    """Mirror all places, where the block does not look the same in a mirror."""
    answer = draft.answer
    before = looks(answer)
    places = [corner for entry in answer["patches"] for corner in entry["polygon"]]
    for join in draft.joins():
        places += join["seam"]["path"] + join["seam"]["matched"] + join["nests"]
        places += [corner["at"] for corner in join["seam"]["corners"]]
    for place in places:
        place[0] = round(answer["width"] - place[0], 6)
    return looks(answer) != before


def looks(answer: Answer) -> set[frozenset[tuple[int, int]]]:
    """Return the patches as they look to the eye: corners in thousandths of an inch."""
    return {frozenset((round(1000 * x), round(1000 * y)) for x, y in e["polygon"]) for e in answer["patches"]}


# -- ways: the tree -------------------------------------------------------------------------------------------


def move_a_patch_to_another_unit(draft: Draft) -> bool:
    units = draft.units()
    pair = draft.pick((a, b) for a in units for b in units if a is not b and len(a["patches"]) > 1)
    if pair is None:
        return False
    pair[1]["patches"].append(pair[0]["patches"].pop())
    draft.name_in_order()
    return True


def drop_a_join(draft: Draft) -> bool:
    if not draft.joins():
        return False
    draft.answer["tree"] = draft.pick(draft.answer["tree"]["parts"])
    draft.name_in_order()
    return True


def exchange_two_units_in_the_tree(draft: Draft) -> bool:
    units = draft.units()
    siblings = [join["parts"] for join in draft.joins() if all(part["kind"] == "unit" for part in join["parts"])]
    pair = draft.pick(
        (a, b) for a in units for b in units if a is not b and not any(a in s and b in s for s in siblings)
    )
    if pair is None:
        return False
    (one, other), (first, second) = pair, ({**pair[0]}, {**pair[1]})
    one |= second
    other |= first
    draft.name_in_order()
    return True


def join_in_another_order(draft: Draft) -> bool:
    """Sew (A to B) to C as A to (B to C), each seam in the place that it had."""
    join = draft.pick(j for j in draft.joins() if j["parts"][0]["kind"] == "join")
    if join is None:
        return False
    inner, last = join["parts"]
    first, second = inner["parts"]
    inner["parts"] = [second, last]
    join["parts"] = [first, inner]
    draft.name_in_order()
    return True


def call_two_units_one(draft: Draft) -> bool:
    """Sew a unit's patches on to another unit, where neither order can be sewn."""
    choices = []
    for join in draft.joins():
        if all(part["kind"] == "unit" for part in join["parts"]):
            ids = [p for part in join["parts"] for p in part["patches"]]
            if not draft.is_chain(ids):
                choices.append((join, ids))
    choice = draft.pick(choices)
    if choice is None:
        return False
    join, ids = choice
    seam = join["seam"]
    draft.answer["counts"]["matched_points"] -= len(seam["matched"])
    draft.answer["counts"]["nesting_points"] -= len(join["nests"])
    join.clear()
    join |= {"kind": "unit", "name": "", "patches": ids}
    draft.name_in_order()
    return True


def exchange_two_steps(draft: Draft) -> bool:
    joins = draft.joins()
    pair = draft.pick((a, b) for a in joins for b in a["parts"] if b["kind"] == "join")
    if pair is None:
        return False
    pair[0]["step"], pair[1]["step"] = pair[1]["step"], pair[0]["step"]
    return True


def skip_a_step(draft: Draft) -> bool:
    join = draft.pick(draft.joins())
    if join is None:
        return False
    join["step"] = len(draft.joins()) + 1
    return True


def exchange_names_of_units(draft: Draft) -> bool:
    if len(draft.units()) < 2:
        return False
    one, other = draft.rng.sample(draft.units(), 2)
    one["name"], other["name"] = other["name"], one["name"]
    return True


def sew_a_part_to_itself(draft: Draft) -> bool:
    if not draft.joins():
        return False
    join = draft.pick(draft.joins())
    join["parts"][1] = copy.deepcopy(join["parts"][0])
    return True


# -- ways: seams ----------------------------------------------------------------------------------------------


def seam_way(change: Callable[[Draft, Answer], bool]) -> Way:
    """Make a way of a change of one join."""

    def way(draft: Draft) -> bool:
        joins = draft.joins()
        draft.rng.shuffle(joins)
        return any(change(draft, join) for join in joins)

    way.__name__ = change.__name__
    return way


@seam_way
def stop_a_seam_short(draft: Draft, join: Answer) -> bool:
    join["seam"]["path"].pop(draft.pick([0, -1]))
    return True


@seam_way
def carry_a_seam_on(draft: Draft, join: Answer) -> bool:
    path = join["seam"]["path"]
    ends = [corner for entry in draft.answer["patches"] for corner in entry["polygon"] if corner not in path]
    path.append(list(draft.pick(ends)))
    return True


@seam_way
def sew_a_seam_in_disorder(draft: Draft, join: Answer) -> bool:
    path = join["seam"]["path"]
    if len(path) < 3:
        return False
    path[0], path[1] = path[1], path[0]
    return True


@seam_way
def shift_a_seam(draft: Draft, join: Answer) -> bool:
    for corner in join["seam"]["path"]:
        corner[0] += 0.01
    return True


def exchange_two_seams(draft: Draft) -> bool:
    if len(draft.joins()) < 2:
        return False
    one, other = draft.rng.sample(draft.joins(), 2)
    one["seam"], other["seam"] = other["seam"], one["seam"]
    return True


@seam_way
def give_a_wrong_length(draft: Draft, join: Answer) -> bool:
    join["seam"]["length"] = draft.pick([0.0, -join["seam"]["length"], join["seam"]["length"] + 0.01, float("nan")])
    return True


@seam_way
def claim_a_bent_seam_straight(draft: Draft, join: Answer) -> bool:
    seam = join["seam"]
    if not seam["corners"]:
        return False
    counts = draft.answer["counts"]
    for corner in seam["corners"]:
        counts[corner["kind"].replace("-", "_")] -= 1
    counts["excess_pivots"] -= max(0, len(seam["corners"]) - 2)
    seam["kind"], seam["corners"] = "straight", []
    settle_verdict(draft)
    return True


@seam_way
def claim_a_straight_seam_bent(draft: Draft, join: Answer) -> bool:
    seam = join["seam"]
    if seam["corners"] or len(seam["path"]) < 3 or not is_exactly_straight(seam["path"]):
        return False
    kind = draft.pick(["set-in", "curved"])
    seam["kind"] = kind
    seam["corners"] = [{"kind": kind, "at": seam["path"][1], "reason": "the line bends more than cloth forgives"}]
    draft.answer["counts"][kind.replace("-", "_")] += 1
    settle_verdict(draft)
    return True


def is_exactly_straight(path) -> bool:
    (ax, ay), (bx, by) = path[0], path[-1]
    return all(abs((x - ax) * (by - ay) - (y - ay) * (bx - ax)) < 1e-9 for x, y in path)


@seam_way
def overlook_one_of_several_corners(draft: Draft, join: Answer) -> bool:
    corners = join["seam"]["corners"]
    if len(corners) < 2 or any(corner["kind"] == "curved" for corner in corners):
        return False
    gone = corners.pop(draft.rng.randrange(len(corners)))
    counts = draft.answer["counts"]
    counts[gone["kind"].replace("-", "_")] -= 1
    counts["excess_pivots"] -= len(corners) >= 2
    join["seam"]["kind"] = next(k for k in ("set-in", "partial") if any(c["kind"] == k for c in corners))
    settle_verdict(draft)
    return True


@seam_way
def call_a_corner_curved(draft: Draft, join: Answer) -> bool:
    if [corner["kind"] for corner in join["seam"]["corners"]] not in (["set-in"], ["partial"]):
        return False
    (corner,) = join["seam"]["corners"]
    draft.answer["counts"][corner["kind"].replace("-", "_")] -= 1
    draft.answer["counts"]["curved"] += 1
    corner["kind"] = join["seam"]["kind"] = "curved"
    return True


@seam_way
def count_a_curve_twice(draft: Draft, join: Answer) -> bool:
    """Give two corners of one curve, or two corners that no curve passes."""
    seam = join["seam"]
    if [corner["kind"] for corner in seam["corners"]] != ["curved"] or len(seam["path"]) < 4:
        return False
    (corner,) = seam["corners"]
    other = draft.pick(place for place in seam["path"][1:-1] if place != corner["at"])
    seam["corners"].append({**corner, "at": other})
    draft.answer["counts"]["curved"] += 1
    draft.answer["bound"]["hard_corners"] = 1
    return True


@seam_way
def overlook_one_of_two_curves(draft: Draft, join: Answer) -> bool:
    seam = join["seam"]
    if [corner["kind"] for corner in seam["corners"]] != ["curved", "curved"]:
        return False
    seam["corners"].pop()
    draft.answer["counts"]["curved"] -= 1
    draft.answer["bound"]["hard_corners"] -= 1
    return True


@seam_way
def call_a_set_in_corner_partial(draft: Draft, join: Answer) -> bool:
    """Where only two sides meet, so that nothing can be in line with either of them."""
    for corner in join["seam"]["corners"]:
        if corner["kind"] == "set-in" and arms_at(draft.block, corner["at"]) == 2:
            corner["kind"] = "partial"
            draft.answer["counts"]["set_in"] -= 1
            draft.answer["counts"]["partial"] += 1
            kinds = [c["kind"] for c in join["seam"]["corners"]]
            join["seam"]["kind"] = "set-in" if "set-in" in kinds else "partial"
            return True
    return False


def arms_at(block: Block, place) -> int:
    junctions = [j for j, at in enumerate(block.junctions) if [round(v, 6) for v in at] == list(place)]
    return sum(junctions[0] in (edge.start, edge.end) for edge in block.edges)


@seam_way
def put_a_corner_elsewhere(draft: Draft, join: Answer) -> bool:
    seam = join["seam"]
    if not seam["corners"]:
        return False
    seam["corners"][0]["at"] = seam["path"][0]
    return True


@seam_way
def give_the_wrong_kind_of_seam(draft: Draft, join: Answer) -> bool:
    kinds = {"straight", "partial", "set-in", "curved"} - {join["seam"]["kind"]}
    join["seam"]["kind"] = draft.pick(sorted(kinds))
    return True


@seam_way
def overlook_a_matched_point(draft: Draft, join: Answer) -> bool:
    matched = join["seam"]["matched"]
    if not matched:
        return False
    gone = matched.pop()
    draft.answer["counts"]["matched_points"] -= 1
    if gone in join["nests"]:
        join["nests"].remove(gone)
        draft.answer["counts"]["nesting_points"] -= 1
    return True


@seam_way
def invent_a_matched_point(draft: Draft, join: Answer) -> bool:
    free = [corner for corner in join["seam"]["path"] if corner not in join["seam"]["matched"]]
    join["seam"]["matched"].append(draft.pick(free))
    draft.answer["counts"]["matched_points"] += 1
    return True


@seam_way
def claim_that_a_point_nests(draft: Draft, join: Answer) -> bool:
    matched = [point for point in join["seam"]["matched"] if point not in join["nests"]]
    if not matched:
        return False
    join["nests"].append(matched[0])
    draft.answer["counts"]["nesting_points"] += 1
    return True


@seam_way
def deny_that_a_point_nests(draft: Draft, join: Answer) -> bool:
    if not join["nests"]:
        return False
    join["nests"].pop()
    draft.answer["counts"]["nesting_points"] -= 1
    return True


@seam_way
def press_to_no_side(draft: Draft, join: Answer) -> bool:
    join["press"] = draft.pick([2, -1, True, None])
    return True


def press_a_stem_the_other_way(draft: Draft) -> bool:
    """Turn a join whose seam arrives at a point that nests; nothing else changes there."""
    joins = draft.joins()
    nests = [point for join in joins for point in join["nests"]]
    for join in joins:
        path = join["seam"]["path"]
        # A seam that comes once to a point that nests, and meets a single other seam there.
        if any(end in nests and arms_at(draft.block, end) == 4 for end in (path[0], path[-1])):
            join["press"] = 1 - join["press"]
            return True
    return False


# -- ways: figures --------------------------------------------------------------------------------------------


def settle_verdict(draft: Draft) -> None:
    """Let verdict and bound follow from the counts."""
    counts = draft.answer["counts"]
    hard = counts["set_in"] + counts["partial"] + counts["curved"]
    draft.answer["verdict"] = "hard corners" if hard else "joined units" if counts["joins"] else "single unit"
    draft.answer["bound"]["hard_corners"] = hard


def miscount(draft: Draft) -> bool:
    counts = draft.answer["counts"]
    name = draft.pick(sorted(counts))
    counts[name] += draft.pick([-1, 1])
    return True


def count_in_words(draft: Draft) -> bool:
    counts = draft.answer["counts"]
    name = draft.pick(sorted(counts))
    counts[name] = draft.pick([str(counts[name]), None, [counts[name]], float(counts[name])])
    return True


def give_another_verdict(draft: Draft) -> bool:
    verdicts = {"single unit", "joined units", "hard corners", "sewable", ""} - {draft.answer["verdict"]}
    draft.answer["verdict"] = draft.pick(sorted(verdicts))
    return True


def claim_a_bound_above_the_plan(draft: Draft) -> bool:
    draft.answer["proven"] = False
    draft.answer["bound"][draft.pick(sorted(draft.answer["bound"]))] += draft.rng.randint(1, 3) + 100
    return True


def claim_a_proof_below_the_plan(draft: Draft) -> bool:
    draft.answer["proven"] = True
    draft.answer["bound"]["units"] = draft.answer["counts"]["units"] - 1
    return True


def give_another_size(draft: Draft) -> bool:
    side = draft.pick(["width", "height"])
    draft.answer[side] = draft.pick([draft.answer[side] + 0.001, 0.0, -draft.answer[side], float("inf")])
    return True


def call_different_units_repeats(draft: Draft) -> bool:
    """Say that two units with other numbers of patches, or of other area, are sewn on one foundation."""
    units = draft.units()
    pair = draft.pick(
        (a, b)
        for a in units
        for b in units
        if a["name"] < b["name"] and abs(area(draft, a) - area(draft, b)) > 0.2 * max(area(draft, a), area(draft, b))
    )
    if pair is None:
        return False
    draft.answer["repeats"] = [[unit["name"] for unit in pair]]
    draft.answer["counts"]["foundations"] = len(units) - 1
    return True


def area(draft: Draft, unit: Answer) -> float:
    doubled = 0.0
    for patch_id in unit["patches"]:
        ring = draft.entry(patch_id)["polygon"]
        doubled += abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*ring, ring[0]])))
    return doubled / 2


def repeat_with_another_fabric(draft: Draft) -> bool:
    group = draft.pick(draft.answer["repeats"])
    if group is None:
        return False
    draft.entry(f"{group[0]}1")["fabric"] = "#123456"
    return True


def number_repeats_differently(draft: Draft) -> bool:
    """Exchange two patches of a repeated unit that differ in area, where that order can be sewn as well."""
    for group in draft.answer["repeats"]:
        ids = next(unit["patches"] for unit in draft.units() if unit["name"] == group[0])
        for a, b in permutations(range(len(ids)), 2):
            swapped = list(ids)
            swapped[a], swapped[b] = ids[b], ids[a]
            sizes = [area(draft, {"patches": [p]}) for p in (ids[a], ids[b])]
            if draft.is_chain(swapped) and abs(sizes[0] - sizes[1]) > 0.2 * max(sizes):
                draft.exchange(ids[a], ids[b])
                return True
    return False


def name_a_unit_that_does_not_exist(draft: Draft) -> bool:
    draft.answer["repeats"] = [*draft.answer["repeats"], ["ZZZ", "ZZY"]]
    draft.answer["counts"]["foundations"] -= 1
    return True


def leave_out_something(draft: Draft) -> bool:
    holders = [
        (draft.answer, k) for k in ("width", "height", "verdict", "proven", "bound", "counts", "patches", "tree")
    ]
    holders += [(draft.answer["counts"], k) for k in draft.answer["counts"]]
    holders += [(join, k) for join in draft.joins() for k in ("step", "seam", "parts", "press", "nests", "kind")]
    holders += [(join["seam"], k) for join in draft.joins() for k in join["seam"] if k != "length"]
    holder, key = draft.pick(holders)
    del holder[key]
    return True


def put_rubbish_somewhere(draft: Draft) -> bool:
    holders = [
        (draft.answer, k) for k in ("width", "height", "verdict", "bound", "counts", "patches", "tree", "repeats")
    ]
    holders += [(entry, k) for entry in draft.answer["patches"] for k in ("id", "polygon")]
    holders += [(join, k) for join in draft.joins() for k in ("step", "seam", "parts", "nests")]
    holders += [(join["seam"], k) for join in draft.joins() for k in ("path", "matched", "corners")]
    holder, key = draft.pick(holders)
    holder[key] = draft.pick(
        [None, 7.25, "tide", ["tide", 7], {"tide": 7}, [[float("nan"), float("inf")]], [[10**400, 1]]]
    )
    return True


WAYS: dict[Way, int] = {
    swap_two_numbers_of_a_unit: 20,
    swap_numbers_of_two_units: 30,
    sew_a_unit_backwards: 15,
    sew_a_patch_to_one_that_it_does_not_touch: 20,
    number_a_unit_from_two: PLANS,
    use_a_number_twice: PLANS,
    forget_a_patch: PLANS,
    forget_a_patch_and_its_polygon: PLANS,
    list_a_polygon_twice: PLANS,
    move_a_corner_by_a_hair: PLANS,
    leave_out_a_corner: PLANS,
    cross_over_the_sides_of_a_patch: 40,
    mirror: 30,
    move_a_patch_to_another_unit: 30,
    drop_a_join: 30,
    exchange_two_units_in_the_tree: 20,
    join_in_another_order: 15,
    call_two_units_one: 20,
    exchange_two_steps: 15,
    skip_a_step: 30,
    exchange_names_of_units: 30,
    sew_a_part_to_itself: 30,
    stop_a_seam_short: 30,
    carry_a_seam_on: 30,
    sew_a_seam_in_disorder: 20,
    shift_a_seam: 30,
    exchange_two_seams: 20,
    give_a_wrong_length: 30,
    claim_a_bent_seam_straight: 10,
    claim_a_straight_seam_bent: 10,
    overlook_one_of_several_corners: 2,
    call_a_corner_curved: 5,
    count_a_curve_twice: 1,
    overlook_one_of_two_curves: 1,
    call_a_set_in_corner_partial: 1,
    put_a_corner_elsewhere: 10,
    give_the_wrong_kind_of_seam: 30,
    overlook_a_matched_point: 10,
    invent_a_matched_point: 30,
    claim_that_a_point_nests: 2,
    deny_that_a_point_nests: 10,
    press_to_no_side: 30,
    press_a_stem_the_other_way: 5,
    miscount: PLANS,
    count_in_words: PLANS,
    give_another_verdict: PLANS,
    claim_a_bound_above_the_plan: PLANS,
    claim_a_proof_below_the_plan: PLANS,
    give_another_size: PLANS,
    call_different_units_repeats: 15,
    repeat_with_another_fabric: 5,
    number_repeats_differently: 1,
    name_a_unit_that_does_not_exist: PLANS,
    leave_out_something: PLANS,
    put_rubbish_somewhere: PLANS,
}
"""The ways, and on how many of the plans each finds something to falsify at least."""


def two_curves() -> Block:
    """Two patches with a boundary that is straight, curves down, is straight, and curves back."""
    up = [(3 + 2 * math.sin(k * math.pi / 16), 4 - 2 * math.cos(k * math.pi / 16)) for k in range(9)]
    over = [(7 - 2 * math.cos(k * math.pi / 16), 6 + 2 * math.sin(k * math.pi / 16)) for k in range(9)]
    wave = [(0.0, 2.0), *up, *over, (9.0, 8.0)]
    vertices = [*wave, (9.0, 0.0), (0.0, 0.0), (9.0, 10.0), (0.0, 10.0)]
    n = len(wave)
    faces = [Face((*range(n - 1, -1, -1), n + 1, n)), Face((*range(n), n + 2, n + 3))]
    first, second = range(1, 9), range(10, 18)
    curves = {(k, k + 1): 1 for k in first} | {(k, k + 1): 2 for k in second}
    return assemble_block(vertices, faces, tolerance=0.02, name="two curves", curves=curves)


@cache
def plans() -> tuple[tuple[Block, Answer], ...]:
    """Return traditional layouts and random ones, with plans of all three verdicts."""
    blocks = [
        block_from_polygons(layouts.log_cabin()),
        block_from_polygons(layouts.pineapple()),
        block_from_polygons(layouts.squares(3, 3)),
        block_from_polygons(layouts.squares(5, 4)),
        block_from_polygons(layouts.kaleidoscope()),
        block_from_polygons(layouts.diamond_star()),
        block_from_polygons(layouts.attic_window()),
        block_from_polygons(layouts.tumbling_block()),
        block_from_polygons(layouts.hexagon_flower()),
        block_from_polygons(layouts.spun_rectangles()),
        layouts.quarter_circle(),
        two_curves(),
        block_from_polygons([[(0, 0), (4, 0), (4, 2), (2, 2), (2, 4), (0, 4)], [(2, 2), (4, 2), (4, 4), (2, 4)]]),
    ]
    for seed in RANDOM_SEEDS:
        polygons = random_layout(seed)
        if len(blocks) < PLANS and 3 <= len(polygons) <= 16:
            rng = random.Random(seed)
            blocks.append(
                block_from_polygons(
                    polygons, fabrics=[rng.choice(["#aa2233", "#224466"]) for _ in polygons], tolerance=1e-4
                )
            )
    return tuple((block, block_json(plan(block, time_limit=2))) for block in blocks)


def outlines(block: Block) -> list[list[tuple[float, float]]]:
    return [block.polygon(p) for p in range(len(block.patches))]


def test_the_plans_are_many_and_of_every_kind() -> None:
    assert len(plans()) == PLANS
    verdicts = [answer["verdict"] for _, answer in plans()]
    assert {v: verdicts.count(v) >= 10 for v in ("single unit", "joined units", "hard corners")} == {
        "single unit": True,
        "joined units": True,
        "hard corners": True,
    }
    for block, answer in plans():
        replay(outlines(block), answer, tolerance=block.tolerance, curves=block.drawn_curves())


@pytest.mark.parametrize(("way", "least"), WAYS.items(), ids=lambda value: getattr(value, "__name__", None))
def test_every_falsified_plan_is_caught(way: Way, least: int) -> None:
    falsified = 0
    for number, (block, answer) in enumerate(plans()):
        for turn in range(3):
            draft = Draft(block, copy.deepcopy(answer), random.Random(100 * number + turn))
            if not way(draft):
                break
            falsified += turn == 0
            with pytest.raises(ReplayError):
                replay(outlines(block), draft.answer, tolerance=block.tolerance, curves=block.drawn_curves())
    assert falsified >= least
