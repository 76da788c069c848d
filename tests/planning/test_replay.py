"""Plans that can be sewn pass the replay; plans spoilt in any one place do not."""

from __future__ import annotations

import copy
import math
from dataclasses import asdict, dataclass, replace
from typing import Any

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.block.model import Block
from seamtree.errors import ReplayError
from seamtree.planning.build import plan
from seamtree.planning.model import Bound
from seamtree.planning.replay import replay
from seamtree.planning.report import block_json
from tests.support import layouts


@dataclass(frozen=True)
class Case:
    """The polygons of a block and a plan for it as data."""

    polygons: list[list[tuple[float, float]]]
    answer: dict[str, Any]
    tolerance: float
    curves: tuple = ()

    def check(self) -> None:
        replay(self.polygons, self.answer, tolerance=self.tolerance, curves=self.curves)

    def spoilt(self, spoil) -> Case:
        answer = copy.deepcopy(self.answer)
        spoil(answer)
        return replace(self, answer=answer)


def planned(layout) -> Case:
    block = layout if isinstance(layout, Block) else block_from_polygons(layout)
    polygons = [block.polygon(p) for p in range(len(block.patches))]
    return Case(polygons, block_json(plan(block)), block.tolerance, block.drawn_curves())


@pytest.fixture(scope="module")
def cases() -> dict[str, Case]:
    return {
        "cabin": planned(layouts.log_cabin()),
        "nine patch": planned(layouts.squares(3, 3)),
        "spun": planned(layouts.spun_rectangles()),
        "attic": planned(layouts.attic_window()),
        "flower": planned(layouts.hexagon_flower()),
        "quarter": planned(layouts.quarter_circle()),
        "grid": planned(layouts.squares(5, 4)),
    }


def test_real_plans_pass(cases: dict[str, Case]) -> None:
    for case in cases.values():
        case.check()


def test_corners_may_be_listed_from_anywhere_and_either_way_round(cases: dict[str, Case]) -> None:
    case = cases["nine patch"]
    turned = [[*p[2:], *p[:2]] if k % 2 else p[::-1] for k, p in enumerate(case.polygons)]
    replace(case, polygons=turned[::-1]).check()


# -- ways to spoil a plan -------------------------------------------------------------------------------------


