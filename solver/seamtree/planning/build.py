"""From a sewing order to a plan: seams, names and numbers, counts and warnings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import count

from seamtree.block.model import MICRO, Block
from seamtree.errors import Finding, Point, check_time_limit
from seamtree.planning.corners import describe_corners, hard_corner_warning
from seamtree.planning.model import (
    PROVEN_ITEMS,
    Bound,
    Counts,
    HardCorner,
    Join,
    Node,
    Plan,
    Seam,
    SeamKind,
    Unit,
    Verdict,
    nodes_in_turn,
    units_of,
)
from seamtree.planning.naming import middle_of, name_patches, sort_ids
from seamtree.planning.notes import told_fewer_foundations, told_printed, told_refusal, told_wishes
from seamtree.planning.numbering import as_numbered, number_units
from seamtree.planning.pressing import Pressed, press_seams
from seamtree.planning.printed import NOTHING_PRINTED, Printed, claim_kept, read_printed
from seamtree.planning.replay import replay
from seamtree.planning.report import block_json
from seamtree.planning.wishes import NO_WISHES, Wishes
from seamtree.proofs.claims import FREE_PIVOTS
from seamtree.search.find import find_limited, find_order, find_repeats
from seamtree.search.tree import TIDIED_FIGURES, Found, Grown, Order, count_units
from seamtree.search.view import build_view
from seamtree.words import count as count_words


def plan(block: Block, *, time_limit: float = 10.0, wishes: Wishes = NO_WISHES) -> Plan:
    """Find the best sewing order of a block and check it by sewing it step by step.

    Parameters
    ----------
    block
        What is to be sewn.
    time_limit
        Effort in seconds of an ordinary machine. It is counted in steps of the search, not clocked, so that the
        answer is the same on every machine; when it ends, the plan is valid and its bound honest.
    wishes
        What is asked of the plan besides the order of merit.

    Returns
    -------
    Plan
        Units in sewing order, joins, counts, and what is proven.

    Raises
    ------
    OptionError
        If the time limit makes no sense.
    ReplayError
        If the plan does not describe a real sewing order, which would be a fault of this program.
    """
    check_time_limit(time_limit)
    free = find_order(block, time_limit=time_limit)
    printed = NOTHING_PRINTED if wishes.renumber else read_printed(block)
    refused = tuple(told_refusal(block, printed, wishes))
    best = free
    if not refused and wishes.repeats and printed.order is not None:
        best = _as_asked(block, free, wishes, time_limit=time_limit)
        refused = tuple(told_fewer_foundations(block, printed, best.order))
    if refused and printed.kept:
        printed, wishes = NOTHING_PRINTED, NO_WISHES
    if printed.kept:
        result = build_plan(block, _as_printed(block, best, printed), printed)
    else:
        result = build_plan(block, _as_asked(block, free, wishes, time_limit=time_limit))
    result = replace(result, wishes=wishes, free_units=count_units(free.order))
    result = replace(result, notes=(*refused, *told_printed(result, free), *told_wishes(result, free)))
    replay(
        [block.polygon(p) for p in range(len(block.patches))],
        block_json(result),
        tolerance=block.tolerance,
        curves=block.drawn_curves(),
    )
    return result


def _as_asked(block: Block, free: Found, wishes: Wishes, *, time_limit: float) -> Found:
    """Return the best order with what is asked."""
    found = free
    if wishes.largest is not None:
        found = find_limited(block, free, wishes.largest, time_limit=time_limit)
    if wishes.repeats:
        found = find_repeats(block, found, wishes.largest, time_limit=time_limit)
    return found


def _as_printed(block: Block, best: Found, printed: Printed) -> Found:
    """Return the printed order: with its units given, there is nothing left to be the best in.

    What is claimed of the best order without them stays, and that the printed one can be sewn is added.
    """
    if printed.order is None:
        raise AssertionError("nothing is printed")
    claims = replace(best.claims, kept=claim_kept(block, printed.order))
    return Found(printed.order, 0, count_units(printed.order), proven=True, claims=claims)


def build_plan(block: Block, found: Found, printed: Printed = NOTHING_PRINTED) -> Plan:
    """Name the units, number the joins and the patches, press the seams, count, and say what there is to be said."""
    tree, repeats, unproven = _finish(block, _name(block, found.order, printed), fixed=printed.numbered)
    counts = _count(block, tree, repeats)
    verdict: Verdict = "joined units" if counts.joins else "single unit"
    if counts.hard_corners:
        verdict = "hard corners"
    bare = Plan(
        block=block,
        verdict=verdict,
        tree=tree,
        counts=counts,
        bound=_bound(found, tree, counts),
        proven=found.proven,
        repeats=repeats,
        unproven=(*found.unproven, *unproven),
        claims=found.claims,
        locked=found.locked,
        kept=printed.kept,
    )
    ids = bare.patch_ids()
    return replace(bare, warnings=(*_with_ids(block.notes, ids), *_warn(bare, found, ids)))


def _bound(found: Found, tree: Node, counts: Counts) -> Bound:
    """Say what no plan can go below; of the figures below the units what is proven, or nothing."""
    proven = [found.proven and figure not in found.unproven for figure in TIDIED_FIGURES]
    return Bound(
        hard_corners=found.hard_corners,
        set_in=found.set_in,
        excess_pivots=found.excess_pivots,
        units=found.units,
        matched_points=counts.matched_points * proven[0],
        foundations=counts.foundations if proven[1] else min(found.foundations, counts.foundations),
        join_length=_joins_length(tree) if proven[2] else 0.0,
    )


def _joins_length(tree: Node) -> float:
    return round(sum(node.seam.length for node in nodes_in_turn(tree) if isinstance(node, Join)), 6)


def open_item(plan: Plan) -> str:
    """Say of a plan that is not proven the best which figure may be lower, and what it cannot go below.

    The first figure in the order of merit is named: what is lower in it is better whatever the others are.
    """
    item = plan.open_item
    if item is None:  # the parts of the search do not add up to a proof, though no figure says so
        return "another plan may be better in some figure"
    reached = count_words(getattr(plan.counts, item), *PROVEN_ITEMS[item])
    return f"it has {reached}, and all that is known is that no fewer than {getattr(plan.bound, item)} will do"


def _with_ids(notes: Sequence[Finding], ids: Mapping[int, str]) -> Iterator[Finding]:
    """Yield findings about a block with the printed ids of the patches that they name by index."""
    for note in notes:
        patches = tuple(ids[int(p)] if p.isdecimal() else p for p in note.patches)
        yield replace(note, patches=patches)


def _warn(bare: Plan, found: Found, ids: Mapping[int, str]) -> Iterator[Finding]:
    yield from (_locked_part(bare.block, part, ids) for part in found.locked)
    for join in bare.joins():
        for corner in join.seam.corners:
            yield hard_corner_warning(bare.block, join, corner, ids)
    if not found.proven:
        yield Finding("not-proven", f"The time was up before this plan was proven the best: {open_item(bare)}.")


def _locked_part(block: Block, part: Sequence[int], ids: Mapping[int, str]) -> Finding:
    """Name a part that no straight seam divides from side to side."""
    x, y = middle_of(block, part)
    message = (
        f"The {len(part)} patches round {x:.2f}, {y:.2f} lock each other: no straight seam runs through them from "
        f"side to side ({name_patches(ids, part)})."
    )
    return Finding("locked-part", message, (x, y), tuple(sort_ids(ids, part)))


# -- names ----------------------------------------------------------------------------------------------------


def unit_names() -> Iterator[str]:
    """Yield A, B, … Z, AA, AB and so on."""
    for number in count():
        name = ""
        rest = number
        while rest >= 0:
            name = chr(ord("A") + rest % 26) + name
            rest = rest // 26 - 1
        yield name


def _name(block: Block, order: Order, printed: Printed) -> Node:
    """Turn an order into a tree with names, printed ones if there are any.

    The part of a join that takes more sewing comes first, of printed ones the one with the first name.
    """
    names = unit_names()
    steps = count(1)
    arms = block.interior_arms()
    finished: list[tuple[Node, frozenset[int]]] = []
    stack: list[tuple[Order, bool]] = [(order, False)]
    size = _sizes(block, order) if printed.names is None else _ranks(order, printed.names)
    while stack:
        node, ready = stack.pop()
        if isinstance(node, Grown):
            name = next(names) if printed.names is None else printed.names[node.patches[0]]
            finished.append((Unit(name, node.patches), frozenset(node.patches)))
        elif ready:
            second, first = finished.pop(), finished.pop()
            seam = _seam(block, arms, node.edges, (first[1], second[1]))
            finished.append((Join(next(steps), seam, (first[0], second[0])), first[1] | second[1]))
        else:
            parts = sorted(node.parts, key=lambda part: size[id(part)])
            stack += [(node, True), (parts[1], False), (parts[0], False)]
    return finished[0][0]


def _sizes(block: Block, order: Order) -> dict[int, tuple[int, int, Point, int]]:
    """Return for every node what its place beside its sibling depends on: more joins first, more patches, place.

    Places go from top to bottom and left to right, as units are laid out.
    """
    sizes: dict[int, tuple[int, int, Point, int]] = {}
    stack: list[tuple[Order, bool]] = [(order, False)]
    while stack:
        node, ready = stack.pop()
        if isinstance(node, Grown):
            sizes[id(node)] = (0, -len(node.patches), _corner(block, node.patches), min(node.patches))
        elif ready:
            (a, b, (top, left), c), (d, e, (higher, lefter), f) = (sizes[id(part)] for part in node.parts)
            sizes[id(node)] = (a + d - 1, b + e, (min(top, higher), min(left, lefter)), min(c, f))
        else:
            stack += [(node, True), *((part, False) for part in node.parts)]
    return sizes


def _corner(block: Block, patches: Sequence[int]) -> Point:
    """Return how far up and how far left some patches reach, in hundredths of an inch."""
    places = [block.junctions[j] for p in patches for j in block.patches[p].ring]
    return round(100 * min(y for _, y in places)), round(100 * min(x for x, _ in places))


def _ranks(order: Order, names: Mapping[int, str]) -> dict[int, tuple[int, str]]:
    """Return for every node the first of its printed names."""
    ranks: dict[int, tuple[int, str]] = {}
    stack: list[tuple[Order, bool]] = [(order, False)]
    while stack:
        node, ready = stack.pop()
        if isinstance(node, Grown):
            name = names[node.patches[0]]
            ranks[id(node)] = len(name), name
        elif ready:
            ranks[id(node)] = min(ranks[id(part)] for part in node.parts)
        else:
            stack += [(node, True), *((part, False) for part in node.parts)]
    return ranks


# -- numbers and pressing -------------------------------------------------------------------------------------


def _finish(
    block: Block, tree: Node, *, fixed: bool = False
) -> tuple[Node, tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """Number the patches, unless their order is fixed, and press the joins of a tree.

    Returns
    -------
    tuple
        The tree, the units that are sewn on the same foundation, and the figures that may not be the best.
    """
    view = build_view(block)
    bare = list(units_of(tree))
    copies, numberings = (as_numbered if fixed else number_units)(view, [unit.patches for unit in bare])
    unproven = [] if all(numbering.exact for numbering in numberings) else ["changes of fabric"]
    pressed = press_seams(view, tree, copies, numberings, fixed=fixed)
    if not pressed.proven:
        unproven.append("nesting points")
    alike: dict[int, list[str]] = {}
    for unit, copy in zip(bare, copies, strict=True):
        alike.setdefault(copy.kind, []).append(unit.name)
    repeats = tuple(tuple(names) for names in alike.values() if len(names) > 1)
    return _rebuild(tree, pressed), repeats, tuple(unproven)


def _rebuild(tree: Node, pressed: Pressed) -> Node:
    """Return a tree with its units numbered and its joins pressed."""
    orders = iter(pressed.orders)
    presses = iter(zip(pressed.press, pressed.nests, strict=True))
    finished: list[Node] = []
    for node in nodes_in_turn(tree):
        if isinstance(node, Unit):
            finished.append(replace(node, patches=next(orders)))
        else:
            second, first = finished.pop(), finished.pop()
            press, nests = next(presses)
            finished.append(replace(node, parts=(first, second), press=press, nests=nests))
    return finished[0]


# -- seams ----------------------------------------------------------------------------------------------------


def _seam(
    block: Block, arms: Sequence[Sequence[int]], edges: Sequence[int], parts: tuple[frozenset[int], frozenset[int]]
) -> Seam:
    path = _path(block, edges)
    corners = describe_corners(block, edges, parts[0] | parts[1])
    sewn = set(edges)
    matched = []
    for j in path[1:-1]:
        sides = {block.edges[k].left in parts[0] for k in arms[j] if k not in sewn}
        if len(sides) == 2:
            matched.append(j)
    length = sum(map(block.micro_length, edges)) / MICRO
    return Seam(_hardest(corners), path, length, corners, tuple(matched))


def _path(block: Block, edges: Sequence[int]) -> tuple[int, ...]:
    """Return the junctions of a seam in turn."""
    ends = [(block.edges[k].start, block.edges[k].end) for k in edges]
    if len(ends) == 1:
        return (min(ends[0]), max(ends[0]))
    path = [ends[0][0] if ends[0][1] in ends[1] else ends[0][1]]
    for a, b in ends:
        path.append(b if path[-1] == a else a)
    return tuple(path)


def _hardest(corners: Sequence[HardCorner]) -> SeamKind:
    kinds = {corner.kind for corner in corners}
    hardest: tuple[SeamKind, ...] = ("set-in", "partial", "curved")
    return next((kind for kind in hardest if kind in kinds), "straight")


# -- counts ---------------------------------------------------------------------------------------------------


def _count(block: Block, tree: Node, repeats: Sequence[Sequence[str]]) -> Counts:
    units = joins = single = set_in = partial = curved = excess = matched = nesting = 0
    stack = [tree]
    while stack:
        node = stack.pop()
        if isinstance(node, Unit):
            units += 1
            single += len(node.patches) == 1
            continue
        joins += 1
        kinds = [corner.kind for corner in node.seam.corners]
        set_in += kinds.count("set-in")
        partial += kinds.count("partial")
        curved += kinds.count("curved")
        excess += max(0, len(kinds) - FREE_PIVOTS)
        matched += len(node.seam.matched)
        nesting += len(node.nests)
        stack += node.parts
    return Counts(
        patches=len(block.patches),
        units=units,
        joins=joins,
        single_patches=single,
        set_in=set_in,
        partial=partial,
        curved=curved,
        excess_pivots=excess,
        matched_points=matched,
        nesting_points=nesting,
        foundations=units - sum(len(names) - 1 for names in repeats),
    )
