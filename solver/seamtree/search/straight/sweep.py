"""All parts of a bundle of crossing lines at once, in arrays.

Where no single patch spans a junction, a part of a convex block is known by the junctions inside it, and cutting it
along a line leaves the junctions on either side of that line. The sweep lists all sets of junctions that cuts can
leave, level by level, as rows of 64-bit words, and then values them from the smallest to the largest: joins first,
then the length of the joins.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from seamtree.search.effort import NEVER, Deadline
from seamtree.search.view import SeamView, bits, runs_of

Words = npt.NDArray[np.uint64]
Ints = npt.NDArray[np.int64]
Numbers = npt.NDArray[np.int32]

_JOIN = 1 << 42
"""One join in a value; below it the length in millionths of an inch."""

_AT_ONCE = 20_000
"""Rows or cuts in one go: few enough that what is worked out from them takes little memory."""

_SIDES_BYTES = 100_000_000
"""Memory for the sides of the cuts that are made in one go."""

_ROWS_BYTES = 130_000_000
"""Memory for all rows; where they are long, fewer are listed."""

_CUTS = 6_000_000
"""Cuts that are listed at most; each takes about a hundred bytes in the end."""

_MIX = np.array([0x9E3779B97F4A7C15, 0xBF58476D1CE4E5B9, 0x94D049BB133111EB], dtype=np.uint64)
"""Constants of the mixing function of SplitMix64 (Steele, Lea & Flood 2014); any others would do."""


class TooManyParts(Exception):  # noqa: N818 - a signal, not an error
    """The sweep would list more parts than it was allowed to, or came upon one that has no cut."""


@dataclass(frozen=True, slots=True)
class Bundle:
    """Lines that cross, prepared for the sweep.

    Parameters
    ----------
    junctions
        The crossings; their places here are the bits of the rows.
    lines
        The lines of the block.
    on, left, right
        Shape (lines, words): the crossings on each line, to its left, to its right.
    ends
        Shape (lines, words): the crossings where the line ends; it is no cut of a part that holds one.
    order
        Per line, its crossings as bits in turn along it.
    before, after
        Per line, how far along it (millionths of an inch) the neighbours of each crossing in `order` lie.
    """

    junctions: tuple[int, ...]
    lines: tuple[int, ...]
    on: Words
    left: Words
    right: Words
    ends: Words
    order: tuple[Ints, ...]
    before: tuple[Ints, ...]
    after: tuple[Ints, ...]


class Cuts(NamedTuple):
    """Columns of all cuts: the part, the line that cuts it, and the parts on both sides."""

    part: Numbers
    line: Numbers
    left: Numbers
    right: Numbers


@dataclass(frozen=True, slots=True)
class Sweep:
    """The value of every part of a bundle.

    Parameters
    ----------
    bundle
        The lines.
    rows
        Shape (parts, words): crossings of each part; row 0 is the part without any, row 1 the whole bundle.
    values
        Per part, joins and length in one number.
    cut_of, left_of, right_of
        Per part, the line (place in the bundle) that its best order cuts first, and what is left on both sides.
    """

    bundle: Bundle
    rows: Words
    values: Ints
    cut_of: Numbers
    left_of: Numbers
    right_of: Numbers

    def joins(self, part: int = 1) -> int:
        """Return the fewest joins of a part."""
        return int(self.values[part]) // _JOIN

    def all_joins(self) -> Ints:
        """Return the fewest joins of every part."""
        return self.values // _JOIN

    def best_cuts(self, view: SeamView) -> tuple[tuple[int, int], ...]:
        """Return the cuts (first and last edge) of the best order of the whole, each after the ones it needs."""
        found = []
        stack = [1]
        while stack:
            part = stack.pop()
            if part == 0:
                continue
            line = int(self.cut_of[part])
            words = self.rows[part] & self.bundle.on[line]
            mask = sum(int(word) << 64 * w for w, word in enumerate(words))
            slots = 0
            for k in bits(mask):
                slots |= view.junction_slots[self.bundle.junctions[k]]
            found.append(view.run_edges(slots & view.line_slots(self.bundle.lines[line])))
            stack += [int(self.right_of[part]), int(self.left_of[part])]
        return tuple(found)


def build_bundle(view: SeamView, cluster: int) -> Bundle | None:
    """Prepare a cluster for the sweep; None where it has tees, bent lines or sides that are not clear."""
    if not view.convex or cluster & (view.tee | view.bent_slots):
        return None
    runs = [run for run in runs_of(cluster) if run & ~view.ends]
    lines = [view.slot_line[run.bit_length() - 1] for run in runs]
    if len(set(lines)) < len(lines):
        return None
    for run, line in zip(runs, lines, strict=True):
        left, right = view.beside[line]
        if (view.closure(run) | left | right) & cluster != cluster:
            return None
    return _bundle(view, cluster, runs, lines)


def _bundle(view: SeamView, cluster: int, runs: Sequence[int], lines: Sequence[int]) -> Bundle:
    junctions = sorted({view.slot_junction[slot] for slot in bits(cluster)})
    place = {j: k for k, j in enumerate(junctions)}
    words = (len(junctions) + 63) // 64

    def row(slots: int) -> list[int]:
        mask = 0
        for slot in bits(slots & cluster):
            mask |= 1 << place[view.slot_junction[slot]]
        return [mask >> 64 * w & (1 << 64) - 1 for w in range(words)]

    def table(masks: Iterable[int]) -> Words:
        return np.array([row(mask) for mask in masks], dtype=np.uint64)

    order, before, after = [], [], []
    for run in runs:
        inner = run & ~view.ends
        first, last = view.run_edges(inner)
        along = np.cumsum([0, *view.lengths[first : last + 1]])
        order.append(np.array([place[view.slot_junction[slot]] for slot in bits(inner)], dtype=np.int64))
        before.append(along[:-2])
        after.append(along[2:])
    return Bundle(
        tuple(junctions),
        tuple(lines),
        table(run & ~view.ends for run in runs),
        table(view.beside[line][0] for line in lines),
        table(view.beside[line][1] for line in lines),
        table(run & view.ends for run in runs),
        tuple(order),
        tuple(before),
        tuple(after),
    )


class _Listing:
    """Grows the list of distinct rows and finds them again."""

    def __init__(self, words: int, limit: int) -> None:
        self.limit = max(1, min(limit, _ROWS_BYTES // (8 * words)))
        self.count = 1
        self._rows: Words = np.zeros((1, words), dtype=np.uint64)
        self._offsets: Words = np.arange(1, words + 1, dtype=np.uint64) * _MIX[0]
        self._sorted: Words = self._keys(self._rows)
        self._where: Ints = np.zeros(1, dtype=np.int64)

    @property
    def rows(self) -> Words:
        """All rows so far."""
        return self._rows[: self.count]

    def _append(self, rows: Words) -> None:
        stop = self.count + len(rows)
        if stop > len(self._rows):
            room = np.zeros((2 * stop, self._rows.shape[1]), dtype=np.uint64)
            room[: self.count] = self.rows
            self._rows = room
        self._rows[self.count : stop] = rows
        self.count = stop

    def _keys(self, rows: Words) -> Words:
        mixed = rows + self._offsets
        mixed = (mixed ^ (mixed >> np.uint64(30))) * _MIX[1]
        mixed = (mixed ^ (mixed >> np.uint64(27))) * _MIX[2]
        keys: Words = (mixed ^ (mixed >> np.uint64(31))).sum(axis=1, dtype=np.uint64)
        return keys

    def numbers(self, rows: Words) -> Ints:
        """Return the number of each row, new rows numbered on."""
        keys = self._keys(rows)
        distinct, first, back = np.unique(keys, return_index=True, return_inverse=True)
        at = np.minimum(np.searchsorted(self._sorted, distinct), len(self._sorted) - 1)
        fresh = self._sorted[at] != distinct
        numbers = np.where(fresh, 0, self._where[at])
        count = int(fresh.sum())
        if count:
            if self.count + count > self.limit:
                raise TooManyParts
            # New rows are numbered in the order in which they first came up, whatever their keys.
            turn = np.argsort(first[fresh], kind="stable")
            rank = np.empty(count, dtype=np.int64)
            rank[turn] = np.arange(count)
            numbers[fresh] = self.count + rank
            self._append(rows[first[fresh][turn]])
            self._where = np.concatenate([self._where, numbers[fresh]])
            self._sorted = np.concatenate([self._sorted, distinct[fresh]])
            sort = np.argsort(self._sorted, kind="stable")
            self._sorted, self._where = self._sorted[sort], self._where[sort]
        found = numbers[back.reshape(-1)]
        if not np.array_equal(self.rows[found], rows):
            raise TooManyParts  # two rows with one key: never seen, and no ground for a wrong answer
        return found


def sweep(bundle: Bundle, *, limit: int, deadline: Deadline = NEVER) -> Sweep:
    """Value every part of a bundle.

    Parameters
    ----------
    bundle
        The lines.
    limit
        How many parts may be listed.
    deadline
        When the clock ends it.

    Raises
    ------
    TooManyParts
        If there are more, the clock ends it, or a part has no cut: then straight seams cannot sew it.
    """
    words = bundle.on.shape[1]
    listing = _Listing(words, limit)
    everything = np.bitwise_or.reduce(bundle.on, axis=0).reshape(1, words)
    listing.numbers(everything)
    done, total = 1, 0
    found: list[Cuts] = []
    while done < listing.count:
        rows = listing.rows[done : done + _AT_ONCE]
        passed = _touch(rows, bundle.on) & ~_touch(rows, bundle.ends)
        lines = passed.sum(axis=1).cumsum()
        # As many rows as their cuts have room, but one at least.
        some = max(1, int(np.searchsorted(lines, _SIDES_BYTES // (16 * words), side="right")))
        rows, passed = rows[:some], passed[:some]
        total += int(lines[len(rows) - 1])
        if not passed.any(axis=1).all() or total > _CUTS or deadline.over:
            raise TooManyParts
        part, line = np.nonzero(passed)
        sides = np.concatenate([rows[part] & bundle.left[line], rows[part] & bundle.right[line]])
        numbers = listing.numbers(sides)
        columns = (part + done, line, numbers[: len(part)], numbers[len(part) :])
        found.append(Cuts(*(column.astype(np.int32) for column in columns)))
        done += len(rows)
    cuts = Cuts(*(np.concatenate(column) for column in zip(*found, strict=True)))
    found.clear()
    return _value(bundle, listing.rows, cuts)


def _touch(rows: Words, masks: Words) -> npt.NDArray[np.bool_]:
    """Tell for each row and each mask, shape (rows, masks), whether they have a bit in common."""
    touch = np.zeros((len(rows), len(masks)), dtype=bool)
    for n, mask in enumerate(masks):
        for word in np.flatnonzero(mask):
            touch[:, n] |= rows[:, word] & mask[word] != 0
    return touch


def _value(bundle: Bundle, rows: Words, cuts: Cuts) -> Sweep:
    """Value the parts from the smallest to the largest."""
    part, line, left, right = cuts
    del cuts
    size = np.bitwise_count(rows).sum(axis=1, dtype=np.int32)
    costs = _JOIN + _cut_lengths(bundle, rows, part, line)
    order = np.lexsort((line, part, size[part]))
    part, line, left, right, costs = part[order], line[order], left[order], right[order], costs[order]
    del order
    values = np.zeros(len(rows), dtype=np.int64)
    best = np.full(len(rows), -1, dtype=np.int64)
    steps = np.flatnonzero(np.diff(size[part], prepend=-1))
    for start, stop in zip(steps, [*steps[1:], len(part)], strict=True):
        here = part[start:stop]
        totals = costs[start:stop] + values[left[start:stop]] + values[right[start:stop]]
        begins = np.flatnonzero(np.diff(here, prepend=-1))
        least = np.minimum.reduceat(totals, begins)
        values[here[begins]] = least
        hits = np.flatnonzero(totals == np.repeat(least, np.diff([*begins, len(here)])))
        best[here[hits[::-1]]] = hits[::-1] + start
    known = best >= 0
    cut_of, left_of, right_of = (np.full(len(rows), -1, dtype=np.int32) for _ in range(3))
    for target, source in ((cut_of, line), (left_of, left), (right_of, right)):
        target[known] = source[best[known]]
    return Sweep(bundle, rows, values, cut_of, left_of, right_of)


def _cut_lengths(bundle: Bundle, rows: Words, part: Numbers, line: Numbers) -> Ints:
    """Return the length of each cut: from the junction before its first crossing to the one after its last."""
    lengths = np.zeros(len(part), dtype=np.int64)
    for n, order in enumerate(bundle.order):
        word, bit = order >> 6, np.uint64(1) << (order & 63).astype(np.uint64)
        cuts = np.flatnonzero(line == n)
        for start in range(0, len(cuts), _AT_ONCE):
            where = cuts[start : start + _AT_ONCE]
            along = rows[part[where][:, None], word] & bit != 0
            first = along.argmax(axis=1)
            last = len(order) - 1 - along[:, ::-1].argmax(axis=1)
            lengths[where] = bundle.after[n][last] - bundle.before[n][first]
    return lengths