def joins(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """The joins of a plan by step."""
    found, stack = [], [answer["tree"]]
    while stack:
        node = stack.pop()
        if node["kind"] == "join":
            found.append(node)
            stack += node["parts"]
    return sorted(found, key=lambda node: node["step"])


def units(answer: dict[str, Any]) -> list[dict[str, Any]]:
    found, stack = [], [answer["tree"]]
    while stack:
        node = stack.pop()
        if node["kind"] == "unit":
            found.append(node)
        else:
            stack += node["parts"]
    return sorted(found, key=lambda node: node["name"])


def polygon_of(answer: dict[str, Any], patch_id: str) -> dict[str, Any]:
    return next(entry for entry in answer["patches"] if entry["id"] == patch_id)


def exchange(answer: dict[str, Any], one: str, other: str) -> None:
    """Give two patches each other's numbers."""
    a, b = polygon_of(answer, one), polygon_of(answer, other)
    a["polygon"], b["polygon"] = b["polygon"], a["polygon"]


def renumber(answer: dict[str, Any], order: dict[str, str]) -> None:
    """Give patches new numbers, and list them in the order of their numbers."""
    for entry in answer["patches"]:
        entry["id"] = order.get(entry["id"], entry["id"])
    answer["patches"].sort(key=lambda entry: entry["id"])


def swap_numbers(answer):
    exchange(answer, "A1", "A9")


def reverse_unit(answer):
    renumber(answer, {f"A{k}": f"A{10 - k}" for k in range(1, 10)})


def swap_patches_of_units(answer):
    exchange(answer, "A1", "B3")


def move_patch(answer):
    last = units(answer)[0]["patches"].pop()
    units(answer)[1]["patches"].append("B4")
    renumber(answer, {last: "B4"})


def move_patch_far(answer):
    last = units(answer)[1]["patches"].pop()
    units(answer)[2]["patches"].append("C4")
    renumber(answer, {last: "C4"})


def duplicate_patch(answer):
    units(answer)[0]["patches"][1] = "A1"


def omit_patch(answer):
    units(answer)[0]["patches"].pop()


def omit_patch_everywhere(answer):
    units(answer)[-1]["patches"].pop()
    answer["patches"].pop()
    answer["counts"]["patches"] -= 1


def list_patch_twice(answer):
    answer["patches"].append(copy.deepcopy(answer["patches"][0]))


def list_polygon_twice(answer):
    answer["patches"][1]["polygon"] = answer["patches"][0]["polygon"]


def rename_patch(answer):
    answer["patches"][0]["id"] = "Q7"


def sew_ring_first(answer):
    """Sew the rectangles round the square to a ring, and leave the square for later."""
    square = next(entry["id"] for entry in answer["patches"] if sorted(entry["polygon"])[0] == [2.0, 2.0])
    round_it = [entry["id"] for entry in sorted(answer["patches"], key=along_ring) if entry["id"] != square]
    renumber(answer, {old: f"A{k}" for k, old in enumerate([*round_it, square], 1)})
    answer["tree"] = {"kind": "unit", "name": "A", "patches": [f"A{k}" for k in range(1, 6)]}


def along_ring(entry):
    xs, ys = zip(*entry["polygon"], strict=True)
    return math.atan2((min(ys) + max(ys)) / 2 - 3, (min(xs) + max(xs)) / 2 - 3)


def move_corner(answer):
    answer["patches"][0]["polygon"][0][0] += 0.01


def leave_out_corner(answer):
    answer["patches"][0]["polygon"].pop()


def drop_join(answer):
    answer["tree"] = next(part for part in answer["tree"]["parts"] if part["kind"] == "join")


def merge_units(answer):
    """Call the whole block one unit."""
    order = [patch for unit in units(answer) for patch in unit["patches"]]
    names = {old: f"A{k}" for k, old in enumerate(order, 1)}
    renumber(answer, names)
    answer["tree"] = {"kind": "unit", "name": "A", "patches": list(names.values())}


def split_unit(answer):
    """Leave the last patch of the last unit over, joined by the seam that sewed it."""
    root = answer["tree"]
    at = max(range(2), key=lambda k: root["parts"][k]["kind"] == "unit")
    unit = root["parts"][at]
    over = unit["patches"].pop()
    renumber(answer, {over: "D1"})
    corners = {tuple(c) for p in unit["patches"] for c in polygon_of(answer, p)["polygon"]}
    path = sorted(c for c in polygon_of(answer, "D1")["polygon"] if tuple(c) in corners)
    root["parts"][at] = {
        "kind": "join",
        "step": 2,
        "seam": {"kind": "straight", "path": path, "matched": [], "corners": []},
        "press": 1,
        "nests": [],
        "parts": [unit, {"kind": "unit", "name": "D", "patches": ["D1"]}],
    }
    root["step"] = 3


def swap_unit_names(answer):
    first, second, *_ = units(answer)
    first["name"], second["name"] = second["name"], first["name"]


def rename_unit(answer):
    units(answer)[-1]["name"] = "Z"


def swap_steps(answer):
    first, *_, last = joins(answer)
    first["step"], last["step"] = last["step"], first["step"]


def skip_step(answer):
    joins(answer)[-1]["step"] += 1


def swap_parts(answer):
    answer["tree"]["parts"].reverse()


def cut_path_short(answer):
    joins(answer)[0]["seam"]["path"].pop()


def prolong_path(answer):
    path = joins(answer)[0]["seam"]["path"]
    path.append(path[0])


def shuffle_path(answer):
    path = joins(answer)[-1]["seam"]["path"]
    path[0], path[1] = path[1], path[0]


def other_path(answer):
    first, second = joins(answer)
    first["seam"], second["seam"] = second["seam"], first["seam"]


def shift_path(answer):
    joins(answer)[0]["seam"]["path"][0][1] += 0.5


def falsify_length(answer):
    joins(answer)[0]["seam"]["length"] += 0.25


def call_bent_straight(answer):
    seam = next(join["seam"] for join in joins(answer) if join["seam"]["corners"])
    seam["kind"], seam["corners"] = "straight", []
    answer["counts"] |= {"set_in": 0, "partial": 0, "curved": 0, "units": answer["counts"]["units"]}
    answer["verdict"] = "joined units"
    answer["bound"]["hard_corners"] = 0


def forget_kind(answer):
    next(join["seam"] for join in joins(answer) if join["seam"]["corners"])["kind"] = "straight"


def call_straight_bent(answer):
    seam = joins(answer)[0]["seam"]
    seam["kind"] = "set-in"
    seam["corners"] = [{"kind": "set-in", "at": seam["path"][1], "reason": ""}]
    answer["counts"]["set_in"] = 1
    answer["verdict"] = "hard corners"
    answer["bound"]["hard_corners"] = 1


def call_straight_curved(answer):
    call_straight_bent(answer)
    joins(answer)[0]["seam"] |= {"kind": "curved"}
    joins(answer)[0]["seam"]["corners"][0]["kind"] = "curved"
    answer["counts"] |= {"set_in": 0, "curved": 1}


def change_kind(kind):
    def spoil(answer):
        seam = next(join["seam"] for join in joins(answer) if join["seam"]["corners"])
        counts = answer["counts"]
        for corner in seam["corners"]:
            counts[corner["kind"].replace("-", "_")] -= 1
            counts[kind.replace("-", "_")] = counts.get(kind.replace("-", "_"), 0) + 1
            corner["kind"] = kind
        seam["kind"] = kind

    return spoil


def move_hard_corner(answer):
    seam = next(join["seam"] for join in joins(answer) if join["seam"]["corners"])
    seam["corners"][0]["at"] = seam["path"][0]


def forget_hard_corner(answer):
    seam = next(join["seam"] for join in joins(answer) if len(join["seam"]["corners"]) > 1)
    seam["corners"].pop()
    answer["counts"]["set_in"] -= 1
    answer["bound"]["hard_corners"] -= 1


def double_hard_corner(answer):
    seam = next(join["seam"] for join in joins(answer) if join["seam"]["corners"])
    seam["corners"].append(seam["corners"][0])
    answer["counts"]["set_in"] += 1


def forget_matched_point(answer):
    joins(answer)[0]["seam"]["matched"].pop()
    answer["counts"]["matched_points"] -= 1


def falsify_count(name):
    def spoil(answer):
        answer["counts"][name] += 1

    return spoil


def falsify_verdict(verdict):
    def spoil(answer):
        answer["verdict"] = verdict

    return spoil


def falsify_bound(answer):
    answer["proven"] = False
    answer["bound"]["units"] += 1


def claim_proof(answer):
    answer["proven"] = True
    answer["bound"]["units"] -= 1


def falsify_size(answer):
    answer["width"] += 0.5


def unknown_node(answer):
    units(answer)[0]["kind"] = "block"


def forget_seam(answer):
    del joins(answer)[0]["seam"]


def empty_unit(answer):
    units(answer)[0]["patches"] = []


@pytest.mark.parametrize(
    ("name", "spoil", "words"),
    [
        ("cabin", swap_numbers, "unit A, patch A"),
        ("cabin", reverse_unit, "unit A, patch A"),
        ("cabin", duplicate_patch, "numbered A1, A1"),
        ("cabin", omit_patch, "A9 is in no unit"),
        ("cabin", omit_patch_everywhere, "lists 8 patches; the block has 9"),
        ("cabin", list_patch_twice, "A1 .* listed twice"),
        ("cabin", list_polygon_twice, "listed twice"),
        ("cabin", rename_patch, "patch A1 of unit A is not listed"),
        ("cabin", move_corner, "no corner at"),
        ("cabin", leave_out_corner, "A1 at .* no patch of the block"),
        ("cabin", falsify_verdict("joined units"), "the verdict is"),
        ("cabin", falsify_size, "width"),
        ("cabin", unknown_node, "neither a unit nor a join"),
        ("cabin", empty_unit, "unit A"),
        ("nine patch", swap_patches_of_units, "unit A, patch A2"),
        ("nine patch", move_patch, "step 1, A to B: the path of the seam is not the whole"),
        ("nine patch", move_patch_far, "unit C, patch C4: the two parts have no boundary in common"),
        ("nine patch", drop_join, "is in no unit"),
        ("nine patch", merge_units, "unit A, patch A"),
        ("nine patch", split_unit, "called|counts|same foundation"),
        ("nine patch", swap_unit_names, "should be called A"),
        ("nine patch", rename_unit, "should be called C"),
        ("nine patch", swap_steps, "step 1 joins a part that is sewn only in step 2"),
        ("nine patch", skip_step, r"numbered \[1, 3\]"),
        ("nine patch", swap_parts, "should be called A"),
        ("nine patch", cut_path_short, "step 1, A to B: the path of the seam is not the whole"),
        ("nine patch", prolong_path, "step 1, A to B: the path of the seam is not the whole"),
        ("nine patch", shuffle_path, r"step 2, A\+B to C: the path of the seam is not the whole"),
        ("nine patch", other_path, "step 1, A to B: the path of the seam is not the whole"),
        ("nine patch", shift_path, "no corner at"),
        ("nine patch", falsify_length, "step 1, .* 6.25 in long; it is 6.0"),
        ("nine patch", call_straight_bent, "step 1, A to B: the seam goes straight on at"),
        ("nine patch", call_straight_curved, "step 1, A to B: no curve is drawn at"),
        ("nine patch", forget_matched_point, "step 1, .* matched point"),
        ("nine patch", falsify_verdict("single unit"), "the verdict is"),
        ("nine patch", falsify_verdict("hard corners"), "the verdict is"),
        ("nine patch", falsify_bound, "bound says 4"),
        ("nine patch", claim_proof, "bound says 2"),
        ("nine patch", forget_seam, "not laid out as it should be"),
        ("spun", call_bent_straight, "step 1, .* not straight from .* to"),
        ("spun", sew_ring_first, "unit A, patch A4: the two parts meet along more than one stretch, from"),
        ("spun", forget_kind, "given as straight; its hard corners make it partial"),
        ("spun", change_kind("set-in"), "wrongly given as set-in"),
        ("spun", change_kind("curved"), "no curve is drawn at"),
        ("spun", change_kind("eased"), "given twice or as 'eased'"),
        ("spun", move_hard_corner, "is not on the seam"),
        ("spun", double_hard_corner, "given twice"),
        ("spun", falsify_verdict("joined units"), "the verdict is"),
        ("attic", change_kind("partial"), "wrongly given as partial"),
        ("attic", change_kind("curved"), "no curve is drawn at"),
        ("attic", call_bent_straight, "not straight from"),
        ("flower", forget_hard_corner, "not straight from"),
        ("flower", change_kind("partial"), "wrongly given as partial"),
        ("quarter", change_kind("set-in"), "not straight from"),
        ("quarter", call_bent_straight, "not straight from"),
        *(
            ("nine patch", falsify_count(name), f"counts [0-9]+ {name.replace('_', ' ')}; there are")
            for name in (
                "patches",
                "units",
                "joins",
                "single_patches",
                "set_in",
                "partial",
                "curved",
                "excess_pivots",
                "matched_points",
                "nesting_points",
                "foundations",
            )
        ),
    ],
    ids=lambda value: getattr(value, "__name__", None),
)
def test_a_spoilt_plan_is_found_out(cases: dict[str, Case], name: str, spoil, words: str) -> None:
    spoilt = cases[name].spoilt(spoil)
    with pytest.raises(ReplayError, match=words):
        spoilt.check()


# -- cloth that is none ---------------------------------------------------------------------------------------


def test_a_split_unit_with_all_its_figures_adapted_is_a_plan_again(cases: dict[str, Case]) -> None:
    # Shows that the spoilt plan above fails for what is spoilt and not for how it was made.
    case = cases["nine patch"]

    def spoil(answer):
        split_unit(answer)
        order = walk_ids(answer["tree"])
        answer["counts"] |= {"units": 4, "joins": 3, "single_patches": 1, "foundations": 4}
        answer["repeats"] = []
        answer["proven"] = False
        names = dict(zip(order, numbered(answer["tree"]), strict=True))
        renumber(answer, {k: f"#{v}" for k, v in names.items()})
        for entry in answer["patches"]:
            entry["id"] = entry["id"].removeprefix("#")

    case.spoilt(spoil).check()


def walk_ids(node: dict[str, Any]) -> list[str]:
    if node["kind"] == "unit":
        return list(node["patches"])
    return [patch for part in node["parts"] for patch in walk_ids(part)]


def numbered(root: dict[str, Any]) -> list[str]:
    """Give the units of a tree their names by place and return the new numbers of its patches in turn."""
    ids: list[str] = []
    letters = iter("ABCDEFG")

    def visit(node: dict[str, Any]) -> None:
        if node["kind"] == "join":
            for part in node["parts"]:
                visit(part)
            return
        node["name"] = next(letters)
        node["patches"] = [f"{node['name']}{k}" for k in range(1, len(node["patches"]) + 1)]
        ids.extend(node["patches"])

    visit(root)
    return ids


def moved(polygon, by: float):
    return [(x + by, y) for x, y in polygon]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda polygons: polygons[:-1], "no patch of the block|width|no corner"),
        (lambda polygons: [], "no patches"),
        (lambda polygons: [*polygons, polygons[0]], "overlap at"),
        (lambda polygons: [moved(polygons[0], -0.3), *polygons[1:]], "gaps, overlap|no corner"),
        (lambda polygons: [moved(polygons[4], 0.3), *polygons[:4], *polygons[5:]], "gaps, overlap"),
        (lambda polygons: [[(0, 0), (2, 2), (1.5, 0), (0, 1)], *polygons[1:]], "not a simple polygon"),
        (lambda polygons: [[(0, 0), (2, 2)], *polygons[1:]], "2 corners"),
        (lambda polygons: [[(2 * x, 2 * y) for x, y in p] for p in polygons], "no corner"),
    ],
)
def test_polygons_that_are_no_cloth_or_another_block_are_refused(cases: dict[str, Case], spoil, words: str) -> None:
    case = cases["nine patch"]
    with pytest.raises(ReplayError, match=words):
        replace(case, polygons=spoil(case.polygons)).check()


