"""Changes in plain words, with the patch ids that the drawing's own plan has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import shapely

from seamtree.block.model import Block
from seamtree.errors import Point
from seamtree.mending.curves import Straightening
from seamtree.mending.extensions import LineEnd
from seamtree.mending.merge import Pair
from seamtree.mending.model import AddedSeam, Alternative, DroppedSeam, Mending, StraightenedCurve
from seamtree.mending.network import Network
from seamtree.planning.model import Plan
from seamtree.words import at, listed

_COUNTED = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine"}


class Names:
    """Names the patches and seams of a block as the plan of the drawing does.

    Parameters
    ----------
    plan
        Plan of the block as drawn.
    block
        The same block, perhaps with straightened curves; its patches may be numbered in another order.
    """

    def __init__(self, plan: Plan, block: Block) -> None:
        self._block = block
        ids = plan.patch_ids()
        same = range(len(block.patches)) if block is plan.block else _matching(plan.block, block)
        self._ids = [ids[p] for p in same]

    def id(self, patch: int) -> str:
        """Return the id of a patch."""
        return self._ids[patch]

    def named(self, patch: int) -> str:
        """Return the id of a patch, with its label if it has one."""
        label = self._block.patches[patch].label
        return f"the {label} {self._ids[patch]}" if label else self._ids[patch]

    def between(self, patches: Sequence[int]) -> tuple[str, str]:
        """Return the ids of two patches in order."""
        first, second = sorted((self._ids[p] for p in patches), key=_order)
        return first, second

    # -- changes -----------------------------------------------------------------------------------------------

    def added(self, network: Network, r: int, length: int) -> AddedSeam:
        """Describe a ray that is used over some of its edges."""
        ray = network.rays[r]
        through: list[int] = []
        for piece in ray.pieces[:length]:
            if not through or through[-1] != network.piece_patches[piece]:
                through.append(network.piece_patches[piece])
        return AddedSeam(
            _corners([network.vertices[v].at for v in ray.vertices[: length + 1]]),
            self.between(_sides(self._block, ray.source)),
            tuple(self.named(p) for p in through),
            self._end(network, r, length),
        )

    def _end(self, network: Network, r: int, length: int) -> str:
        """Say what a ray ends on."""
        ray, block = network.rays[r], self._block
        v = ray.vertices[length]
        vertex = network.vertices[v]
        if ray.onto and length == len(ray.edges):
            return "the seam in line between {} and {}".format(*self.between(_sides(block, ray.onto)))
        if not network.interior & network.vertex_slots[v]:
            return "the outline"
        if vertex.edge >= 0:
            edge = block.edges[vertex.edge]
            return "the seam between {} and {}".format(*self.between((edge.left, edge.right)))
        if vertex.patch >= 0:
            return "another added seam"
        around = [p for p, patch in enumerate(block.patches) if vertex.junction in patch.ring]
        return f"the junction of {listed(sorted((self._ids[p] for p in around), key=_order))}"

    def dropped(self, pair: Pair) -> DroppedSeam:
        """Describe the seam between two patches."""
        block = self._block
        shared = [e for e in block.edges if {e.left, e.right} == set(pair)]
        lines = shapely.line_merge(
            shapely.MultiLineString([[block.junctions[e.start], block.junctions[e.end]] for e in shared])
        )
        longest = max(shapely.get_parts(lines), key=lambda line: line.length)
        path = [(float(x), float(y)) for x, y in longest.coords]
        return DroppedSeam(_corners(min(path, path[::-1])), self.between(pair))

    def straightened(self, drawn: Block, done: Straightening, plan: Plan) -> StraightenedCurve:
        """Describe a stretch of a curve that became straight."""
        ids = plan.patch_ids()
        edge = drawn.edges[done.stretch.edge]
        first, second = sorted((ids[edge.left], ids[edge.right]), key=_order)
        path = tuple(drawn.junctions[done.stretch.junctions[k]] for k in done.kept)
        return StraightenedCurve(path, (first, second), done.moved)


def _matching(drawn: Block, changed: Block) -> Iterator[int]:
    """Yield for every patch of a changed block the drawn patch that it covers most of."""
    before = shapely.STRtree([shapely.Polygon(drawn.polygon(p)) for p in range(len(drawn.patches))])
    for p in range(len(changed.patches)):
        shape = shapely.Polygon(changed.polygon(p))
        near = before.query(shape).tolist()
        yield max(near, key=lambda q: (shapely.intersection(before.geometries[q], shape).area, -q))


def _order(name: str) -> tuple[int, str, int]:
    unit = name.rstrip("0123456789")
    return len(unit), unit, int(name[len(unit) :])


def _sides(block: Block, end: LineEnd) -> tuple[int, int]:
    """Return the patches on both sides of a line where it stops."""
    line = block.lines[end[0]]
    edge = block.edges[line.first if end[1] == 0 else line.stop - 1]
    return edge.left, edge.right


def _corners(path: Sequence[Point]) -> tuple[Point, ...]:
    """Leave out the points of a path where it goes straight on."""
    kept = [path[0]]
    for here, after in pairwise(path[1:]):
        line = shapely.LineString([kept[-1], after])
        if line.distance(shapely.Point(here)) > 1e-9:
            kept.append(here)
    return (*kept, path[-1])


# -- sentences ------------------------------------------------------------------------------------------------


def describe_change(alternative: Alternative) -> list[str]:
    """Return one sentence for every change of an alternative."""
    sentences = []
    for seam in alternative.added:
        first, last = seam.path[0], seam.path[-1]
        sentences.append(
            f"carry the seam between {seam.between[0]} and {seam.between[1]} on through {listed(seam.through)} "
            f"from {at(first)} to {seam.to} at {at(last)}: {_more(len(seam.through))}"
        )
    for gone in alternative.dropped:
        first, last = gone.path[0], gone.path[-1]
        sentences.append(
            f"drop the seam between {gone.between[0]} and {gone.between[1]}, which are of the same fabric, "
            f"from {at(first)} to {at(last)}: one patch less"
        )
    return sentences


def describe_straightening(mending: Mending) -> list[str]:
    """Return one sentence for every curve that was straightened."""
    return [
        f"replace the curve between {curve.between[0]} and {curve.between[1]} from {at(curve.path[0])} to "
        f"{at(curve.path[-1])} by {_counted(len(curve.path) - 1)} straight seam{'s' * (len(curve.path) > 2)}: "
        f"the drawing moves by {_moved(curve.moved)}"
        for curve in mending.straightened
    ]


def _moved(distance: float) -> str:
    return "less than 0.01 in" if distance < 0.01 else f"up to {distance:.2f} in"


def _counted(number: int) -> str:
    return _COUNTED.get(number, str(number))


def _more(number: int) -> str:
    return f"{_counted(number)} more patch{'es' * (number > 1)}"
