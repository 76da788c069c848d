"""Changes in plain words, with the patch ids that the drawing's own plan has."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import pairwise

import shapely

from seamtree.block.model import Block
from seamtree.block.sketch import Sketch, Slip
from seamtree.errors import Finding, Point
from seamtree.fabric import fabric_words
from seamtree.mending.curves import Straightening
from seamtree.mending.merge import Pair
from seamtree.mending.model import AddedSeam, Alternative, DroppedSeam, Mending, StraightenedCurve
from seamtree.mending.seams import Parts
from seamtree.planning.model import Plan
from seamtree.remedies import Remedy
from seamtree.words import at, listed

_COUNTED = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight", 9: "nine"}


class Names:
    """Names the patches and seams of a drawing as its plan does, or by fabrics where there is none.

    Parameters
    ----------
    sketch
        The drawing that seams are added to, perhaps with straightened curves.
    plan
        Plan of the block as drawn, if it can be sewn.
    block
        The same block, perhaps with straightened curves; its patches may be numbered in another order.
    """

    def __init__(self, sketch: Sketch, plan: Plan | None, block: Block | None) -> None:
        self._sketch, self._block = sketch, block
        self._ids: list[str] = []
        if plan is not None and block is not None:
            ids = plan.patch_ids()
            same = range(len(block.patches)) if block is plan.block else _matching(plan.block, block)
            self._ids = [ids[p] for p in same]
        else:
            words = fabric_words(area.fabric for area in sketch.areas)
            self._ids = [
                f"the {area.label}" if area.label else f"the {words.get(area.fabric) or 'unnamed'} patch"
                for area in sketch.areas
            ]
        self._known = plan is not None

    def id(self, patch: int) -> str:
        """Return what a patch is called."""
        return self._ids[patch]

    def named(self, patch: int) -> str:
        """Return the id of a patch, with its label if it has one."""
        label = self._sketch.areas[patch].label
        return f"the {label} {self._ids[patch]}" if label and self._known else self._ids[patch]

    def between(self, patches: Sequence[int]) -> tuple[str, str]:
        """Return what two patches are called, in order."""
        first, second = self.sorted(patches)
        return first, second

    def sorted(self, patches: Iterable[int]) -> list[str]:
        """Return what patches are called, in order."""
        names = [self._ids[p] for p in patches]
        return sorted(names, key=_order) if self._known else sorted(names)

    # -- changes -----------------------------------------------------------------------------------------------

    def added(self, parts: Parts, edges: Collection[int]) -> tuple[AddedSeam, ...]:
        """Describe added edges, line by line."""
        told: list[AddedSeam] = []
        done: set[int] = set()
        for points, line in parts.arrangement.lines:
            for first, stop in _runs([k in edges and k not in done for k in line]):
                done.update(line[first:stop])
                told.append(self._seam(parts, points[first : stop + 1], line, (first, stop)))
        return tuple(sorted(told, key=lambda seam: (round(seam.path[0][1], 3), round(seam.path[0][0], 3), seam.path)))

    def _seam(self, parts: Parts, points: Sequence[int], line: Sequence[int], span: tuple[int, int]) -> AddedSeam:
        """Describe the edges of a line from one place to another."""
        first, stop = span
        arrangement = parts.arrangement
        before = line[first - 1] if first and arrangement.drawn[line[first - 1]] else None
        after = line[stop] if stop < len(line) and arrangement.drawn[line[stop]] else None
        run = list(line[first:stop])
        turned = before is None and after is not None
        if turned:
            points, run, before, after = points[::-1], run[::-1], after, before
        through: list[int] = []
        for k in run:
            patch = parts.owner[parts.sides[k][0]]
            if not through or through[-1] != patch:
                through.append(patch)
        return AddedSeam(
            _corners([arrangement.points[v] for v in points]),
            None if before is None else self.between(self._beside(parts, before)),
            tuple(self.named(p) for p in through),
            self._end(parts, points[-1], after),
        )

    def _beside(self, parts: Parts, edge: int) -> list[int]:
        return [parts.owner[area] for area in parts.sides[edge]]

    def _end(self, parts: Parts, v: int, after: int | None) -> str:
        """Say what an added seam ends on."""
        arrangement = parts.arrangement
        if v in arrangement.on_outline:
            return "the outline"
        if after is not None:
            return "the seam in line between {} and {}".format(*self.between(self._beside(parts, after)))
        drawn = [k for k in arrangement.around()[v] if arrangement.drawn[k]]
        if not drawn:
            return "another added seam"
        around = {p for k in drawn for p in self._beside(parts, k)}
        if len(around) == 2:
            return "the seam between {} and {}".format(*self.between(sorted(around)))
        return f"the junction of {listed(self.sorted(around))}"

    def dropped(self, pair: Pair) -> DroppedSeam:
        """Describe the seam between two patches."""
        block = self._block
        if block is None:
            raise ValueError("seams are dropped from blocks")
        shared = [e for e in block.edges if {e.left, e.right} == set(pair)]
        lines = shapely.line_merge(
            shapely.MultiLineString([[block.junctions[e.start], block.junctions[e.end]] for e in shared])
        )
        longest = max(shapely.get_parts(lines), key=lambda line: line.length)
        path = [(float(x), float(y)) for x, y in longest.coords]
        return DroppedSeam(_corners(min(path, path[::-1])), self.between(pair))


def straightened_curve(drawn: Block, done: Straightening, plan: Plan) -> StraightenedCurve:
    """Describe a stretch of a curve that became straight."""
    ids = plan.patch_ids()
    edge = drawn.edges[done.stretch.edge]
    first, second = sorted((ids[edge.left], ids[edge.right]), key=_order)
    path = tuple(drawn.junctions[done.stretch.junctions[k]] for k in done.kept)
    return StraightenedCurve(path, (first, second), done.moved)


def _runs(chosen: Sequence[bool]) -> Iterator[tuple[int, int]]:
    """Yield where runs of chosen things begin, and where they have ended."""
    first = None
    for n, here in enumerate((*chosen, False)):
        if here and first is None:
            first = n
        elif not here and first is not None:
            yield first, n
            first = None


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
    # Where added seams cross, patches are not added seam by seam.
    apart = sum(len(seam.through) for seam in alternative.added) == alternative.added_patches
    for seam in alternative.added:
        first, last = seam.path[0], seam.path[-1]
        on = "draw a seam" if seam.between is None else "carry the seam between {} and {} on".format(*seam.between)
        more = f": {_more(len(seam.through))}" if apart else ""
        sentences.append(f"{on} through {listed(seam.through)} from {at(first)} to {seam.to} at {at(last)}{more}")
    for n, gone in enumerate(alternative.dropped):
        first, last = gone.path[0], gone.path[-1]
        # Where three patches that meet become one, the third of their seams goes as well.
        less = "one patch less" if n < -alternative.added_patches else "it goes with the others"
        sentences.append(
            f"drop the seam between {gone.between[0]} and {gone.between[1]}, which are of the same fabric, "
            f"from {at(first)} to {at(last)}: {less}"
        )
    return sentences


def describe_slips(mending: Mending) -> list[str]:
    """Return one sentence for every slip of the hand that was mended."""
    return [f"{_SLIPS[slip.kind].format(shape=slip.shape)} at {at(slip.at)}{_by(slip)}" for slip in mending.slips]


def hint(slips: Sequence[Slip]) -> Finding:
    """Say what looks like slips of the hand, and how they would be mended."""
    size = max(slip.distance for slip in slips)
    first = slips[0]
    others = "" if len(slips) == 1 else f" and at {_more_places(len(slips) - 1)}"
    remedy = Remedy("within", f"{max(math.ceil(size * 100 - 1e-6) / 100, 0.03):g}")
    message = (
        f"At {at(first.at)}{others} the drawing is off by no more than {size:.2f} in, perhaps by a slip of the hand: "
        f"{remedy} mends that first."
    )
    return Finding("slip", message, first.at, remedies=(remedy,))


def _more_places(number: int) -> str:
    return "one more place" if number == 1 else f"{number} more places"


def _by(slip: Slip) -> str:
    return f": moved by {max(slip.distance, 0.01):.2f} in" if slip.distance > 0 else ""


_SLIPS = {
    "gap": "close the gap at {shape}",
    "overlap": "pull back {shape}, which overlaps its neighbour,",
    "overshoot": "pull back the end of {shape}, which sticks out,",
    "loose end": "take away the loose end of {shape}",
    "bend": "straighten {shape}",
    "doubled line": "put {shape}, which is drawn twice, onto the other line",
    "open outline": "close the outline of {shape}",
    "missing frame": "draw the frame, which is missing, from",
}


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
