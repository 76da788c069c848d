"""GeoJSON drawings (RFC 7946): polygons and lines in inches, y up, with the properties `fabric` and `label`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, NoReturn

from seamtree.drawing import limits
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.encoding import decode_text
from seamtree.drawing.geometries import Outline, build_drawing
from seamtree.drawing.wording import short
from seamtree.errors import DrawingError, Finding, Point

_DRAWN = ("Polygon", "MultiPolygon", "LineString", "MultiLineString")
_LEFT_OUT = ("Point", "MultiPoint")


def read_geojson(data: bytes, *, source: str, width: float | None = None) -> Drawing:
    """Read a GeoJSON drawing.

    Parameters
    ----------
    data
        The file, UTF-8 or UTF-16.
    source
        File name for messages.
    width
        Inches that the bounding box of the whole drawing is made wide; None takes the coordinates as inches.

    Returns
    -------
    Drawing
        Of kind ``polygons``.

    Raises
    ------
    DrawingError
        ``bad-geojson`` or ``bad-number`` when this is no GeoJSON; what `build_drawing` finds otherwise.
    LimitError
        When it is nested too deep or has too many points.
    """
    document = _parsed(data, source)
    reader = _Reader(source)
    outlines = list(reader.outlines(document, 1))
    return build_drawing(outlines, source=source, width=width, points_left_out=reader.points)


def _parsed(data: bytes, source: str) -> Any:
    def refuse_constant(name: str) -> NoReturn:
        message = f"{name} stands where a number should be; JSON knows no such number."
        raise DrawingError(Finding("bad-number", message), source=source)

    try:
        return json.loads(decode_text(data), parse_constant=refuse_constant)
    except DrawingError:
        raise
    except UnicodeDecodeError:
        message = "This is no GeoJSON file: it is encoded neither in UTF-8 nor in UTF-16."
    except json.JSONDecodeError as error:
        message = f"This is no well-formed JSON: {error.msg} in line {error.lineno}, column {error.colno}."
    except RecursionError:
        _refuse_depth(source)
    except ValueError:  # Python's limit on the digits of whole numbers
        message = "A number has too many digits."
    raise DrawingError(Finding("bad-geojson", message), source=source)


def _refuse_depth(source: str) -> NoReturn:
    limits.refuse(f"The file is nested more than {limits.MAX_DEPTH} deep.", source=source)


class _Reader:
    """Walks through a document; counts its polygons, lines and points."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._counts = {"polygon": 0, "line": 0}
        self.points = 0

    def outlines(self, document: Any, depth: int) -> Iterator[Outline]:
        """Yield the polygons and lines of a document."""
        if depth > limits.MAX_DEPTH:
            _refuse_depth(self._source)
        kind = document.get("type") if isinstance(document, dict) else None
        if kind == "FeatureCollection":
            for feature in self._list(document.get("features"), "The features of a FeatureCollection"):
                yield from self.outlines(feature, depth + 1)
        elif kind == "Feature":
            properties = document.get("properties")
            if properties is not None and not isinstance(properties, dict):
                self._refuse(f"The properties of a Feature are no object: {_shown(properties)}.")
            if document.get("geometry") is not None:
                yield from self._geometry(document["geometry"], properties or {}, depth + 1)
        else:
            yield from self._geometry(document, {}, depth)

    def _geometry(self, geometry: Any, properties: dict[str, Any], depth: int) -> Iterator[Outline]:
        if depth > limits.MAX_DEPTH:
            _refuse_depth(self._source)
        kind = geometry.get("type") if isinstance(geometry, dict) else None
        if kind == "GeometryCollection":
            for part in self._list(geometry.get("geometries"), "The geometries of a GeometryCollection"):
                yield from self._geometry(part, properties, depth + 1)
        elif kind in _LEFT_OUT:
            self.points += 1
        elif kind in _DRAWN:
            what = "polygon" if kind.endswith("Polygon") else "line"
            parts = self._list(geometry.get("coordinates"), f"The coordinates of a {kind}")
            for part in parts if kind.startswith("Multi") else [parts]:
                # RFC 7946, section 3.1: empty coordinates may be taken as no geometry at all.
                if part != []:
                    yield self._outline(part, properties, what)
        else:
            shown = _shown(geometry if kind is None else kind)
            self._refuse(f"{shown} stands where a GeoJSON object with polygons or lines should be.")

    def _outline(self, part: Any, properties: dict[str, Any], what: str) -> Outline:
        self._counts[what] += 1
        name = f"{what} {self._counts[what]}"
        rings = self._list(part, f"The coordinates of {name}") if what == "polygon" else [part]
        return Outline(
            kind="polygon" if what == "polygon" else "line",
            rings=tuple(self._ring(ring, name) for ring in rings),
            name=name,
            fabric=self._word(properties, "fabric", name),
            label=self._word(properties, "label", name),
        )

    def _ring(self, ring: Any, name: str) -> tuple[Point, ...]:
        points = tuple(self._position(at, name) for at in self._list(ring, f"A ring or line of {name}"))
        return points if len(points) > 1 else self._refuse(f"A ring or line of {name} has fewer than two positions.")

    def _position(self, at: Any, name: str) -> Point:
        numbers = at[:2] if isinstance(at, list) and len(at) >= 2 else ()
        if not numbers or any(isinstance(v, bool) or not isinstance(v, int | float) for v in numbers):
            self._refuse(f"A position of {name} is no list of two numbers: {_shown(at)}.")
        try:
            return float(numbers[0]), float(numbers[1])
        except OverflowError:
            return self._refuse(f"A number of {name} is too large: {_shown(at)}.")

    def _list(self, value: Any, what: str) -> list[Any]:
        return value if isinstance(value, list) else self._refuse(f"{what} are no list: {_shown(value)}.")

    def _word(self, properties: dict[str, Any], key: str, name: str) -> str | None:
        value = properties.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            self._refuse(f"The {key} of {name} is no word: {_shown(value)}.")
        # Half of a surrogate pair is allowed in JSON, but no character.
        return " ".join(str(value).encode("utf-8", "replace").decode().split()) or None

    def _refuse(self, message: str) -> NoReturn:
        raise DrawingError(Finding("bad-geojson", message), source=self._source)


def _shown(value: Any) -> str:
    """Return a value as it fits into a message."""
    if isinstance(value, dict | list):
        value = dict(list(value.items())[:3]) if isinstance(value, dict) else value[:5]
    try:
        return short(json.dumps(value))
    except (RecursionError, ValueError):
        return "something else"
