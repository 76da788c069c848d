"""What the operators of a PDF page paint, put on a canvas (ISO 32000-1, sections 8, 9 and 11).

Operators with the wrong operands, and operators that PDF does not know, are faults: a page of which a part cannot be
read must not be taken for a drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from pypdf.generic import DictionaryObject, StreamObject

from seamtree.drawing import limits
from seamtree.drawing.affine import Affine, apply, compose
from seamtree.drawing.canvas import Canvas, coordinate
from seamtree.drawing.outlines import Bounds
from seamtree.drawing.pdf.colours import ColourError, device_space, fingerprint, read_space
from seamtree.drawing.pdf.content import Operation, read_operations
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.layers import Layers
from seamtree.drawing.pdf.state import BLEND_MODES, Ink, State, set_opacity
from seamtree.drawing.pdf.typeset import Typesetter
from seamtree.errors import Point

_MOST_DEPTH = 64
_MOST_STATES = 1000


class Painter(Typesetter):
    """Paints the contents of a page.

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
        super().__init__(canvas, source)
        self._page = page
        self._pdf = pdf
        self._layers = layers
        self._states: list[State] = []
        self._forms: dict[int, list[Operation]] = {}
        self._running: list[int] = []
        self._used = 0
        self._least_states = 0
        self._compatible = 0
        self._start_path()

    def paint_page(self, page: DictionaryObject, matrix: Affine) -> None:
        """Paint a page; the matrix leads from its user space to the canvas.

        Raises
        ------
        DrawingError
            ``damaged-file``, ``bad-number``.
        LimitError
            When there is more than is read.
        """
        self._state.matrix = matrix
        self._resources = [page.get("/Resources")]
        self._run(read_operations(page.get("/Contents"), self._pdf, self._source))
        self.lettering.flush()

    @property
    def fill(self) -> Ink:
        """What fills are painted with."""
        return self._state.fill

    @property
    def stroke(self) -> Ink:
        """What lines are painted with."""
        return self._state.stroke

    def _run(self, operations: Sequence[Operation]) -> None:
        from seamtree.drawing.pdf.operators import NUMERIC, OTHERS  # which refer to this class

        for name, operands in operations:
            numeric = NUMERIC.get(name)
            if numeric is not None:
                count, method = numeric
                method(self, *self._numbers(name, operands, count))
            elif name in OTHERS:
                OTHERS[name](self, operands)
            elif not self._compatible:
                raise damaged(self._source, f"its page uses '{_shown(name)}', which no PDF page can")

    # The graphics state -------------------------------------------------------------------------------------------

    def save(self) -> None:
        """Keep the state."""
        if len(self._states) >= _MOST_STATES:
            limits.refuse(
                f"{self._source} nests graphics more than {_MOST_STATES} deep. Simplify the drawing.",
                source=self._source,
            )
        self._states.append(self._state.copy())

    def restore(self) -> None:
        """Take the state that was kept last."""
        # More of them than there are states do nothing, as in every viewer; forms keep those of their page.
        if len(self._states) > self._least_states:
            self._state = self._states.pop()

    def transform(self, *numbers: float) -> None:
        """Change the frame of coordinates."""
        a, b, c, d, e, f = numbers
        self._state.matrix = compose(self._state.matrix, (a, b, c, d, e, f))

    def set_width(self, width: float) -> None:
        """Set the width of lines."""
        self._state.width = abs(width)

    def set_cap(self, cap: float) -> None:
        """Set the ends of lines."""
        self._state.cap = int(cap)

    def set_join(self, join: float) -> None:
        """Set the corners of lines."""
        self._state.join = int(join)

    def set_miter(self, miter: float) -> None:
        """Set how far corners of lines may reach."""
        self._state.miter = miter

    def set_dashes(self, operands: Sequence[Any]) -> None:
        """Set the dashes of lines."""
        if len(operands) != 2 or not isinstance(operands[0], list):
            raise damaged(self._source, "dashes are set without an array")
        self._state.dashes = tuple(self._number("d", each.get_object()) for each in operands[0])

    def set_look(self, operands: Sequence[Any]) -> None:
        """Set what a dictionary of graphics parameters says."""
        look = self._needed("/ExtGState", operands).get_object()
        if not isinstance(look, DictionaryObject):
            raise damaged(self._source, "a graphics state is none")
        state = self._state
        for key, take in (("/LW", self.set_width), ("/LC", self.set_cap), ("/LJ", self.set_join)):
            if key in look:
                take(self._number("gs", look[key]))
        if "/D" in look:
            self.set_dashes(list(_list(look["/D"])))
        for key, ink in (("/ca", state.fill), ("/CA", state.stroke)):
            if key in look:
                ink.opacity = min(max(self._number("gs", look[key]), 0.0), 1.0)
        if "/BM" in look:
            modes = look["/BM"] if isinstance(look["/BM"], list) else [look["/BM"]]
            names = (str(mode.get_object()) for mode in modes)
            state.blend = next((name for name in names if name in BLEND_MODES), "/Normal")
        if "/SMask" in look:
            state.masked = isinstance(look["/SMask"], DictionaryObject)

    def ignore(self, *_: Any) -> None:
        """Do nothing: it tells nothing of a drawing."""

    # Colours ------------------------------------------------------------------------------------------------------

    def _named_space(self, name: str) -> Any:
        return self._find("/ColorSpace", name)

    def set_space(self, operands: Sequence[Any], ink: Ink) -> None:
        """Choose a colour space."""
        try:
            space = read_space(operands[0] if len(operands) == 1 else None, self._named_space)
            ink.space, ink.paint = space, space.paint(space.initial) if space.initial else "none"
        except ColourError as error:
            raise damaged(self._source, f"it {error}") from error

    def set_colour(self, operands: Sequence[Any], ink: Ink) -> None:
        """Choose a colour or a pattern."""
        if ink.space.components < 0:
            self._set_pattern(operands, ink)
            return
        numbers = self._numbers("sc", operands, ink.space.components)
        try:
            ink.paint = ink.space.paint(numbers)
        except ColourError as error:
            raise damaged(self._source, f"it {error}") from error
        if not ink.paint.startswith("#"):
            ink.paint = self._canvas.fabric(ink.paint)

    def _set_pattern(self, operands: Sequence[Any], ink: Ink) -> None:
        pattern = self._needed("/Pattern", operands[-1:]).get_object()
        if not isinstance(pattern, DictionaryObject):
            raise damaged(self._source, "a pattern is none")
        if pattern.get("/PatternType") == 2:
            ink.paint = self._gradient(pattern.get("/Shading"))
            return
        colour = ""
        if len(operands) > 1:
            colour = "-" + ink.space.paint([self._number("scn", each) for each in operands[:-1]]).lstrip("#")
        ink.paint = self._canvas.fabric(f"pattern-{fingerprint(pattern)}{colour}")

    def _gradient(self, shading: Any) -> str:
        described = shading.get_object() if shading is not None else None
        if not isinstance(described, DictionaryObject):
            raise damaged(self._source, "a gradient is none")
        colours = {
            key: described.get(key) for key in ("/ShadingType", "/ColorSpace", "/Function") if key in described
        }
        return self._canvas.fabric(f"gradient-{fingerprint(DictionaryObject(colours))}")

    def set_device(self, ink: Ink, numbers: Sequence[float]) -> None:
        """Choose a grey, an RGB or a CMYK colour."""
        ink.space = device_space(len(numbers))
        ink.paint = ink.space.paint(numbers)

    # Paths --------------------------------------------------------------------------------------------------------

    def _start_path(self) -> None:
        self._outline: list[str] = []
        self._pieces = 0
        self._box: tuple[Point, Point] | None = None
        self._current: Point | None = None
        self._start: Point | None = None
        self._clip_rule: str | None = None

    def _placed(self, x: float, y: float) -> str:
        right, down = apply(self._state.matrix, (x, y))
        return f"{coordinate(right, self._source)} {coordinate(down, self._source)}"

    def move(self, x: float, y: float) -> None:
        """Begin a subpath."""
        self._outline.append(f"M{self._placed(x, y)}")
        self._current = self._start = (x, y)
        self._box = None

    def _from(self) -> Point:
        if self._current is None:
            raise damaged(self._source, "a path does not begin with a place")
        return self._current

    def draw_line(self, x: float, y: float) -> None:
        """Draw a line."""
        self._from()
        self._add_piece(f"L{self._placed(x, y)}", (x, y))

    def draw_curve(self, *numbers: float) -> None:
        """Draw a Bézier curve."""
        self._from()
        x1, y1, x2, y2, x, y = numbers
        self._add_piece(f"C{self._placed(x1, y1)} {self._placed(x2, y2)} {self._placed(x, y)}", (x, y))

    def draw_curve_from_here(self, *numbers: float) -> None:
        """Draw a curve whose first control point is its start."""
        self.draw_curve(*self._from(), *numbers)

    def draw_curve_to_end(self, x1: float, y1: float, x: float, y: float) -> None:
        """Draw a curve whose second control point is its end."""
        self.draw_curve(x1, y1, x, y, x, y)

    def _add_piece(self, text: str, end: Point) -> None:
        self._outline.append(text)
        self._pieces += 1
        self._current, self._box = end, None
        if self._pieces > limits.MAX_POINTS:
            limits.refuse(
                f"{self._source} has more than {limits.MAX_POINTS:,} lines and curves in one path. Simplify it.",
                source=self._source,
            )

    def close_path(self) -> None:
        """Close the subpath."""
        if self._start is not None:
            self._outline.append("Z")
            self._current = self._start

    def rectangle(self, x: float, y: float, width: float, height: float) -> None:
        """Draw a rectangle."""
        alone = not self._outline
        self.move(x, y)
        for corner in ((x + width, y), (x + width, y + height), (x, y + height)):
            self.draw_line(*corner)
        self.close_path()
        if alone:
            matrix = self._state.matrix
            self._box = apply(matrix, (x, y)), apply(matrix, (x + width, y + height))

    def paint(self, *, fill: bool = False, stroke: bool = False, evenodd: bool = False, close: bool = False) -> None:
        """Paint the path, and clip with it if that was asked for."""
        if close:
            self.close_path()
        outline, state = "".join(self._outline), self._state
        if self._pieces and (fill or stroke):
            attributes = {"fill": "none"}
            if fill:
                attributes = {"fill": state.fill.paint, "fill-rule": "evenodd" if evenodd else "nonzero"}
                set_opacity(attributes, "fill-opacity", state.fill.opacity)
            if stroke:
                attributes |= state.line_look()
            self._canvas.path(outline, self._pieces, attributes, self._frames())
        if self._clip_rule is not None:
            self._clip(outline, evenodd=self._clip_rule == "W*")
        self._start_path()

    def set_clip(self, rule: str) -> None:
        """Have the path clip once it is painted."""
        self._clip_rule = rule

    def _clip(self, outline: str, *, evenodd: bool) -> None:
        if self._box is not None and _covers(self._box, self._page):
            return
        state = self._state
        if state.clip == (outline, evenodd):
            return
        state.clip = (outline, evenodd)
        state.frames = (*state.frames, self._canvas.clip(outline or "M0 0", evenodd=evenodd))

    def shade(self, operands: Sequence[Any]) -> None:
        """Fill the clip with a gradient."""
        paint = self._gradient(self._needed("/Shading", operands))
        left, top, right, bottom = self._page
        whole = f"M{left!r} {top!r}L{right!r} {top!r}L{right!r} {bottom!r}L{left!r} {bottom!r}Z"
        outline, evenodd = self._state.clip or (whole, False)
        attributes = {"fill": paint, "fill-rule": "evenodd" if evenodd else "nonzero"}
        set_opacity(attributes, "fill-opacity", self._state.fill.opacity)
        self._canvas.path(outline, outline.count("L") + outline.count("C"), attributes, self._frames())

    # Forms and images ---------------------------------------------------------------------------------------------

    def do(self, operands: Sequence[Any]) -> None:
        """Paint a form or an image."""
        reference = self._needed("/XObject", operands)
        found = reference.get_object()
        if not isinstance(found, StreamObject):
            raise damaged(self._source, "a form or an image is none")
        self._used += 1
        if self._used > limits.MAX_USES:
            limits.refuse(
                f"{self._source} has more than {limits.MAX_USES:,} references to follow. Simplify the drawing.",
                source=self._source,
            )
        self._marked.append(self._layers.frame(found.raw_get("/OC")) if "/OC" in found else None)
        if found.get("/Subtype") == "/Form":
            self._do_form(found)
        else:
            self._canvas.image(self._frames())
        self._marked.pop()

    def _do_form(self, form: StreamObject) -> None:
        key = id(form)
        if key in self._running or len(self._running) >= _MOST_DEPTH:
            raise damaged(self._source, "a form holds itself")
        if key not in self._forms:
            self._forms[key] = read_operations(form, self._pdf, self._source)
        outside, least = self._state, self._least_states
        text, marked = (self._text, self._line), len(self._marked)
        if self._outline:
            raise damaged(self._source, "a form stands in the middle of a path")
        self._state = outside.copy()
        self._least_states = len(self._states)
        self._enter_group(form)
        self._enter_box(form)
        self._running.append(key)
        self._resources.append(form.get("/Resources"))
        self._run(self._forms[key])
        self._resources.pop()
        self._running.pop()
        del self._states[self._least_states :], self._marked[marked:]
        self._state, self._least_states = outside, least
        self._text, self._line = text
        self._start_path()

    def _enter_group(self, form: StreamObject) -> None:
        """Begin a transparency group, which is see-through as a whole (ISO 32000-1, section 11.6.6)."""
        group = form.get("/Group")
        group = group.get_object() if group is not None else None
        if not isinstance(group, DictionaryObject) or group.get("/S") != "/Transparency":
            return
        state = self._state
        if state.fill.opacity < 1.0 or state.blends:
            state.frames = (*state.frames, self._blended(state.fill.opacity))
        state.fill.opacity = state.stroke.opacity = 1.0
        state.blend, state.masked = "/Normal", False

    def _enter_box(self, form: StreamObject) -> None:
        if "/Matrix" in form:
            self.transform(*self._numbers("Matrix", _list(form["/Matrix"]), 6))
        left, bottom, right, top = self._numbers("BBox", _list(form.get("/BBox")), 4)
        self._start_path()
        self.rectangle(left, bottom, right - left, top - bottom)
        self._clip_rule = "W"
        self.paint()

    def inline_image(self, _operands: Any) -> None:
        """Note an image that stands in the contents."""
        self._canvas.image(self._frames())

    # Marked content -----------------------------------------------------------------------------------------------

    def mark(self, _operands: Sequence[Any]) -> None:
        """Begin marked content."""
        self._marked.append(None)

    def mark_with_properties(self, operands: Sequence[Any]) -> None:
        """Begin marked content with properties, which may be a layer."""
        frame = None
        if len(operands) == 2 and operands[0] == "/OC":
            frame = self._layers.frame(self._find("/Properties", operands[1]))
        self._marked.append(frame)

    def end_mark(self, _operands: Sequence[Any]) -> None:
        """End marked content."""
        if self._marked:
            self._marked.pop()

    def begin_compatible(self, _operands: Sequence[Any]) -> None:
        """Begin what may hold operators of later versions."""
        self._compatible += 1

    def end_compatible(self, _operands: Sequence[Any]) -> None:
        """End what may hold operators of later versions."""
        self._compatible = max(0, self._compatible - 1)


def _covers(box: tuple[Point, Point], page: Bounds) -> bool:
    """Tell whether a box, given by two corners, holds the page."""
    (x1, y1), (x2, y2) = box
    slack = 1e-3
    return (
        min(x1, x2) <= page[0] + slack
        and min(y1, y2) <= page[1] + slack
        and max(x1, x2) >= page[2] - slack
        and max(y1, y2) >= page[3] - slack
    )


def _list(value: Any) -> list[Any]:
    return [each.get_object() for each in value] if isinstance(value, list) else []


def _shown(name: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in name[:20])
