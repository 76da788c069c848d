"""Drawings of a catalogue that are equal: by content, or as blocks that can be laid on each other.

Two blocks are congruent if one, turned by any angle and perhaps mirrored, lies on the other within the tolerance,
seam on seam and outline on outline; fabrics are not compared. A seam counts as what it covers, however it is parted.
"""

from __future__ import annotations

import base64
import zlib
from bisect import bisect_left, bisect_right, insort
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from seamtree.auditing.model import Record
from seamtree.tolerances import TOLERANCE

if TYPE_CHECKING:
    from seamtree.block.model import Block

How = Literal["as it is", "turned", "mirrored"]

_UNITS = 10_000
"""Parts of an inch in which seams are kept."""

_APART = 2 * TOLERANCE
"""How far congruent seams may be apart, inches: either block may be off by the tolerance."""

_LENGTHS = 0.002
"""Part by which the lengths of all seams of congruent blocks may differ, besides `_APART`."""

_QUARTERS = 0.25
"""Seams are compared at their ends and quarters: ends alone do not tell one diagonal of a square from the other."""


@dataclass(frozen=True, slots=True)
class Twin:
    """A block, and how it lies to the first one of its group."""

    source: str
    block: str
    how: How


@dataclass(frozen=True, slots=True)
class Equals:
    """What is equal in a catalogue.

    Parameters
    ----------
    contents
        Groups of file names with the same content.
    blocks
        Groups of congruent blocks; of drawings with the same content only the first is listed.
    """

    contents: tuple[tuple[str, ...], ...] = ()
    blocks: tuple[tuple[Twin, ...], ...] = ()


def pack_seams(block: Block) -> str:
    """Return all seams and the outline of a block as a short text, for `find_equals`."""
    ends = [(*block.junctions[edge.start], *block.junctions[edge.end]) for edge in block.edges]
    whole = np.rint(np.asarray(ends) * _UNITS).astype("<i4")
    return base64.b64encode(zlib.compress(whole.tobytes())).decode("ascii")


def find_equals(records: Sequence[Record]) -> Equals:
    """Find drawings that are equal, in the order of the records."""
    contents: dict[str, list[str]] = defaultdict(list)
    for record in records:
        if record.digest:
            contents[record.digest].append(record.source)
    firsts = {sources[0] for sources in contents.values()}
    groups: list[_Group] = []
    by_length: list[tuple[float, int]] = []
    for record in records:
        if record.source not in firsts:
            continue
        for block in record.blocks:
            if block.seams is not None:
                _sort_in(Twin(record.source, block.name, "as it is"), _Seams(block.seams), groups, by_length)
    return Equals(
        tuple(tuple(sources) for sources in contents.values() if len(sources) > 1),
        tuple(tuple(group.twins) for group in groups if len(group.twins) > 1),
    )


class _Seams:
    """Seams about their middle: ends as complex numbers, inches. The middle is that of all their lengths."""

    def __init__(self, packed: str) -> None:
        whole = np.frombuffer(zlib.decompress(base64.b64decode(packed)), "<i4").reshape(-1, 4) / _UNITS
        ends = whole[:, 0::2] + 1j * whole[:, 1::2]
        lengths = abs(ends[:, 1] - ends[:, 0])
        self.length = float(lengths.sum())
        self.ends: NDArray[np.complex128] = ends - (ends.mean(axis=1) * lengths).sum() / self.length

    def lines(self, turn: complex = 1.0, *, mirrored: bool = False) -> object:
        import shapely

        ends = (self.ends.conj() if mirrored else self.ends) * turn
        return shapely.multilinestrings(shapely.linestrings(np.stack((ends.real, ends.imag), axis=-1)))

    def turns(self, other: _Seams, *, mirrored: bool) -> Iterator[complex]:
        """Yield the turns that lay the outermost end of a seam on one of the other block."""
        corners = (self.ends.conj() if mirrored else self.ends).ravel()
        far = corners[np.argmax(abs(corners))]
        others = np.unique(np.round(other.ends.ravel(), 2))
        for corner in others[abs(abs(others) - abs(far)) <= _APART]:
            yield complex(corner / far / abs(corner / far))


@dataclass(slots=True)
class _Group:
    """Congruent blocks and the seams of the first one."""

    seams: _Seams
    twins: list[Twin]


def _sort_in(twin: Twin, seams: _Seams, groups: list[_Group], by_length: list[tuple[float, int]]) -> None:
    """Put a block into the group that it belongs to, or begin a new one; `by_length` lists groups by length."""
    slack = _APART + _LENGTHS * seams.length
    low = bisect_left(by_length, (seams.length - slack, -1))
    high = bisect_right(by_length, (seams.length + slack, len(groups)))
    for _, number in by_length[low:high]:
        how = _laid_on(seams, groups[number].seams)
        if how is not None:
            groups[number].twins.append(Twin(twin.source, twin.block, how))
            return
    insort(by_length, (seams.length, len(groups)))
    groups.append(_Group(seams, [twin]))


def _laid_on(first: _Seams, second: _Seams) -> How | None:
    """Tell how one block lies on another, None if it does not."""
    import shapely

    target = second.lines()
    if _fits(first.lines(), target):
        return "as it is"
    for mirrored in (False, True):
        for turn in first.turns(second, mirrored=mirrored):
            lines = first.lines(turn, mirrored=mirrored)
            if shapely.hausdorff_distance(lines, target) <= _APART and _fits(lines, target):
                return "mirrored" if mirrored else "turned"
    return None


def _fits(lines: object, target: object) -> bool:
    import shapely

    return bool(shapely.hausdorff_distance(lines, target, densify=_QUARTERS) <= _APART)
