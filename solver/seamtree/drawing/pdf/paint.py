"""What the operators of a PDF page paint, put on a canvas (ISO 32000-1, sections 8, 9 and 11).

Operators with the wrong operands, and operators that PDF does not know, are faults: a page of which a part cannot be
read must not be taken for a drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Any

from pypdf.generic import DictionaryObject, StreamObject

from seamtree.drawing import limits
from seamtree.drawing.affine import Affine
from seamtree.drawing.canvas import Canvas
from seamtree.drawing.outlines import Bounds
from seamtree.drawing.pdf import outline, settings, typeset
from seamtree.drawing.pdf.content import Operation, read_operations
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.layers import Layers
from seamtree.drawing.pdf.lettering import Lettering
from seamtree.drawing.pdf.machine import Machine, Table, entries

_MOST_DEPTH = 64


class Painter:
    """Paints the contents of a page: sends every operator to the one that knows it, and paints forms and images.

    Parameters
    ----------
    canvas
        What it is painted on.
    page
        The visible page on the canvas.
    pdf
        The document.
    layers
        Its layers.
    source
        File name for messages.
    """

    def __init__(self, canvas: Canvas, page: Bounds, pdf: Any, layers: Layers, source: str) -> None:
        self._machine = Machine(canvas, source)
        self._settings, inks = settings.Settings(self._machine), settings.Inks(self._machine)
        self._outliner = outline.Outliner(self._machine, inks, page)
        self._typesetter = typeset.Typesetter(self._machine)
        self._operators = {
            name: (count, partial(method, who))
            for who, table in (
                (self._settings, settings.SETTINGS),
                (inks, settings.INKS),
                (self._outliner, outline.OPERATORS),
                (self._typesetter, typeset.OPERATORS),
                (_Marks(self._machine, layers), _MARKS),
                (self, _OPERATORS),
            )
            for name, (count, method) in table.items()
        }
        self._pdf = pdf
        self._layers = layers
        self._forms: dict[int, list[Operation]] = {}
        self._running: list[int] = []
        self._used = 0
        self._compatible = 0

    @property
    def lettering(self) -> Lettering:
        """The texts so far."""
        return self._typesetter.lettering

    def paint_page(self, page: DictionaryObject, matrix: Affine) -> None:
        """Paint a page; the matrix leads from its user space to the canvas.

        Raises
        ------
        DrawingError
            ``damaged-file``, ``bad-number``.
        LimitError
            When there is more than is read.
        """
        self._machine.state.matrix = matrix
        self._machine.resources = [page.get("/Resources")]
        self._run(read_operations(page.get("/Contents"), self._pdf, self._machine.source))
        self.lettering.flush()

    def _run(self, operations: Sequence[Operation]) -> None:
        for name, operands in operations:
            if name in self._operators:
                count, method = self._operators[name]
                method(*((operands,) if count is None else self._machine.numbers(name, operands, count)))
            elif not self._compatible:
                raise damaged(self._machine.source, f"its page uses '{_shown(name)}', which no PDF page can")

    def do(self, operands: Sequence[Any]) -> None:
        """Paint a form or an image."""
        reference = self._machine.needed("/XObject", operands)
        found = reference.get_object()
        if not isinstance(found, StreamObject):
            raise damaged(self._machine.source, "a form or an image is none")
        self._used += 1
        if self._used > limits.MAX_USES:
            limits.refuse(
                f"{self._machine.source} has more than {limits.MAX_USES:,} references to follow. "
                "Simplify the drawing.",
                source=self._machine.source,
            )
        self._machine.marked.append(self._layers.frame(found.raw_get("/OC")) if "/OC" in found else None)
        if found.get("/Subtype") == "/Form":
            self._do_form(found)
        else:
            self._machine.canvas.image(self._machine.frames())
        self._machine.marked.pop()

    def _do_form(self, form: StreamObject) -> None:
        key = id(form)
        if key in self._running or len(self._running) >= _MOST_DEPTH:
            raise damaged(self._machine.source, "a form holds itself")
        if key not in self._forms:
            self._forms[key] = read_operations(form, self._pdf, self._machine.source)
        if self._outliner.begun:
            raise damaged(self._machine.source, "a form stands in the middle of a path")
        with self._machine.apart(), self._typesetter.apart():
            self._enter_group(form)
            self._enter_box(form)
            self._running.append(key)
            self._machine.resources.append(form.get("/Resources"))
            self._run(self._forms[key])
            self._machine.resources.pop()
            self._running.pop()
        self._outliner.start()

    def _enter_group(self, form: StreamObject) -> None:
        """Begin a transparency group, which is see-through as a whole (ISO 32000-1, section 11.6.6)."""
        group = form.get("/Group")
        group = group.get_object() if group is not None else None
        if not isinstance(group, DictionaryObject) or group.get("/S") != "/Transparency":
            return
        state = self._machine.state
        if state.fill.opacity < 1.0 or state.blends:
            state.frames = (*state.frames, self._machine.blended(state.fill.opacity))
        state.fill.opacity = state.stroke.opacity = 1.0
        state.blend, state.masked = "/Normal", False

    def _enter_box(self, form: StreamObject) -> None:
        if "/Matrix" in form:
            self._settings.transform(*self._machine.numbers("Matrix", entries(form["/Matrix"]), 6))
        self._outliner.clip_box(*self._machine.numbers("BBox", entries(form.get("/BBox")), 4))

    def inline_image(self, _operands: Any) -> None:
        """Note an image that stands in the contents."""
        self._machine.canvas.image(self._machine.frames())

    def begin_compatible(self, _operands: Sequence[Any]) -> None:
        """Begin what may hold operators of later versions."""
        self._compatible += 1

    def end_compatible(self, _operands: Sequence[Any]) -> None:
        """End what may hold operators of later versions."""
        self._compatible = max(0, self._compatible - 1)


class _Marks:
    """Has a method for every operator of marked content, which may be in a layer."""

    def __init__(self, machine: Machine, layers: Layers) -> None:
        self._machine = machine
        self._layers = layers

    def mark(self, _operands: Sequence[Any]) -> None:
        """Begin marked content."""
        self._machine.marked.append(None)

    def mark_with_properties(self, operands: Sequence[Any]) -> None:
        """Begin marked content with properties, which may be a layer."""
        frame = None
        if len(operands) == 2 and operands[0] == "/OC":
            frame = self._layers.frame(self._machine.find("/Properties", operands[1]))
        self._machine.marked.append(frame)

    def end_mark(self, _operands: Sequence[Any]) -> None:
        """End marked content."""
        if self._machine.marked:
            self._machine.marked.pop()

    def ignore(self, _operands: Sequence[Any]) -> None:
        """Do nothing: it tells nothing of a drawing."""


_MARKS: Table = {
    "BMC": (None, _Marks.mark),
    "BDC": (None, _Marks.mark_with_properties),
    "EMC": (None, _Marks.end_mark),
    "MP": (None, _Marks.ignore),
    "DP": (None, _Marks.ignore),
}

_OPERATORS: Table = {
    "Do": (None, Painter.do),
    "INLINE IMAGE": (None, Painter.inline_image),
    "BX": (None, Painter.begin_compatible),
    "EX": (None, Painter.end_compatible),
}


def _shown(name: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in name[:20])
