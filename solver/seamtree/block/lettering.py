"""Text that was turned into outlines, told from patches by what it looks like.

Letters are small closed lines that stand side by side without touching each other or the patches around them, in one
paint, of several shapes, and many of them have holes or inward corners. Patches share their edges with others, and
small ones that do not are alike, as windows are. No part of this is a rule of the trade: the numbers below are set so
that words in common typefaces are told and patches are not.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import shapely

from seamtree.block.noding import Bools, Floats, Geometries, Ints
from seamtree.drawing.drawn import Drawing, Shape, Track
from seamtree.geometry.groups import connected

Key = tuple[int, int]
"""A track: the number of its shape, and its number in that."""

LARGEST = 1.0
"""Letters are smaller than this in both directions (inches); larger ones may be meant to be pieced."""

_FEWEST = 3
"""Fewest letters that make a word, and fewest different ones in it."""

_SHARE = 1 / 3
"""At least so many of the letters of a word have a hole or an inward corner, and at most so many touch others."""

_SPACE = 1.0
"""Between letters, and between words, is no more than this share of the size of the larger letter."""

_HOLLOW = 0.97
"""What covers less than this share of its convex hull has an inward corner."""

_TOUCH = 0.05
"""Lines that run along each other for more than this (inches) are edges of patches side by side."""

_ALIKE = 0.05
"""Letters whose width, height and area differ by less than this share of the largest are the same letter."""


class _Letters(NamedTuple):
    """Closed lines that may be letters: those that lie inside of no other, with those that do.

    Parameters
    ----------
    keys
        Their tracks.
    outlines
        As polygons; shape (n,).
    parts
        Which tracks belong to each, itself included.
    paints
        The paint of each as a number; shape (n,).
    hollow
        Which have a hole or an inward corner; shape (n,).
    """

    keys: list[Key]
    outlines: Geometries
    parts: list[list[Key]]
    paints: Ints
    hollow: Bools


def find_lettering(drawing: Drawing, *, tolerance: float) -> set[Key]:
    """Return the tracks of a painted drawing that are letters of words turned into outlines.

    Where nothing else would be left, none are.
    """
    if drawing.kind != "painted":
        return set()
    keys = [
        (k, n)
        for k, shape in enumerate(drawing.shapes)
        for n, track in enumerate(shape.tracks)
        if _may_be_letter(track, tolerance)
    ]
    if len(keys) < _FEWEST:
        return set()
    letters = _letters(drawing, keys)
    words = [word for word in _runs(letters) if _is_word(word, letters)]
    if not words:
        return set()
    touching = _touching(drawing, letters)
    found = {
        key
        for word in words
        if np.count_nonzero(touching[word]) <= _SHARE * len(word)
        for n in word
        for key in letters.parts[n]
    }
    return found if len(found) < sum(len(shape.tracks) for shape in drawing.shapes) else set()


def _letters(drawing: Drawing, keys: list[Key]) -> _Letters:
    rings = [drawing.shapes[k].tracks[n].points for k, n in keys]
    outlines = shapely.polygons([shapely.linearrings(ring) for ring in rings])
    starts = np.array([ring[0] for ring in rings]).reshape(-1, 2)
    inner, outer = shapely.STRtree(outlines).query(shapely.points(starts), predicate="within")
    area = shapely.area(outlines)
    within: dict[int, int] = {}
    for a, b in zip(inner.tolist(), outer.tolist(), strict=True):
        if area[b] > area[a] and (a not in within or area[b] > area[within[a]]):
            within[a] = b
    alone = [k for k in range(len(keys)) if k not in within]
    parts: dict[int, list[Key]] = {k: [keys[k]] for k in alone}
    for a, b in within.items():
        while b in within:  # lines that cross may be inside of one another by turns, the larger outside
            b = within[b]  # noqa: PLW2901
        parts[b].append(keys[a])
    hull = shapely.area(shapely.convex_hull(outlines[alone]))
    holed = np.array([len(parts[k]) > 1 for k in alone], dtype=bool)
    paints: dict[tuple[str | None, bool], int] = {}
    return _Letters(
        [keys[k] for k in alone],
        outlines[alone],
        [parts[k] for k in alone],
        np.array([paints.setdefault(_paint(drawing.shapes[keys[k][0]]), len(paints)) for k in alone], dtype=np.int64),
        holed | (area[alone] < _HOLLOW * hull),
    )


def _may_be_letter(track: Track, tolerance: float) -> bool:
    if not track.closed or len(track.points) < 3:
        return False
    xs, ys = zip(*track.points, strict=True)
    return bool(max(max(xs) - min(xs), max(ys) - min(ys)) < LARGEST - tolerance)


def _paint(shape: Shape) -> tuple[str | None, bool]:
    return shape.fill, shape.stroked and shape.fill is None


def _sizes(letters: _Letters) -> Floats:
    """Return width and height of each; shape (n, 2)."""
    bounds = shapely.bounds(letters.outlines)
    sizes: Floats = bounds[:, 2:] - bounds[:, :2]
    return sizes


def _runs(letters: _Letters) -> list[list[int]]:
    """Return what stands side by side in one paint, no farther apart than letters and words do."""
    reach = _SPACE * _sizes(letters).max(axis=1)
    boxes = shapely.envelope(letters.outlines)
    one, other = shapely.STRtree(boxes).query(boxes, predicate="dwithin", distance=reach)
    same = letters.paints[one] == letters.paints[other]
    return connected(len(boxes), zip(one[same].tolist(), other[same].tolist(), strict=True))


def _is_word(run: list[int], letters: _Letters) -> bool:
    """Tell whether a run has as many letters, as many different ones and as many hollow ones as words have."""
    if np.count_nonzero(letters.hollow[run]) < max(2.0, _SHARE * len(run)):
        return False
    size = _sizes(letters)[run]
    area = shapely.area(letters.outlines[run])
    looks = np.column_stack([size, np.sqrt(area)]) / size.max()
    different: list[Floats] = []
    for look in looks:
        if all(np.abs(look - other).max() > _ALIKE for other in different):
            different.append(look)
        if len(different) == _FEWEST:
            return True
    return False


def _touching(drawing: Drawing, letters: _Letters) -> Bools:
    """Tell which letters run along another line, as patches do, or cross another letter; shape (n,)."""
    keys = [(k, n) for k, shape in enumerate(drawing.shapes) for n in range(len(shape.tracks))]
    number = {key: j for j, key in enumerate(keys)}
    lines = np.array([shapely.LineString(drawing.shapes[k].tracks[n].path) for k, n in keys])
    own = np.array([number[key] for key in letters.keys], dtype=np.int64)
    is_letter = np.zeros(len(lines), dtype=bool)
    is_letter[own] = True
    letter, other = shapely.STRtree(lines).query(lines[own], predicate="intersects")
    apart = own[letter] != other
    letter, other = letter[apart], other[apart]
    common = shapely.length(shapely.intersection(lines[own[letter]], lines[other])) > _TOUCH
    touching = np.zeros(len(own), dtype=bool)
    touching[letter[common | is_letter[other]]] = True
    return touching
