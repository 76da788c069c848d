"""Plans as plain data, ready for JSON."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any

from seamtree.block.model import Block
from seamtree.planning.directions import describe_join
from seamtree.planning.model import Join, Plan, Unit, id_order, nodes_in_turn
from seamtree.planning.wishes import NO_WISHES
from seamtree.schemas import CHECK

_DECIMALS = 6


def drawing_json(source: str, plans: Iterable[Plan]) -> dict[str, Any]:
    """Return the object for one drawing.

    Parameters
    ----------
    source
        File name of the drawing.
    plans
        The plans of its blocks.
    """
    return {"schema": CHECK, "source": source, "blocks": [block_json(plan) for plan in plans]}


def block_json(plan: Plan) -> dict[str, Any]:
    """Return the object for one block: sizes in inches, places x to the right and y down from its top left corner."""
    block = plan.block
    ids = plan.patch_ids()
    names = dict(block.fabric_names)
    return {
        "name": block.name,
        "width": round(block.width, _DECIMALS),
        "height": round(block.height, _DECIMALS),
        "verdict": plan.verdict,
        "proven": plan.proven,
        "bound": asdict(plan.bound),
        "counts": asdict(plan.counts),
        "patches": [
            {
                "id": ids[p],
                "polygon": [_place(block, j) for j in patch.ring],
                "fabric": patch.fabric,
                "fabric_name": names.get(patch.fabric or ""),
                "label": patch.label,
            }
            for p, patch in sorted(enumerate(block.patches), key=lambda item: id_order(ids[item[0]]))
        ],
        "repeats": [list(names) for names in plan.repeats],
        "unproven": list(plan.unproven),
        "tree": _tree(plan, ids),
        **_asked(plan),
        "warnings": [finding.to_json() for finding in plan.warnings],
    }


def _asked(plan: Plan) -> dict[str, Any]:
    """Return what was asked of a plan and what there is to say of it; nothing where nothing is."""
    asked: dict[str, Any] = {}
    if plan.wishes != NO_WISHES or plan.kept:
        asked = {"wishes": plan.wishes.to_json() | {"kept": plan.kept or None}}
    return {**asked, "notes": [note.to_json() for note in plan.notes]} if asked or plan.notes else {}


def _place(block: Block, junction: int) -> list[float]:
    return [round(v, _DECIMALS) for v in block.junctions[junction]]


def _tree(plan: Plan, ids: Mapping[int, str]) -> dict[str, Any]:
    """Return the tree as nested objects, built without nested calls: trees may be deep."""
    finished: list[dict[str, Any]] = []
    for node in nodes_in_turn(plan.tree):
        if isinstance(node, Unit):
            finished.append({"kind": "unit", "name": node.name, "patches": [ids[p] for p in node.patches]})
        else:
            second, first = finished.pop(), finished.pop()
            finished.append(_join(plan, node, [first, second]))
    return finished[0]


def _join(plan: Plan, node: Join, parts: list[dict[str, Any]]) -> dict[str, Any]:
    block = plan.block
    return {
        "kind": "join",
        "step": node.step,
        "seam": {
            "kind": node.seam.kind,
            "path": [_place(block, j) for j in node.seam.path],
            "length": round(node.seam.length, _DECIMALS),
            "matched": [_place(block, j) for j in node.seam.matched],
            "corners": [
                {"kind": corner.kind, "at": _place(block, corner.junction), "reason": corner.reason}
                for corner in node.seam.corners
            ],
        },
        "press": node.press,
        "nests": [_place(block, j) for j in node.nests],
        "directions": list(describe_join(plan, node)),
        "parts": parts,
    }
