"""Drawings of a catalogue that are equal: by content, or as blocks that can be laid on each other.

Two blocks are congruent if one, turned by any angle and perhaps mirrored, lies on the other within the tolerance,
seam on seam and outline on outline; fabrics are not compared. A seam counts as what it covers, however it is parted.

Few drawings are really laid on each other. Each block is described by how far some places are from its nearest seam,
once as it is and once turned so that its outermost corner lies on the x axis. Where blocks lie on each other, no
place is further from the seams of one than from those of the other by more than these are apart: so blocks whose
descriptions differ by more are not congruent. A tree of the first figures of all descriptions finds the few that come
near one, and only for these the rest is worked out.
"""

from __future__ import annotations

import base64
import zlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal, get_args

import numpy as np
from numpy.typing import NDArray

from seamtree.auditing.record import Record
from seamtree.tolerances import TOLERANCE

if TYPE_CHECKING:
    from seamtree.block.model import Block

How = Literal["as it is", "turned", "mirrored"]
"""In the order in which they are looked for."""


_UNITS = 10_000
"""Parts of an inch in which seams are kept."""

_APART = 2 * TOLERANCE
"""How far congruent seams may be apart, inches: either block may be off by the tolerance."""

_LENGTHS = 0.002
"""Part by which the lengths of all seams of congruent blocks may differ, besides `_APART`."""

_QUARTERS = np.arange(5) / 4
"""Seams are compared at their ends and quarters: ends alone do not tell one diagonal of a square from the other."""

_PROBES = np.sqrt((np.arange(48) + 0.5) / 48) * np.exp(1j * np.pi * (3 - 5**0.5) * np.arange(48))
"""Places that describe a block, in its radii: a sunflower (Vogel 1979), which spreads them evenly over a disc."""

_LEADING = 32
"""Figures of a description by which others like it are looked for; the rest is compared only if these are alike."""

_UNPLANTED = 256
"""As many of the newest descriptions are looked through one by one, so that the tree need not grow with each."""

_FEW = 1_000_000
"""Pairs of a place and a seam that are worked out at a time, for the sake of memory."""


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
    groups = _Groups()
    for record in records:
        if record.source in firsts:
            for block in record.blocks:
                if block.seams is not None:
                    groups.sort_in(record.source, block.name, block.seams)
    return Equals(
        tuple(tuple(sources) for sources in contents.values() if len(sources) > 1),
        tuple(tuple(twins) for twins in groups.twins if len(twins) > 1),
    )


