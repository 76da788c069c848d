"""How many px an editor counts to the inch, where its file says which editor it was.

Only editors whose count does not depend on the document are told. From memory, as each changed it: one vector editor
wrote 90 px to the inch up to its version 0.91 and 96 from 0.92 on; another counts px as points, 72 to the inch.
"""

from __future__ import annotations

import re

from seamtree.drawing.painted import Resolution
from seamtree.drawing.svg.xml import Element
from seamtree.tolerances import PX_PER_INCH

_VERSION = re.compile(r"(\d+)\.(\d+)")
_INKSCAPE = "http://www.inkscape.org/namespaces/inkscape\nversion"
_FIRST_WITH_96 = (0, 92)
_ILLUSTRATOR = "adobe illustrator"
_ILLUSTRATOR_NAMESPACE = "http://ns.adobe.com/adobeillustrator/"
_PHYSICAL = re.compile(r"[-+.\deE]+(?:in|mm|cm|pt|pc|q)", re.IGNORECASE)


def resolution_of(root: Element, comments: tuple[str, ...], namespaces: frozenset[str]) -> Resolution:
    """Return what a px is worth in a document.

    Parameters
    ----------
    root
        Its root.
    comments
        The comments before its root and the first ones in it.
    namespaces
        The names of all namespaces that it declares.

    Returns
    -------
    Resolution
        Stated if width or height of the root has a physical unit.
    """
    if any(_PHYSICAL.fullmatch((root.get(name) or "").strip()) for name in ("width", "height")):
        return Resolution(PX_PER_INCH, "stated")
    version = _VERSION.match(root.attributes.get(_INKSCAPE, ""))
    if version:
        before = (int(version[1]), int(version[2])) < _FIRST_WITH_96
        return Resolution(90.0 if before else PX_PER_INCH, f"Inkscape {version[0]}")
    if any(_ILLUSTRATOR in comment.lower() for comment in comments) or any(
        name.lower().startswith(_ILLUSTRATOR_NAMESPACE) for name in namespaces
    ):
        return Resolution(72.0, "Adobe Illustrator")
    return Resolution(PX_PER_INCH, "")