def test_neighbours_must_share_their_corners() -> None:
    answer = planned(
        [[(0, 0), (4, 0), (4, 2), (0, 2)], [(0, 2), (2, 2), (2, 4), (0, 4)], [(2, 2), (4, 2), (4, 4), (2, 4)]]
    )
    answer.check()
    bare = [
        [corner for corner in polygon if corner != (2.0, 2.0) or len(polygon) == 4] for polygon in answer.polygons
    ]
    with pytest.raises(ReplayError, match="share the corners"):
        replace(answer, polygons=bare).check()


# -- straightness ---------------------------------------------------------------------------------------------


def stack(bulge: float, tolerance: float) -> Case:
    """Two patches with a boundary that strays by half of `bulge`."""
    block = block_from_polygons(
        [
            [(0, 0), (4, 0), (4, 2), (2, 2 + bulge), (0, 2)],
            [(0, 2), (2, 2 + bulge), (4, 2), (4, 4), (0, 4)],
        ],
        tolerance=tolerance,
    )
    return Case([block.polygon(p) for p in range(2)], block_json(plan(block)), tolerance)


@pytest.mark.parametrize(("bulge", "straight"), [(0.01, True), (0.039, True), (0.041, False), (0.5, False)])
def test_straight_is_what_strays_no_further_than_the_tolerance(bulge: float, straight: bool) -> None:
    case = stack(bulge, 0.02)
    assert case.answer["verdict"] == ("single unit" if straight else "hard corners")
    case.check()
    with pytest.raises(ReplayError, match="straight"):
        replace(case, tolerance=0.3 if not straight else bulge / 3).check()


