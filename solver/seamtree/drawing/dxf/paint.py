"""What the objects of a DXF drawing paint, put on a canvas.

Objects come in the order in which they are drawn. Solid hatches and filled faces are fills, all else are lines; what
has no place in a flat drawing is left out with a note.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from ezdxf.math import Matrix44
from ezdxf.path import Curve3To, Curve4To, MoveTo, Path, from_hatch_boundary_path, make_path

from seamtree.drawing import limits
from seamtree.drawing.affine import Affine
from seamtree.drawing.canvas import Canvas, Frame, coordinate, layer
from seamtree.drawing.dxf.document import damaged, unknown
from seamtree.drawing.dxf.lettering import Writing, read_line, read_paragraph
from seamtree.drawing.dxf.look import Look, Looks
from seamtree.drawing.svg.lettering import RISE

_MOST_DEPTH = 64
_MOST_DEGREE = 25
_HAIRLINE = 0.01
"""Inches that lines are wide; in DXF drawings a line has no width of its own, unless a polyline states one."""

_LINES = frozenset({"LINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "LWPOLYLINE", "POLYLINE", "3DFACE"})
_FACES = frozenset({"SOLID", "TRACE"})
_HATCHES = frozenset({"HATCH", "MPOLYGON"})
_WRITINGS: dict[str, Callable[[Any], Writing | None]] = {
    "TEXT": read_line,
    "ATTRIB": read_line,
    "MTEXT": read_paragraph,
}
_IMAGES = frozenset({"IMAGE", "OLEFRAME", "OLE2FRAME", "PDFUNDERLAY", "DGNUNDERLAY", "DWFUNDERLAY"})
_WITHOUT_SENSE = frozenset({"VIEWPORT", "ATTDEF", "SEQEND"})
_WITHOUT_PLACE = frozenset(
    {
        *("3DSOLID", "ACAD_PROXY_ENTITY", "ACAD_TABLE", "ARC_DIMENSION", "BODY", "DIMENSION", "EXTRUDEDSURFACE"),
        *("GEOPOSITIONMARKER", "HELIX", "LARGE_RADIAL_DIMENSION", "LEADER", "LIGHT", "LOFTEDSURFACE", "MESH"),
        *("MULTILEADER", "NURBSURFACE", "PLANESURFACE", "POINT", "POINTCLOUD", "RAY", "REGION", "REVOLVEDSURFACE"),
        *("SECTION", "SHAPE", "SUN", "SURFACE", "SWEPTSURFACE", "TOLERANCE", "WIPEOUT", "XLINE"),
    }
)
"""Objects of DXF that are measures, helps and solids."""


class Inside(NamedTuple):
    """Where objects are painted.

    Parameters
    ----------
    look
        That of the reference to the block that they are in, if they are; while an object is painted its own.
    matrix
        From their frame to that of the drawing.
    depth
        How many references they are in.
    """

    look: Look = Look()
    matrix: Matrix44 = Matrix44()
    depth: int = 0

    @property
    def scale(self) -> float:
        """By how much lengths grow, on average over all directions."""
        x, y = (self.matrix.transform_direction(axis) for axis in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)))
        return math.sqrt(abs(x.x * y.y - x.y * y.x))

    @property
    def frames(self) -> tuple[Frame, ...]:
        """The layer that an object is in."""
        return (layer(self.look.layer, shown=self.look.shown),)


_NOT_INSIDE = Inside()


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

    def paint(self, things: Iterable[Any], inside: Inside = _NOT_INSIDE) -> None:
        """Paint objects in their order.

        Raises
        ------
        DrawingError
            ``damaged-file``, ``bad-number``.
        LimitError
            When there are more than are read.
        """
        if inside.depth > _MOST_DEPTH:
            raise damaged(self._source, "its blocks lie inside one another without end")
        for thing in things:
            self._count += 1
            if self._count > limits.MAX_ELEMENTS:
                limits.refuse(
                    f"{self._source} has more than {limits.MAX_ELEMENTS:,} objects once blocks are followed. "
                    "Simplify or split the drawing.",
                    source=self._source,
                )
            self._paint_one(thing, inside)

    def _paint_one(self, thing: Any, inside: Inside) -> None:
        kind, look = thing.dxftype(), self._looks.of(thing, inside.look if inside.depth else None)
        here = inside._replace(look=look)
        if kind == "INSERT":
            self._paint_block(thing, here)
        elif kind == "MLINE":
            self.paint(thing.virtual_entities(), here._replace(depth=inside.depth + 1))
        elif kind in _IMAGES:
            self._canvas.image([layer(look.layer, shown=look.shown)])
        elif kind in _WRITINGS:
            self._write(_WRITINGS[kind](thing), here)
        elif kind in _HATCHES:
            self._fill(_boundaries(thing), here, _paint_of(thing, look, self._canvas), evenodd=True)
        elif kind in _FACES:
            self._fill([make_path(thing)], here, look.colour, evenodd=False)
        elif kind in _LINES:
            self._paint_line(thing, here)
        elif kind in _WITHOUT_PLACE:
            self.left_out[kind] += 1
        elif kind not in _WITHOUT_SENSE:
            raise unknown(self._source, kind)

    def _paint_line(self, thing: Any, here: Inside) -> None:
        kind = thing.dxftype()
        if kind == "SPLINE" and not 0 < thing.dxf.get("degree", 3) <= _MOST_DEGREE:
            raise damaged(self._source, "a spline has a degree that none has")
        if kind == "POLYLINE" and (thing.is_polygon_mesh or thing.is_poly_face_mesh):
            self.left_out["MESH"] += 1
            return
        self._draw([make_path(thing)], here, _width(thing))

    def _paint_block(self, reference: Any, here: Inside) -> None:
        block = reference.block()
        if block is None:
            name = str(reference.dxf.name)[:40]
            raise damaged(self._source, f"it refers to the block '{name}', which it does not hold")
        if reference.mcount > limits.MAX_ELEMENTS:
            limits.refuse(
                f"{self._source} has more than {limits.MAX_ELEMENTS:,} copies of a block.", source=self._source
            )
        for one in reference.multi_insert() if reference.mcount > 1 else (reference,):
            inner = here._replace(matrix=one.matrix44() * here.matrix, depth=here.depth + 1)
            self.paint(block.entities_in_redraw_order(), inner)
            self.paint(one.attribs, here._replace(depth=here.depth + 1))

    # What is painted ----------------------------------------------------------------------------------------------

    def _fill(self, paths: Sequence[Path], here: Inside, paint: str, *, evenodd: bool) -> None:
        attributes = {"fill": paint, "fill-rule": "evenodd" if evenodd else "nonzero"}
        if here.look.opacity < 1.0:
            attributes["fill-opacity"] = repr(here.look.opacity)
        self._put(paths, here, attributes)

    def _draw(self, paths: Sequence[Path], here: Inside, width: float) -> None:
        look, scale = here.look, here.scale
        width = width * scale or self._hairline
        attributes = {"fill": "none", "stroke": look.colour, "stroke-width": repr(width)}
        if look.opacity < 1.0:
            attributes["stroke-opacity"] = repr(look.opacity)
        if any(look.dashes[1::2]):
            attributes["stroke-dasharray"] = " ".join(repr(dash * scale) for dash in look.dashes)
        self._put(paths, here, attributes)

    def _put(self, paths: Sequence[Path], here: Inside, attributes: dict[str, str]) -> None:
        pieces = [part for path in paths for part in self._spelt(path.transform(here.matrix))]
        if len(pieces) > len(paths):
            self._canvas.path("".join(pieces), len(pieces), attributes, here.frames)

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

    def _write(self, writing: Writing | None, here: Inside) -> None:
        if writing is None:
            return
        middle = here.matrix.transform((*writing.middle, 0.0))
        along = here.matrix.transform_direction((math.cos(writing.turn), math.sin(writing.turn), 0.0))
        x, y = (float(coordinate(value, self._source)) for value in (middle.x, middle.y))
        turn, height = math.atan2(along.y, along.x), writing.height * here.scale
        matrix: Affine = (math.cos(turn), -math.sin(turn), math.sin(turn), math.cos(turn), x, -y)
        self._canvas.text([(writing.text, (0.0, height / 2))], height / RISE, matrix, here.frames)


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
