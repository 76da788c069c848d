"""What has changed from one plan of a block to the next, in words: for somebody who draws and looks on."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

from seamtree.errors import Point
from seamtree.fabric import fabric_words
from seamtree.planning.model import HardCorner, Plan, units_of
from seamtree.words import at, count, dimensions

_SAME_PLACE = 0.1
"""Inches; hard corners of one kind that are no farther apart are the same one."""

_MOST = 3
"""As many places of one kind are told."""


def describe_changes(before: Sequence[Plan], after: Sequence[Plan]) -> tuple[str, ...]:
    """Say what has changed in the plans of a drawing.

    Parameters
    ----------
    before, after
        The plans of its blocks, before and after the drawing was changed.

    Returns
    -------
    tuple of str
        Phrases such as ``5 units, were 6`` and ``hard corner at 3.20, 4.00 gone``, the weightiest first, with the
        name of the block where there are several; none if the plans are equal but for the names of drawings.
    """
    if len(before) != len(after):
        return (f"{count(len(after), 'block')}, {_was(len(before))}",)
    told = []
    for old, new in zip(before, after, strict=True):
        name = f"{new.block.name}: " if len(after) > 1 else ""
        told += [name + phrase for phrase in _changes(old, new)]
    return tuple(told)


def _changes(old: Plan, new: Plan) -> Iterator[str]:
    found = [
        *_figures(old, new, ("units",)),
        *_corners(old, new),
        *_figures(old, new, ("patches", "matched_points")),
        *_size(old, new),
        *_fabrics(old, new),
        *_proof(old, new),
        *_warnings(old, new),
    ]
    yield from found
    if not found and _order(old) != _order(new):
        yield "the order of sewing is another"
    elif not found and _shapes(old) != _shapes(new):
        yield "some patches have another shape"


def _was(number: int) -> str:
    return f"{'was' if number == 1 else 'were'} {number:,}"


_NOUNS = {
    "units": ("unit", "units"),
    "patches": ("patch", "patches"),
    "matched_points": ("matched point", "matched points"),
}


def _figures(old: Plan, new: Plan, keys: Sequence[str]) -> Iterator[str]:
    for key in keys:
        was, now = getattr(old.counts, key), getattr(new.counts, key)
        if was != now:
            yield f"{count(now, *_NOUNS[key])}, {_was(was)}"


def _corners(old: Plan, new: Plan) -> Iterator[str]:
    """Tell hard corners that are gone, and new ones."""
    was, now = _places(old), _places(new)
    for corner in list(was):
        same = [other for other in now if other[0] == corner[0] and math.dist(other[1], corner[1]) <= _SAME_PLACE]
        if same:
            was.remove(corner)
            now.remove(min(same, key=lambda other: math.dist(other[1], corner[1])))
    yield from _told_corners(was, "gone")
    yield from _told_corners(now, "new")


def _places(plan: Plan) -> list[tuple[str, Point]]:
    corners: list[HardCorner] = [corner for join in plan.joins() for corner in join.seam.corners]
    return [(corner.kind, plan.block.junctions[corner.junction]) for corner in corners]


def _told_corners(corners: Sequence[tuple[str, Point]], what: str) -> Iterator[str]:
    if corners:
        named = "; ".join(at(place) for _, place in corners[:_MOST])
        more = f" and {len(corners) - _MOST} more" if len(corners) > _MOST else ""
        yield f"hard corner{'s' * (len(corners) > 1)} at {named}{more} {what}"


def _size(old: Plan, new: Plan) -> Iterator[str]:
    was, now = (dimensions(plan.block.width, plan.block.height) for plan in (old, new))
    if was != now:
        yield f"{now}, was {was}"


def _fabrics(old: Plan, new: Plan) -> Iterator[str]:
    was, now = (Counter(patch.fabric for patch in plan.block.patches) for plan in (old, new))
    words = fabric_words({*was, *now})
    fresh, gone = (sorted(words[fabric] for fabric in some) for some in (now.keys() - was, was.keys() - now))
    for some, what in ((fresh, "new"), (gone, "gone")):
        if some:
            more = f" and {len(some) - _MOST} more" if len(some) > _MOST else ""
            yield f"{'fabric' if len(some) == 1 else 'fabrics'} {', '.join(some[:_MOST])}{more} {what}"
    if not (fresh or gone) and len(old.block.patches) == len(new.block.patches) and was != now:
        yield "some patches have another fabric"


def _proof(old: Plan, new: Plan) -> Iterator[str]:
    if old.proven != new.proven:
        yield "now proven" if new.proven else "no longer proven"


_SAID = frozenset({"set-in-seam", "partial-seam", "curved-seam", "locked-part", "not-proven"})
"""Codes of warnings that say no more than the figures do."""


def _warnings(old: Plan, new: Plan) -> Iterator[str]:
    """Tell that there are more or fewer warnings of a kind about the drawing."""
    was, now = (
        Counter(warning.code for warning in plan.warnings if warning.code not in _SAID) for plan in (old, new)
    )
    for some, what in ((now - was, "new"), (was - now, "gone")):
        if some:
            yield f"{count(some.total(), 'warning')} {what} ({', '.join(sorted(some))})"


def _order(plan: Plan) -> list[tuple[object, ...]]:
    """Return what is sewn when, without any place."""
    fabrics = [patch.fabric for patch in plan.block.patches]
    units = [tuple(fabrics[p] for p in unit.patches) for unit in plan.units()]
    return [*units, *(tuple(unit.name for part in join.parts for unit in units_of(part)) for join in plan.joins())]


def _shapes(plan: Plan) -> list[tuple[Point, ...]]:
    """Return where the patches lie, in sewing order, to a thousandth of an inch."""
    block = plan.block
    return [
        tuple((round(x, 3), round(y, 3)) for x, y in block.polygon(p)) for unit in plan.units() for p in unit.patches
    ]
