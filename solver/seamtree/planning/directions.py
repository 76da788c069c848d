"""What the sewist does at a join with hard corners: where to stop, where to pivot, what to leave open until when.

How a set-in corner, a partial seam and a curved seam are sewn is common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise

from seamtree.block.model import Block
from seamtree.planning.model import HardCorner, Join, Plan, Unit, nodes_in_turn
from seamtree.words import capital, inches


def describe_join(plan: Plan, join: Join, *, scale: float = 1.0) -> tuple[str, ...]:
    """Say how a join with hard corners is sewn.

    Parameters
    ----------
    plan
        The plan.
    join
        One of its joins.
    scale
        In which parts of an inch places are told: 1 for inches, 2.54 for centimetres.

    Returns
    -------
    tuple of str
        Sentences in sewing order, places from the top left corner of the block, seen from the fabric side; none for
        a straight join.
    """
    return tuple(_Writer(plan, join, scale).sentences()) if join.seam.corners else ()


class _Writer:
    """Walks along a seam from corner to corner."""

    def __init__(self, plan: Plan, join: Join, scale: float) -> None:
        self._scale = scale
        self._plan = plan
        self._block = plan.block
        self._join = join
        self._edge_between = plan.block.edge_between()

    def sentences(self) -> Iterator[str]:
        """Yield the stretches that are sewn before those that are closed afterwards."""
        path = self._join.seam.path
        turns = [c for c in self._join.seam.corners if c.kind != "curved"]
        stops = [path[0], *(c.junction for c in turns), path[-1]]
        stretches = list(pairwise(stops))
        closed = {}
        for n, corner in enumerate(turns):
            opened = self._opened(corner)
            if opened is not None:
                closed[n + opened[0]] = opened[1]
        sewn = [stretch for n, stretch in enumerate(stretches) if n not in closed]
        if sewn:
            yield self._first(sewn, {c.junction for c in turns if c.kind == "set-in"})
        corners = {corner.junction for corner in turns}
        for n, when in closed.items():
            start, end = sorted(stretches[n], key=lambda junction: junction not in corners)
            yield f"Then close the seam from {self._at(start)} to {self._at(end)}, left open when {when}."
        for corner in self._join.seam.corners:
            if corner.kind == "curved":
                yield (
                    f"The seam is curved through {self._at(corner.junction)}: pin its middle and its ends, clip the "
                    "allowance of the inward curve, and ease the cloth round."
                )

    def _first(self, stretches: list[tuple[int, int]], pivots: set[int]) -> str:
        """Say how the stretches are sewn that are not left open before."""
        runs: list[list[int]] = []
        for start, end in stretches:
            if runs and runs[-1][-1] == start and start in pivots:
                runs[-1].append(end)
            else:
                runs.append([start, end])
        words = "; then ".join(self._run(run) for run in runs)
        turned = sum(len(run) - 2 for run in runs)
        if turned:
            words += f"; stop exactly at {'the corner' if turned == 1 else 'each corner'}, needle down, and pivot"
        return f"{capital(words)}."

    def _run(self, stops: list[int]) -> str:
        first, *turns, last = (self._at(junction) for junction in stops)
        by_way = f" by way of {', '.join(turns)}" if turns else ""
        return f"sew from {first}{by_way} to {last}"

    def _opened(self, corner: HardCorner) -> tuple[int, str] | None:
        """Find the side of a partial corner whose seam was begun before.

        Returns
        -------
        tuple or None
            0 for the stretch that leads to the corner, 1 for the one that leads away; and when it was begun.
        """
        if corner.kind != "partial":
            return None
        path = self._join.seam.path
        at = path.index(corner.junction)
        for side, neighbour in ((1, path[at + 1]), (0, path[at - 1])):
            edge = self._edge_between[frozenset((corner.junction, neighbour))]
            onward = self._in_line(edge, corner.junction)
            if onward is not None:
                return side, _when_sewn(self._plan, self._block, onward)
        return None

    def _in_line(self, edge: int, junction: int) -> int | None:
        """Return the edge in line with another beyond a junction."""
        line = self._block.lines[self._block.line_of(edge)]
        onward = edge + 1 if self._block.edges[edge].end == junction else edge - 1
        return onward if line.first <= onward < line.stop else None

    def _at(self, junction: int) -> str:
        x, y = (inches(self._scale * value) for value in self._block.junctions[junction])
        return f"({x}, {y})"


def _when_sewn(plan: Plan, block: Block, edge: int) -> str:
    """Say which step sewed an edge."""
    sides = {block.edges[edge].left, block.edges[edge].right}
    ids = plan.patch_ids()
    for unit in plan.units():
        if sides <= set(unit.patches):
            return f"{ids[max(sides, key=unit.patches.index)]} was added"
    members = _members(plan)
    for join in plan.joins():
        first, second = (members[id(part)] for part in join.parts)
        if (sides & first) and (sides & second):
            return f"join {join.step} was sewn"
    raise ValueError(f"edge {edge} is sewn by no step of the plan")


def _members(plan: Plan) -> Mapping[int, frozenset[int]]:
    """Return the patches of every node by its identity."""
    members: dict[int, frozenset[int]] = {}
    for node in nodes_in_turn(plan.tree):
        members[id(node)] = (
            frozenset(node.patches)
            if isinstance(node, Unit)
            else members[id(node.parts[0])] | members[id(node.parts[1])]
        )
    return members
