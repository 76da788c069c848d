"""Notes on a block: what is worth a remark and makes nothing unusable."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from seamtree.block.model import Block
from seamtree.errors import Finding
from seamtree.remedies import WIDTH
from seamtree.words import at as words_of
from seamtree.words import dimensions, listed

_EACH_ITS_OWN = frozenset({"label-outside", "labels-on-each-other"})
"""Kinds of which each note names a text that counts by itself."""

_MOST_PLACES = 3
"""So many of the places of notes of one kind are told besides the first."""

_LARGEST_BITE = 0.3
"""Where more than this share of a rectangle is missing, no rectangle was meant."""

LARGEST_USUAL = 36.0
"""A block that is wider or higher than this (inches) may have been read at a size that nobody meant."""

LEAST_USUAL = 2.0
"""So may one that is narrower and lower than this."""


def size_notes(block: Block) -> Iterator[Finding]:
    """Tell of a block that is larger or smaller than blocks are (common practice)."""
    size = dimensions(block.width, block.height)
    check = f"Check the size; {WIDTH} gives the finished width of the whole drawing."
    if max(block.width, block.height) > LARGEST_USUAL:
        message = f"The block is {size}; blocks are hardly larger than 36 in. {check}"
        yield Finding("unusual-size", message, remedies=(WIDTH,))
    elif max(block.width, block.height) < LEAST_USUAL:
        message = f"The block is {size}; blocks are hardly smaller than 2 in. {check}"
        yield Finding("unusual-size", message, remedies=(WIDTH,))


def bite_notes(block: Block) -> Iterator[Finding]:
    """Tell of an outline that would be a rectangle but for one bite: a patch may have been forgotten there.

    Each side of the rectangle must be there in part, for an outline with a slanted side is no bitten rectangle.
    """
    missing = block.width * block.height - _area(block)
    slack = block.tolerance * (block.width + block.height)
    if not slack < missing <= _LARGEST_BITE * block.width * block.height:
        return
    import shapely

    outline = [(block.junctions[edge.start], block.junctions[edge.end]) for edge in block.edges if not edge.interior]
    area = shapely.union_all(shapely.get_parts(shapely.polygonize([shapely.multilinestrings(outline)])))
    box = shapely.box(0.0, 0.0, block.width, block.height)
    bites = shapely.get_parts(shapely.buffer(shapely.difference(box, area), -block.tolerance / 2))
    if len(bites) != 1:
        return
    reach = 2 * block.tolerance
    corners = [(0.0, 0.0), (block.width, 0.0), (block.width, block.height), (0.0, block.height)]
    sides = shapely.linestrings(list(zip(corners, [*corners[1:], corners[0]], strict=True)))
    there = shapely.length(shapely.intersection(sides, shapely.buffer(area, block.tolerance / 2)))
    if (there <= reach).any():
        return
    left, top, right, bottom = shapely.bounds(shapely.buffer(bites[0], block.tolerance / 2)).tolist()
    middle = shapely.point_on_surface(bites[0])
    at = (float(middle.x), float(middle.y))
    message = (
        f"The outline would be a rectangle but for a bite of {dimensions(right - left, bottom - top)} at "
        f"({words_of(at)}) in. If a patch was forgotten there, or is drawn without fill and line, draw it."
    )
    yield Finding("bitten-outline", message, at)


def _area(block: Block) -> float:
    """Return the area of a block, square inches."""
    twice = 0.0
    for edge in block.edges[block.interior_edges.stop :]:
        (x, y), (fx, fy) = block.junctions[edge.start], block.junctions[edge.end]
        twice += (y * fx - x * fy) if edge.left >= 0 else (x * fy - y * fx)
    return twice / 2


def gathered(notes: Iterable[Finding]) -> tuple[Finding, ...]:
    """Put one note with a count in place of several of one kind.

    Parameters
    ----------
    notes
        In the order in which they are told.

    Returns
    -------
    tuple of Finding
        One for each code, where the first of that kind was: its message and place, how many more there are and where,
        and the patches of all of them. The same note told twice counts once.
    """
    kinds: dict[str | Finding, list[Finding]] = {}
    for note in notes:
        known = kinds.setdefault(note if note.code in _EACH_ITS_OWN else note.code, [])
        if note not in known[:1]:
            known.append(note)
    return tuple([_one_for_all(*alike) for alike in kinds.values()])


def _one_for_all(first: Finding, *others: Finding) -> Finding:
    if not others:
        return first
    places = [words_of(other.at) for other in others if other.at is not None]
    named, left = places[:_MOST_PLACES], len(others) - min(len(places), _MOST_PLACES)
    if left and named:
        named.append(f"{left} other places" if left > 1 else "1 other place")
    where = f": at {listed(named)}" if named else ""
    many = "Another one" if len(others) == 1 else f"{len(others)} more"
    patches = dict.fromkeys(patch for note in (first, *others) for patch in note.patches)
    return replace(first, message=f"{first.message} {many} like this{where}.", patches=tuple(patches))
