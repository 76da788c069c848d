"""What the objects of a DXF drawing paint, put on a canvas.

Objects come in the order in which they are drawn. Solid hatches and filled faces are fills, all else are lines; what
has no place in a flat drawing is left out with a note.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any

from ezdxf.path import Curve3To, Curve4To, MoveTo, Path, from_hatch_boundary_path, make_path

from seamtree.drawing import limits
from seamtree.drawing.affine import Affine
from seamtree.drawing.canvas import Canvas, coordinate, layer
from seamtree.drawing.dxf.document import damaged
from seamtree.drawing.dxf.lettering import Writing, read_line, read_paragraph
from seamtree.drawing.dxf.look import Look, Looks
from seamtree.drawing.lettering import RISE

_MOST_DEPTH = 64
_MOST_DEGREE = 25
_HAIRLINE = 0.01
"""Inches that lines are wide; in DXF drawings a line has no width of its own, unless a polyline states one."""

_LINES = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE"})
_FACES = frozenset({"SOLID", "TRACE"})
_HATCHES = frozenset({"HATCH", "MPOLYGON"})
_WRITINGS: dict[str, Callable[[Any], Writing | None]] = {
    "TEXT": read_line,
    "ATTRIB": read_line,
    "MTEXT": read_paragraph,
}
_IMAGES = frozenset({"IMAGE", "OLEFRAME", "OLE2FRAME", "PDFUNDERLAY", "DGNUNDERLAY", "DWFUNDERLAY"})
_WITHOUT_SENSE = frozenset({"VIEWPORT", "ATTDEF", "SEQEND"})


class Painter:
    """Paints objects.

    Parameters
    ----------
    canvas
        What they are painted on; its y goes down, that of the objects up.
    looks
        How they look.
    inches
        Inches to the unit.
    source
        File name for messages.

    Attributes
    ----------
    left_out
        How many objects of which kinds were left out.
    """

    def __init__(self, canvas: Canvas, looks: Looks, *, inches: float, source: str) -> None:
        self._canvas = canvas
        self._looks = looks
        self._hairline = _HAIRLINE / inches
        self._source = source
        self._count = 0
        self.left_out: Counter[str] = Counter()

    def paint(self, things: Iterable[Any], block: Look | None = None, depth: int = 0) -> None:
        """Paint objects in their order; `block` is the look of the reference to the block that they are in.

        Raises
        ------
        DrawingError
            ``damaged-file``, ``bad-number``.
        LimitError
            When there are more than are read.
        """
        if depth > _MOST_DEPTH:
            raise damaged(self._source, "its blocks lie inside one another without end")
        for thing in things:
            self._count += 1
            if self._count > limits.MAX_ELEMENTS:
                limits.refuse(
                    f"{self._source} has more than {limits.MAX_ELEMENTS:,} objects once blocks are followed. "
                    "Simplify or split the drawing.",
                    source=self._source,
                )
            self._paint_one(thing, block, depth)

    def _paint_one(self, thing: Any, block: Look | None, depth: int) -> None:
        kind, look = thing.dxftype(), self._looks.of(thing, block)
        if kind == "INSERT":
            self._paint_block(thing, look, depth)
        elif kind == "DIMENSION" or kind in _WITHOUT_SENSE:
            self.left_out[kind] += kind == "DIMENSION"
        elif kind == "MLINE":
            self.paint(thing.virtual_entities(), look, depth + 1)
        elif kind in _IMAGES:
            self._canvas.image([layer(look.layer, shown=look.shown)])
        elif kind in _WRITINGS:
            self._write(_WRITINGS[kind](thing), look)
        elif kind in _HATCHES:
            self._fill(_boundaries(thing), look, _paint_of(thing, look, self._canvas), evenodd=True)
        elif kind in _FACES:
            self._fill([make_path(thing)], look, look.colour, evenodd=False)
        elif kind == "3DFACE":
            self._draw([make_path(thing)], look, 0.0)
        elif kind in _LINES:
            self._paint_line(thing, look)
        else:
            self.left_out[kind] += 1

    def _paint_line(self, thing: Any, look: Look) -> None:
        kind = thing.dxftype()
        if kind == "SPLINE" and not 0 < thing.dxf.get("degree", 3) <= _MOST_DEGREE:
            raise damaged(self._source, "a spline has a degree that none has")
        if kind == "POLYLINE" and (thing.is_polygon_mesh or thing.is_poly_face_mesh):
            self.left_out["MESH"] += 1
            return
        self._draw([make_path(thing)], look, _width(thing))

    def _paint_block(self, reference: Any, look: Look, depth: int) -> None:
        if reference.block() is None:
            raise damaged(
                self._source, f"it refers to the block '{str(reference.dxf.name)[:40]}', which it does not hold"
            )
        if reference.mcount > limits.MAX_ELEMENTS:
            limits.refuse(
                f"{self._source} has more than {limits.MAX_ELEMENTS:,} copies of a block.", source=self._source
            )
        skipped: list[str] = []

        def skip(thing: Any, _reason: str) -> None:
            skipped.append(thing.dxftype())

        for one in reference.multi_insert() if reference.mcount > 1 else (reference,):
            self.paint(one.virtual_entities(skipped_entity_callback=skip, redraw_order=True), look, depth + 1)
            self.paint(one.attribs, look, depth + 1)
        self.left_out.update(kind for kind in skipped if kind not in _WITHOUT_SENSE)

    # What is painted ----------------------------------------------------------------------------------------------

    def _fill(self, paths: Sequence[Path], look: Look, paint: str, *, evenodd: bool) -> None:
        attributes = {"fill": paint, "fill-rule": "evenodd" if evenodd else "nonzero"}
        if look.opacity < 1.0:
            attributes["fill-opacity"] = repr(look.opacity)
        self._put(paths, look, attributes)

    def _draw(self, paths: Sequence[Path], look: Look, width: float) -> None:
        attributes = {"fill": "none", "stroke": look.colour, "stroke-width": repr(width or self._hairline)}
        if look.opacity < 1.0:
            attributes["stroke-opacity"] = repr(look.opacity)
        if any(look.dashes[1::2]):
            attributes["stroke-dasharray"] = " ".join(map(repr, look.dashes))
        self._put(paths, look, attributes)

    def _put(self, paths: Sequence[Path], look: Look, attributes: dict[str, str]) -> None:
        pieces = [part for path in paths for part in self._spelt(path)]
        if len(pieces) > len(paths):
            self._canvas.path("".join(pieces), len(pieces), attributes, [layer(look.layer, shown=look.shown)])

    def _spelt(self, path: Path) -> Iterator[str]:
        """Yield the path data of a path."""
        if not len(path):
            return
        yield f"M{self._placed(path.start)}"
        for step in path.commands():
            if isinstance(step, Curve4To):
                yield f"C{self._placed(step.ctrl1)} {self._placed(step.ctrl2)} {self._placed(step.end)}"
            elif isinstance(step, Curve3To):
                yield f"Q{self._placed(step.ctrl)} {self._placed(step.end)}"
            else:
                yield f"{'M' if isinstance(step, MoveTo) else 'L'}{self._placed(step.end)}"
        if path.is_closed and not path.has_sub_paths:
            yield "Z"

    def _placed(self, place: Any) -> str:
        return f"{coordinate(place.x, self._source)} {coordinate(-place.y, self._source)}"

    def _write(self, writing: Writing | None, look: Look) -> None:
        if writing is None:
            return
        x, y = (float(coordinate(value, self._source)) for value in writing.middle)
        cosine, sine = math.cos(writing.turn), math.sin(writing.turn)
        matrix: Affine = (cosine, -sine, sine, cosine, x, -y)
        size = writing.height / RISE
        self._canvas.text(
            [(writing.text, (0.0, writing.height / 2))], size, matrix, [layer(look.layer, shown=look.shown)]
        )


def _width(thing: Any) -> float:
    """Return the width that a polyline states all along, nought where it states none."""
    if thing.dxftype() == "LWPOLYLINE":
        if thing.dxf.get("const_width", 0.0):
            return abs(float(thing.dxf.const_width))
        widths = {width for point in thing.get_points("se") for width in point}
    elif thing.dxftype() == "POLYLINE":
        widths = {
            float(vertex.dxf.get(name, thing.dxf.get(f"default_{name}", 0.0)))
            for vertex in thing.vertices
            for name in ("start_width", "end_width")
        }
    else:
        return 0.0
    return abs(widths.pop()) if len(widths) == 1 else 0.0


def _boundaries(hatch: Any) -> list[Path]:
    """Return the boundaries of a hatch as paths in the drawing's own frame."""
    ocs, elevation = hatch.ocs(), hatch.dxf.elevation.z
    is_hatch = hatch.dxftype() == "HATCH"
    held = hatch.paths.rendering_paths(hatch.dxf.hatch_style) if is_hatch else hatch.paths
    offset = None if is_hatch else hatch.dxf.get("offset_vector")
    more = {} if offset is None else {"offset": offset}
    paths: list[Path] = []
    for boundary in held:
        path = from_hatch_boundary_path(boundary, ocs, elevation, **more)
        paths.extend(path.sub_paths() if path.has_sub_paths else [path])
    return paths


def _paint_of(hatch: Any, look: Look, canvas: Canvas) -> str:
    """Return the paint of a hatch: its colour, or a fabric named by its pattern or the colours of its gradient."""
    gradient = getattr(hatch, "gradient", None)
    if gradient is not None and gradient.kind:
        colours = "-".join(
            "".join(f"{part & 255:02x}" for part in colour) for colour in (gradient.color1, gradient.color2)
        )
        return canvas.fabric(f"gradient-{colours}")
    if hatch.dxf.get("solid_fill", 1):
        return look.colour
    name = re.sub(r"[^\w-]+", "-", str(hatch.dxf.get("pattern_name", "lines")))
    return canvas.fabric(f"{name}-{look.colour.lstrip('#')}")
