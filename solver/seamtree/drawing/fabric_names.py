"""Names of fabrics, as the people who drew gave them: by a class, a layer or a label in their editor.

A name is one of a fabric only if it goes with one paint, and the paint with one name: a layer that holds shapes of
several colours names none of them. What editors call shapes by themselves is no name.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from seamtree.drawing.wording import unescaped
from seamtree.fabric import one_to_one

_WORDS = re.compile(r"[^\W\d_]+(?:[ '’&-]+[^\W\d_]+)*")
_LONGEST = 40
_SHORTEST = 3
"""Letters of a name in an alphabet of few letters; classes of one or two are made by programs."""

_NO_NAMES = frozenset(
    {
        "artboard",
        "artwork",
        "background-layer",
        "block",
        "circle",
        "clip",
        "clip-path",
        "clippath",
        "cls",
        "compound-path",
        "curve",
        "default",
        "drawing",
        "ellipse",
        "fill",
        "fills",
        "frame",
        "g",
        "group",
        "hatch",
        "image",
        "layer",
        "line",
        "lines",
        "none",
        "object",
        "page",
        "patch",
        "patches",
        "path",
        "polygon",
        "polyline",
        "rect",
        "rectangle",
        "seam",
        "seams",
        "shape",
        "shapes",
        "stroke",
        "strokes",
        "svg",
        "symbol",
        "union",
        "use",
        "vector",
    }
)
"""What editors and people call whatever they draw."""


class Called(NamedTuple):
    """What a shape is called: its classes, those of the groups it is in, and the names of these and of itself."""

    classes: frozenset[str] = frozenset()
    layers: frozenset[str] = frozenset()
    labels: frozenset[str] = frozenset()

    def within(self, *, classes: Iterable[str] = (), layers: Iterable[str] = ()) -> Called:
        """Return what is called something more."""
        return self._replace(
            classes=self.classes.union(name for name in map(in_words, classes) if name),
            layers=self.layers.union(name for name in map(in_words, layers) if name),
        )


NAMELESS = Called()
"""What is not called anything."""


def in_words(name: str) -> str | None:
    """Return a name as words, None where it is none: with figures in it, or what editors call whatever is drawn."""
    if len(name) > 4 * _LONGEST:
        return None
    words = " ".join(unescaped(name).replace("_", " ").split())
    if " " not in words:
        words = " ".join(words.replace("-", " ").split())
    if len(words) > _LONGEST or not _WORDS.fullmatch(words) or words.casefold().replace(" ", "-") in _NO_NAMES:
        return None
    return None if words.isascii() and sum(map(str.isalpha, words)) < _SHORTEST else words


def fabric_names(painted: Iterable[tuple[str, Called]]) -> tuple[tuple[str, str], ...]:
    """Return the fabrics of a drawing that have names, with these.

    Parameters
    ----------
    painted
        The fabric of each shape that may be cloth, and what it is called. Classes count before layers, and layers
        before labels.
    """
    shapes: dict[str, set[Called]] = {}
    for fabric, called in painted:
        shapes.setdefault(fabric, set()).add(called)
    names: dict[str, str] = {}
    for kind in range(len(NAMELESS)):
        bearers: dict[str, set[str]] = {}
        for fabric, several in shapes.items():
            for name in frozenset().union(*(called[kind] for called in several)):
                bearers.setdefault(name, set()).add(fabric)
        for fabric, several in shapes.items():
            common = frozenset.intersection(*(called[kind] for called in several))
            own = [name for name in common if len(bearers[name]) == 1]
            if len(own) == 1:
                names.setdefault(fabric, own[0])
    return tuple(sorted(one_to_one(names.items()).items()))
