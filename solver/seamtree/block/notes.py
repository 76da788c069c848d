"""Notes on a block: what is worth a remark and makes nothing unusable."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from seamtree.block.model import Block
from seamtree.errors import Finding
from seamtree.words import at as words_of
from seamtree.words import dimensions, listed

_EACH_ITS_OWN = frozenset({"label-outside", "labels-on-each-other"})
"""Kinds of which each note names a text that counts by itself."""

_MOST_PLACES = 3
"""So many of the places of notes of one kind are told besides the first."""


LARGEST_USUAL = 36.0
"""A block that is wider or higher than this (inches) may have been read at a size that nobody meant."""

LEAST_USUAL = 2.0
"""So may one that is narrower and lower than this."""


def size_notes(block: Block) -> Iterator[Finding]:
    """Tell of a block that is larger or smaller than blocks are (common practice)."""
    size = dimensions(block.width, block.height)
    check = "Check the size; --width gives the finished width of the whole drawing."
    if max(block.width, block.height) > LARGEST_USUAL:
        yield Finding("unusual-size", f"The block is {size}; blocks are hardly larger than 36 in. {check}")
    elif max(block.width, block.height) < LEAST_USUAL:
        yield Finding("unusual-size", f"The block is {size}; blocks are hardly smaller than 2 in. {check}")


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
