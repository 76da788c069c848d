"""GeoJSON drawings (RFC 7946): polygons and lines in inches, y up, with the properties `fabric` and `label`."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, NoReturn

from seamtree.drawing import limits
from seamtree.drawing.geometries import Outline, build_drawing
from seamtree.drawing.model import Drawing
from seamtree.errors import DrawingError, Finding, Point

_LEFT_OUT = ("Point", "MultiPoint")


def read_geojson(data: bytes, *, source: str, width: float | None = None) -> Drawing:
    """Read a GeoJSON drawing.

    Parameters
    ----------
    data
        The file.
    source
        File name for messages.
    width
        Finished width of the whole drawing, inches; None takes the coordinates as inches.

    Raises
    ------
    DrawingError
        If this is no GeoJSON, or its polygons cannot be patches.
    """
    reader = _Reader(source)
    try:
        text = data.decode("utf-8-sig")
        document = json.loads(text, parse_constant=reader.refuse_constant)
    except UnicodeDecodeError:
        reader.refuse("The file is not encoded in UTF-8, as GeoJSON must be.")
    except RecursionError:
        limits.refuse(f"The file is nested too deep; at most {limits.MAX_DEPTH} levels are read.", source=source)
    except json.JSONDecodeError as error:
        reader.refuse(f"This is no valid JSON: {error.msg} in line {error.lineno}, column {error.colno}.")
    outlines = list(reader.outlines(document))
    notes = []
    if reader.points:
        notes.append(
            Finding("points-left-out", f"{reader.points} points were left out: they are neither patch nor line.")
        )
    return build_drawing(outlines, source=source, width=width, notes=notes)


class _Reader:
    """Walks through a document and says what is wrong with it."""

    def __init__(self, source: str) -> None:
        self._source = source
        self._number = 0
        self.points = 0

    def refuse(self, message: str) -> NoReturn:
        raise DrawingError(Finding("bad-geojson", message), source=self._source)

    def refuse_constant(self, name: str) -> NoReturn:
        """Refuse NaN and infinities, which JSON does not know."""
        raise DrawingError(Finding("bad-number", f"{name} is no coordinate."), source=self._source)

    def outlines(self, document: Any, depth: int = 0) -> Iterator[Outline]:
        """Yield the polygons and lines of a document."""
        if depth > limits.MAX_DEPTH:
            message = f"The file is nested too deep; at most {limits.MAX_DEPTH} levels are read."
            limits.refuse(message, source=self._source)
        if not isinstance(document, dict) or not isinstance(document.get("type"), str):
            self.refuse('This is no GeoJSON: an object with a "type" is missing.')
        if document["type"] == "FeatureCollection":
            for feature in self._list(document.get("features"), "features"):
                yield from self.outlines(feature, depth + 1)
        elif document["type"] == "Feature":
            properties = document.get("properties") or {}
            if not isinstance(properties, dict):
                self.refuse('The "properties" of a feature are no object.')
            if document.get("geometry") is not None:
                yield from self._geometry(document["geometry"], properties, depth + 1)
        else:
            yield from self._geometry(document, {}, depth)

    def _geometry(self, geometry: Any, properties: dict[str, Any], depth: int) -> Iterator[Outline]:
        if depth > limits.MAX_DEPTH:
            message = f"The file is nested too deep; at most {limits.MAX_DEPTH} levels are read."
            limits.refuse(message, source=self._source)
        kind = geometry.get("type") if isinstance(geometry, dict) else None
        if kind == "GeometryCollection":
            for part in self._list(geometry.get("geometries"), "geometries"):
                yield from self._geometry(part, properties, depth + 1)
            return
        if kind in _LEFT_OUT:
            self.points += 1
            return
        if kind not in ("Polygon", "MultiPolygon", "LineString", "MultiLineString"):
            self.refuse(f"{_short(kind)} is no type of geometry that can be sewn.")
        parts = self._list(geometry.get("coordinates"), "coordinates")
        for part in parts if kind.startswith("Multi") else [parts]:
            self._number += 1
            yield self._outline(part, properties, polygon=kind.endswith("Polygon"))

    def _outline(self, part: Any, properties: dict[str, Any], *, polygon: bool) -> Outline:
        name = f"{'polygon' if polygon else 'line'} {self._number}"
        rings = self._list(part, f"coordinates of {name}") if polygon else [part]
        return Outline(
            kind="polygon" if polygon else "line",
            rings=tuple(self._ring(ring, name) for ring in rings) or self.refuse(f"The {name} has no coordinates."),
            name=name,
            fabric=self._word(properties, "fabric"),
            label=self._word(properties, "label"),
        )

    def _ring(self, ring: Any, name: str) -> tuple[Point, ...]:
        points = tuple(self._point(point, name) for point in self._list(ring, f"coordinates of {name}"))
        return points if len(points) > 1 else self.refuse(f"The {name} has fewer than two points.")

    def _point(self, point: Any, name: str) -> Point:
        numbers = point[:2] if isinstance(point, list) and len(point) >= 2 else ()
        if not numbers or any(isinstance(v, bool) or not isinstance(v, int | float) for v in numbers):
            self.refuse(f"A position in {name} is no pair of numbers: {_short(point)}.")
        try:
            return float(numbers[0]), float(numbers[1])
        except OverflowError:
            return self.refuse(f"A number in {name} is too large: {_short(point)}.")

    def _list(self, value: Any, what: str) -> list[Any]:
        return value if isinstance(value, list) else self.refuse(f"The {what} are no list.")

    def _word(self, properties: dict[str, Any], key: str) -> str | None:
        value = properties.get(key)
        if value is None:
            return None
        if not isinstance(value, str | int | float) or isinstance(value, bool):
            self.refuse(f'The property "{key}" is no word: {_short(value)}.')
        return str(value)


def _short(value: Any) -> str:
    text = json.dumps(value, default=str)
    return text if len(text) <= 40 else text[:37] + "..."
