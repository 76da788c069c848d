"""Where an element of an SVG document stands, and the names that it goes by."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from seamtree.drawing.affine import Affine
from seamtree.drawing.clips import Clip
from seamtree.drawing.fabric_names import NAMELESS, Called, in_words
from seamtree.drawing.svg.shapes import Viewport
from seamtree.drawing.svg.style import Paint, Style
from seamtree.drawing.svg.xml import Element
from seamtree.tolerances import OPAQUE

ROUNDING = 1e-9


class Place(NamedTuple):
    """What an element inherits from where it stands."""

    matrix: Affine
    style: Style
    viewport: Viewport
    clips: tuple[Clip, ...] = ()
    opacity: float = 1.0
    veil: str = ""
    layer: str | None = None
    marked: bool = False
    uses: tuple[Element, ...] = ()
    depth: int = 1
    called: Called = NAMELESS
    group: str = ""

    def veil_over(self, paint: Paint | None) -> str:
        """Return why what lies under paint that is put here shows through, an empty text where it does not."""
        opacity = self.opacity * (1.0 if paint is None else paint.opacity)
        return self.veil or (f"{opacity:.0%} opaque" if opacity < OPAQUE - ROUNDING else "")


def layer_names(element: Element) -> Iterator[str]:
    """Yield the names by which an element can be left out: id, classes, and the labels that editors give."""
    for name in ("id", "data-name"):
        value = element.get(name)
        if value is not None:
            yield value
    yield from (element.get("class") or "").split()
    for local in ("label", "id"):
        yield from element.in_namespaces(local)


def label_of(element: Element) -> str | None:
    """Return what an editor shows an element as in its list: a label, or the title, which stands for it elsewhere."""
    label = element.get("data-name")
    for local in ("id", "label"):
        label = next(element.in_namespaces(local), label)
    if label is None and element.children:
        label = next((" ".join(child.text.split()) for child in element.children if child.tag == "title"), None)
    return label or None


def called_within(element: Element, here: Place) -> Place:
    """Return the place inside an element, which may have names and classes."""
    label = label_of(element)
    name = label or element.get("id")
    classes = (element.get("class") or "").split()
    if not (name or classes):
        return here
    telling = label or (name if name and in_words(name) else None)
    group = telling or here.group or name or ""
    return here._replace(called=here.called.within(classes=classes, layers=[name] if name else []), group=group)


def called_itself(element: Element, called: Called) -> Called:
    """Return what a shape is called, if it is in something called like this."""
    classes = element.get("class")
    if classes is not None:
        called = called.within(classes=classes.split())
    label = label_of(element)
    words = None if label is None else in_words(label)
    return called._replace(labels=frozenset([words])) if words else called
