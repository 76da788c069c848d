"""Blocks that straight seams can sew, by rows: from the most patches added to a sewing order."""

from __future__ import annotations

from seamtree.block.model import Block
from seamtree.proofs.claims import Choice, Claims, Cost, Through
from seamtree.proofs.rows import check_rows
from seamtree.search.claims import claim_rows
from seamtree.search.corners.local_rule import build_part
from seamtree.search.corners.orders import sew
from seamtree.search.effort import NEVER, Deadline
from seamtree.search.rows.program import most_added
from seamtree.search.rows.stretches import Stretches
from seamtree.search.rows.waits import Waits
from seamtree.search.tree import Order, count_units


def find_order_by_rows(
    found: Stretches, *, seconds: float, deadline: Deadline = NEVER
) -> tuple[Order, Claims] | None:
    """Find a sewing order of straight seams with few units, and prove how few it could be.

    Parameters
    ----------
    found
        The stretches of a block.
    seconds
        Effort in seconds of an ordinary machine; counted, not clocked.
    deadline
        When the clock ends it.

    Returns
    -------
    tuple or None
        The order, and the claim of how few units it could be; None where straight seams cannot sew the block.
    """
    best = most_added(found, seconds=seconds, deadline=deadline)
    if best is None or best.choices is None:
        return None
    claim = claim_rows(best, found.gains)
    check_rows(found.block, claim)
    order, least = _sew(found, best.choices), len(found.block.patches) - best.most
    if best.proven and count_units(order) != least:
        raise AssertionError("an order has as many units as its choices say")
    return order, Claims(Cost(joins=least - 1), units=claim)


def _sew(found: Stretches, choices: frozenset[Choice]) -> Order:
    """Sew the seams in turn."""
    block: Block = found.block
    turn = Waits(found, choices).in_turn()
    if turn is None:
        raise AssertionError("choices that keep to the rows can be sewn")
    enters = dict(found.tees)
    for choice in choices:
        if isinstance(choice, Through):
            enters[choice.junction] = found.crossings[choice.junction][choice.line]
    part = build_part(block, range(len(block.patches)))
    last = {j: part.pair(j, (k, k + 1)) for j, k in enters.items()}
    passed = set(enters.values())
    rank = {}
    for place, k in enumerate(turn):
        stop = k + 1
        while stop - 1 in passed:
            stop += 1
        rank.update(dict.fromkeys(range(k, stop), place))
    return sew(part, last, rank)