class _Seams:
    """Seams about their middle: ends as complex numbers, inches. The middle is that of all their lengths."""

    def __init__(self, whole: NDArray[np.int64]) -> None:
        inches = whole / _UNITS
        ends = inches[:, 0::2] + 1j * inches[:, 1::2]
        lengths = abs(ends[:, 1] - ends[:, 0])
        self.length = float(lengths.sum())
        self.ends: NDArray[np.complex128] = ends - (ends.mean(axis=1) * lengths).sum() / self.length
        self.radius = float(abs(self.ends).max())

    @cached_property
    def outermost(self) -> NDArray[np.complex128]:
        """Directions of the corners that may be the outermost one of a congruent block; that of this one is first."""
        corners: NDArray[np.complex128] = np.unique(self.ends)
        far = corners[abs(corners) >= self.radius - 2 * _APART]
        far = far[np.argsort(-abs(far), kind="stable")]
        return far / abs(far)

    def describe(
        self, turns: NDArray[np.complex128], *, mirrored: bool = False, probes: int = len(_PROBES)
    ) -> NDArray[np.float32]:
        """Return how far probes are from the nearest seam of the block, mirrored or not, then turned; by turns."""
        places = self.radius * _PROBES[:probes] * turns.conj()[:, None]
        places = (places.conj() if mirrored else places).ravel()
        return self._distances(places).reshape(-1, probes).astype(np.float32)

    def _distances(self, places: NDArray[np.complex128]) -> NDArray[np.float64]:
        """Return how far places are from the nearest seam."""
        at_once = max(1, _FEW // len(self.ends))
        return np.concatenate([self._nearest(places[k : k + at_once]) for k in range(0, len(places), at_once)])

    def _nearest(self, places: NDArray[np.complex128]) -> NDArray[np.float64]:
        directions, middles, halves = self._frames
        along = np.stack((places.real, places.imag), axis=-1) @ directions
        along -= middles
        seams = len(halves)
        beyond = np.maximum(abs(along[:, :seams]) - halves, 0)  # past an end of the seam
        nearest: NDArray[np.float64] = np.sqrt((beyond**2 + along[:, seams:] ** 2).min(axis=1))
        return nearest

    @cached_property
    def _frames(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Return directions along seams, then across them (columns), middles of seams in these, and half lengths."""
        start, end = self.ends.T
        lengths = abs(end - start)
        along = (end - start) / np.maximum(lengths, 1 / _UNITS)
        both = np.concatenate((along, 1j * along))
        middle = np.tile((start + end) / 2, 2)
        return np.stack((both.real, both.imag)), (middle * both.conj()).real, lengths / 2

    @cached_property
    def places(self) -> NDArray[np.complex128]:
        """Ends and quarters of all seams, each once."""
        start, end = self.ends[:, :1], self.ends[:, 1:]
        return np.unique(np.round(start + (end - start) * _QUARTERS, 4))

    def cover(self, places: NDArray[np.complex128]) -> bool:
        """Tell whether all places are on seams, as nearly as seams of congruent blocks are."""
        return bool(self._distances(places).max() <= _APART)

    def lies_on(self, other: _Seams, turn: complex, *, mirrored: bool) -> bool:
        """Tell whether the block, mirrored or not, then turned, covers another one and is covered by it."""
        mine = (self.places.conj() if mirrored else self.places) * turn
        theirs = other.places * turn.conjugate()
        return other.cover(mine) and self.cover(theirs.conj() if mirrored else theirs)


def _unpack(packed: str) -> NDArray[np.int64]:
    """Return seams as they were packed, from the top left corner on: the same for the same seams in any order."""
    whole = np.frombuffer(zlib.decompress(base64.b64decode(packed)), "<i4").reshape(-1, 2, 2).astype(np.int64)
    whole -= whole.min(axis=(0, 1))
    start, end = whole[:, 0], whole[:, 1]
    turned = (start[:, 0] > end[:, 0]) | ((start[:, 0] == end[:, 0]) & (start[:, 1] > end[:, 1]))
    whole[turned] = whole[turned, ::-1]
    seams = whole.reshape(-1, 4)
    return seams[np.lexsort(seams.T)]


class _Groups:
    """Groups of congruent blocks, each described by its first block."""

    def __init__(self) -> None:
        self.twins: list[list[Twin]] = []
        self._firsts: list[_Seams] = []
        self._known: dict[bytes, tuple[int, How]] = {}
        self._sizes = np.empty((64, 2))  # length and radius
        self._looks = {turned: _Looks() for turned in (False, True)}

    def sort_in(self, source: str, block: str, packed: str) -> None:
        """Put a block into the group that it belongs to, or begin a new one."""
        whole = _unpack(packed)
        key = whole.tobytes()
        if key not in self._known:
            seams = _Seams(whole)
            self._known[key] = self._find(seams) or self._begin(seams)
        group, how = self._known[key]
        self.twins[group].append(Twin(source, block, how))

    def _begin(self, seams: _Seams) -> tuple[int, How]:
        number = len(self._firsts)
        if number == len(self._sizes):
            self._sizes = np.concatenate((self._sizes, np.empty_like(self._sizes)))
        self._sizes[number] = seams.length, seams.radius
        self._looks[False].add(seams.describe(_turns(seams, "as it is"))[0])
        self._looks[True].add(seams.describe(_turns(seams, "turned")[:1])[0])
        self._firsts.append(seams)
        self.twins.append([])
        return number, "as it is"

    def _find(self, seams: _Seams) -> tuple[int, How] | None:
        """Return a group that a block belongs to, and how it lies to the first block there."""
        sizes = abs(self._sizes[: len(self._firsts)] - (seams.length, seams.radius))
        near = np.all(sizes <= (_APART + _LENGTHS * seams.length, _APART), axis=1)
        if not near.any():
            return None
        for how in get_args(How):
            turns, mirrored, looks = _turns(seams, how), how == "mirrored", self._looks[how != "as it is"]
            leading = seams.describe(turns, mirrored=mirrored, probes=_LEADING)
            for number, alike in enumerate(looks.like(leading)):
                found = [group for group in sorted(alike) if near[group]]
                if not found:
                    continue
                wanted = seams.describe(turns[number : number + 1], mirrored=mirrored)[0]
                for group in found:
                    first = self._firsts[group]
                    apart = _APART + sizes[group, 1]  # probes are as far apart as the radii differ
                    turn = turns[number] if how == "as it is" else turns[number] * first.outermost[0]
                    if looks.differ(group, wanted) <= apart + 1 / _UNITS and seams.lies_on(
                        first, complex(turn), mirrored=mirrored
                    ):
                        return group, how
        return None


class _Looks:
    """Descriptions of the first blocks of all groups, in order."""

    def __init__(self) -> None:
        self._rows = np.empty((64, len(_PROBES)), np.float32)
        self._count = 0
        self._planted = 0
        self._tree: Any = None

    def add(self, row: NDArray[np.float32]) -> None:
        """Add the description of one more group."""
        if self._count == len(self._rows):
            self._rows = np.concatenate((self._rows, np.empty_like(self._rows)))
        self._rows[self._count] = row
        self._count += 1

    def like(self, leading: NDArray[np.float32]) -> list[list[int]]:
        """Return for each beginning of a description the groups whose descriptions begin nearly so, in any order."""
        apart = 2 * _APART + 1 / _UNITS  # radii that differ by more have been sorted out
        if self._count - self._planted > _UNPLANTED:
            from scipy.spatial import KDTree  # few catalogues need it

            self._tree, self._planted = KDTree(self._rows[: self._count, :_LEADING]), self._count
        newest = self._rows[self._planted : self._count, :_LEADING]
        found = [
            [self._planted + int(at) for at in np.flatnonzero(abs(newest - row).max(axis=1, initial=0) <= apart)]
            for row in leading
        ]
        if self._tree is not None:
            older: Iterable[list[int]] = self._tree.query_ball_point(leading, apart, p=np.inf)
            found = [[*some, *more] for some, more in zip(older, found, strict=True)]
        return found

    def differ(self, group: int, wanted: NDArray[np.float32]) -> float:
        """Return by how much the description of a group differs from another one at most."""
        return float(abs(self._rows[group] - wanted).max())


def _turns(seams: _Seams, how: How) -> NDArray[np.complex128]:
    """Return the turns of a block by which its description may be that of a congruent one."""
    if how == "as it is":
        return np.ones(1, complex)
    return seams.outermost if how == "mirrored" else seams.outermost.conj()
