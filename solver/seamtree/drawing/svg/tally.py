"""What is met on the walk through an SVG document: counted, told, and held against the limits."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from seamtree.drawing import limits
from seamtree.drawing.outlines import Outline
from seamtree.drawing.painted import PaintedShape
from seamtree.drawing.svg.path_data import COMMANDS
from seamtree.drawing.svg.place import Place, label_of
from seamtree.drawing.svg.shapes import BadValueError
from seamtree.drawing.svg.style import Style
from seamtree.drawing.svg.styles import Styles
from seamtree.drawing.svg.xml import Element
from seamtree.drawing.wording import short, unescaped
from seamtree.errors import Finding

if TYPE_CHECKING:
    from seamtree.drawing.svg.lettering import Lettering

_PLURALS = {"image": "images", "foreignObject": "foreign objects", "textPath": "texts on paths"}


@dataclass(slots=True)
class Tally:
    """What is collected on the walk.

    Parameters
    ----------
    source
        File name for messages.
    numbers
        Which of its kind each element is.
    """

    source: str
    numbers: Mapping[Element, int]
    shapes: list[PaintedShape] = field(default_factory=list)
    labels: list[Lettering] = field(default_factory=list)
    findings: dict[tuple[Element, str, str], Finding] = field(default_factory=dict)
    left_out: dict[str, int] = field(default_factory=dict)
    unseen: dict[str, list[str]] = field(default_factory=dict)
    marked_texts: int = 0
    elements: int = 0
    uses: int = 0
    pieces: int = 0

    def name(self, element: Element, place: Place) -> str:
        """Return what messages call a shape: as an editor's list shows it, else by its kind and number and where."""
        own = label_of(element) or element.get("id")
        name = short(unescaped(own)) if own else f"{element.tag} {self.numbers[element]}"
        if place.uses:
            use = place.uses[-1]
            return f"{name} in {short(unescaped(label_of(use) or use.get('id') or f'use {self.numbers[use]}'))}"
        return name if own or not place.group else f"{name} in {short(unescaped(place.group))}"

    def find(self, element: Element, place: Place, code: str, sentence: str) -> None:
        """Note what makes the document unusable, unless it is in a layer that is left out."""
        if place.layer is not None:
            return
        identity = label_of(element) or element.get("id")
        name = f"{element.tag} '{short(identity)}'" if identity else f"{element.tag} {self.numbers[element]}"
        message = f"In {self.source}, {name} (line {element.line}) {sentence}."
        self.findings.setdefault((element, code, sentence), Finding(code, message))

    def find_bad_value(self, element: Element, place: Place, fault: BadValueError) -> None:
        """Note a value that cannot be used."""
        if not fault.attribute:
            self.find(element, place, fault.code, fault.reason)
        else:
            sentence = f"cannot be used: its {fault.attribute} '{short(fault.value)}' {fault.reason}"
            self.find(element, place, fault.code, sentence)

    def note_unseen(self, element: Element, here: Place) -> None:
        """Note an element that paints something and is left out."""
        if here.layer is None and here.style["visibility"].lower() == "visible":
            self.unseen.setdefault(element.tag, []).append(self.name(element, here))

    def count_left_out(self, layer: str) -> None:
        """Count a shape or text in a layer that is left out."""
        self.left_out[layer] = self.left_out.get(layer, 0) + 1

    def check_length(self, element: Element, style: Style) -> None:
        """Refuse a shape whose data are too long to be read."""
        data = style["d"] if element.tag == "path" else element.get("points") or ""
        # Every piece needs two characters at least, so that short data needs no counting.
        if len(data) > 2 * limits.MAX_POINTS and sum(map(data.count, COMMANDS)) > limits.MAX_POINTS:
            self.refuse(f"more than {limits.MAX_POINTS:,} lines and curves in one path")
        if len(data) > limits.MAX_OUTLINE_TEXT:
            self.refuse(f"more than {limits.MAX_OUTLINE_TEXT:,} characters in one path")

    def count_pieces(self, outlines: Iterable[Outline]) -> None:
        """Count the lines and curves of a shape."""
        self.count(sum([outline.pieces for outline in outlines]))

    def count(self, more: int) -> None:
        """Count lines, curves and letters; refuse too many."""
        # Copies are read anew, so that a long path or text with many copies costs time before it has points.
        self.pieces += more
        if self.pieces > limits.MAX_POINTS:
            self.refuse(f"more than {limits.MAX_POINTS:,} lines and curves once references are followed")

    def check_count(self) -> None:
        """Refuse too many shapes and texts."""
        if len(self.shapes) + len(self.labels) > limits.MAX_SHAPES:
            self.refuse(f"more than {limits.MAX_SHAPES:,} shapes")

    def refuse(self, what: str) -> None:
        """Refuse the document."""
        limits.refuse(f"{self.source} has {what}. Simplify or split the drawing.", source=self.source)

    def notes(self, skipped: Collection[str], styles: Styles) -> Iterator[Finding]:
        """Yield what people should know of the document, though it can be used."""
        for layer in sorted(skipped):
            count = self.left_out.get(layer, 0)
            yield Finding("layer-left-out", f"'{layer}' is left out as asked: {_counted(count, 'shape or text')}.")
        for tag, names in self.unseen.items():
            shown = ", ".join(short(name) for name in names[:5]) + (", ..." if len(names) > 5 else "")
            plural = _PLURALS.get(tag, f"elements '{tag}'")
            code = {"image": "image-left-out", "foreignObject": "image-left-out"}.get(tag, "element-left-out")
            yield Finding(code, f"{len(names)} {plural} left out ({shown}): only lines and shapes are read.")
        if self.marked_texts:
            texts = _counted(self.marked_texts, "text")
            yield Finding(
                "marked-text",
                f"{texts} among the markings label nothing and are not shown: letters are not drawn here.",
            )
        if styles.missing:
            shown = ", ".join(f"'#{short(name)}'" for name in [*styles.missing][:5])
            yield Finding("paint-missing", f"Fills or strokes refer to {shown}, which the file does not hold.")
        if styles.sheet.left_out:
            shown = ", ".join(f"'{short(text)}'" for text in styles.sheet.left_out[:5])
            yield Finding("style-left-out", f"Style rules that are not understood are left out: {shown}.")


def _counted(count: int, what: str) -> str:
    return f"{count} {what}" if count == 1 else f"{count} {what.replace('shape', 'shapes').replace('text', 'texts')}"