def test_many_slight_turns_are_not_straight() -> None:
    # Each turn alone strays 0.005 in, the whole 0.16 in.
    arc = [(float(x), 2 + 0.01 * x * (8 - x)) for x in range(9)]
    upper = [*arc, (8.0, 0.0), (0.0, 0.0)]
    lower = [*arc, (8.0, 4.0), (0.0, 4.0)]
    case = planned([upper, lower])
    case.check()
    assert case.answer["counts"]["set_in"] > 0
    with pytest.raises(ReplayError, match="not straight"):
        case.spoilt(call_bent_straight).check()


# -- size -----------------------------------------------------------------------------------------------------


def test_a_thousand_patches_are_replayed() -> None:
    case = rows_of_squares(40, 25)
    case.check()
    with pytest.raises(ReplayError):
        case.spoilt(swap_patches_of_units).check()


def rows_of_squares(columns: int, rows: int) -> Case:
    """A plan for a grid made without the search: row by row."""
    polygons = [
        [(float(x), float(y)), (x + 1.0, float(y)), (x + 1.0, y + 1.0), (float(x), y + 1.0)]
        for y in range(rows)
        for x in range(columns)
    ]
    names = [chr(65 + k // 26 - 1) * (k >= 26) + chr(65 + k % 26) for k in range(rows)]
    ids = [f"{names[y]}{x + 1}" for y in range(rows) for x in range(columns)]
    tree: dict[str, Any] = {}
    for y in range(rows):
        unit = {"kind": "unit", "name": names[y], "patches": ids[y * columns : (y + 1) * columns]}
        if not y:
            tree = unit
            continue
        path = [[float(x), float(y)] for x in range(columns + 1)]
        seam = {"kind": "straight", "path": path, "length": float(columns), "matched": path[1:-1], "corners": []}
        # Every row is pressed the same way, so the allowances meet on the same side.
        tree = {"kind": "join", "step": y, "seam": seam, "press": 1, "nests": [], "parts": [tree, unit]}
    counts = dict.fromkeys(("set_in", "partial", "curved", "excess_pivots", "nesting_points"), 0)
    counts |= {"patches": rows * columns, "units": rows, "joins": rows - 1, "single_patches": 0, "foundations": rows}
    counts["matched_points"] = (rows - 1) * (columns - 1)
    answer = {
        "name": "squares",
        "width": float(columns),
        "height": float(rows),
        "verdict": "joined units",
        "proven": False,
        "bound": asdict(Bound(0, 1)),
        "counts": counts,
        "patches": [
            {"id": i, "polygon": [list(c) for c in p], "fabric": None} for i, p in zip(ids, polygons, strict=True)
        ],
        "repeats": [],
        "tree": tree,
        "warnings": [],
    }
    return Case(polygons, answer, 0.02)
