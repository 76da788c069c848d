"""Fabrics that are spared: found by their names in the drawing, or by plain words."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from seamtree.block.sketch import Sketch
from seamtree.errors import OptionError
from seamtree.fabric import fabric_words


def spared_fabrics(sketch: Sketch, names: Iterable[str]) -> frozenset[str]:
    """Return the fabrics of a drawing that are named.

    Parameters
    ----------
    sketch
        The drawing.
    names
        Colours as the drawing has them (``#335577``), its own words, or the plain words that reports use.

    Raises
    ------
    OptionError
        If no fabric has such a name; it tells the nearest one.
    """
    fabrics = sorted({area.fabric for area in sketch.areas if area.fabric})
    words = fabric_words(fabrics)
    known: dict[str, str] = {}
    for colour in fabrics:
        known.setdefault(words[colour].lower(), colour)
    known |= {colour.lower(): colour for colour in fabrics}
    found = set()
    for name in names:
        fabric = known.get(name.lower())
        if fabric is None:
            near = get_close_matches(name.lower(), sorted(known), n=1, cutoff=0.0)
            hint = f"; the nearest name is {near[0]}" if near else ""
            raise OptionError(f"no patch has the fabric {name[:60]}{hint}", argument="spare")
        found.add(fabric)
    return frozenset(found)
