"""Points moved in the text of an SVG file, and nothing else changed.

Where a shape of the file lies in the drawing's frame is found by reading the file once more with a mark beside each
shape that changes. What cannot be changed in its place (arcs, shapes that are used several times) is refused; the
drawing is drawn anew then.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from xml.parsers import expat
from xml.sax.saxutils import quoteattr

from seamtree.drawing.drawn import Drawing, Shape, Track
from seamtree.drawing.outlines import Cubic, Outline, rectangle
from seamtree.drawing.svg.path_data import parse_path
from seamtree.drawing.svg.read import read_svg
from seamtree.drawing.svg.values import parse_numbers
from seamtree.errors import Point, SeamtreeError
from seamtree.svg_words import number, place

_PROBE = "seamtree-moved-"
_SIDE = 8.0
_NEAR = 1e-5
"""Places nearer to each other than this (inches) are the same point of a shape."""

_TAG_NUMBER = re.compile(r"(path|rect|line|polyline|polygon) (\d+)(?: in .*)?")

SHAPES = ("path", "rect", "line", "polyline", "polygon")
"""Elements that draw lines or areas."""

Affine = tuple[Point, Point, Point]


@dataclass(frozen=True, slots=True)
class Tag:
    """A start tag: its kind, its attributes, and where it begins and ends in the text."""

    kind: str
    attributes: Mapping[str, str]
    start: int
    end: int


def move_points(text: str, before: Drawing, after: Drawing, *, width: float | None) -> str | None:
    """Return the text of an SVG file with points moved; None if that cannot be done in their places.

    Parameters
    ----------
    text
        The file.
    before, after
        The drawing as it was read, and with points moved.
    width
        The width it was read with.
    """
    changed = [k for k, (old, new) in enumerate(zip(before.shapes, after.shapes, strict=False)) if old != new]
    if not changed:
        return text
    tags = start_tags(text)
    found = [_tag_of(before.shapes[k], tags) for k in changed]
    if tags is None or any(tag is None for tag in found):
        return None
    own = [tag for tag in found if tag is not None]
    frames = _frames(text, own, width)
    if frames is None:
        return None
    edits = []
    for k, tag, frame in zip(changed, own, frames, strict=True):
        written = _edited(text[tag.start : tag.end], tag, before.shapes[k], after.shapes[k], frame)
        if written is None:
            return None
        edits.append((tag.start, tag.end, written))
    for start, end, written in sorted(edits, reverse=True):
        text = text[:start] + written + text[end:]
    return text


# -- shapes in the text -------------------------------------------------------------------------------------------


def start_tags(text: str, kinds: Collection[str] = SHAPES) -> list[Tag] | None:
    """Return the start tags of all shapes, or of other elements, in turn; None if the text is no XML."""
    data = text.encode()
    parser = expat.ParserCreate()
    found: list[Tag] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        kind = name.rpartition(":")[2]
        if kind in kinds:
            begin = parser.CurrentByteIndex
            end = _end_of_tag(data, begin)
            first = len(data[:begin].decode())
            found.append(Tag(kind, attributes, first, first + len(data[begin:end].decode())))

    parser.StartElementHandler = start
    try:
        parser.Parse(data, True)
    except expat.ExpatError:
        return None
    return found


def _end_of_tag(data: bytes, begin: int) -> int:
    quote = 0
    for k in range(begin, len(data)):
        if quote:
            quote = 0 if data[k] == quote else quote
        elif data[k] in b"\"'":
            quote = data[k]
        elif data[k] == ord(">"):
            return k + 1
    return len(data)


def _tag_of(shape: Shape, tags: Sequence[Tag] | None) -> Tag | None:
    """Return the tag that draws a shape, by the name that reading gives the shape."""
    named = [tag for tag in tags or () if tag.attributes.get("id") == shape.name]
    labelled = [
        t for t in tags or () if shape.name in (t.attributes.get("inkscape:label"), t.attributes.get("data-name"))
    ]
    told = _TAG_NUMBER.fullmatch(shape.name)
    if told and not named and not labelled:
        labelled = [tag for tag in tags or () if tag.kind == told[1]][int(told[2]) - 1 : int(told[2])]
    found = named or labelled
    return found[0] if len(found) == 1 else None


def _frames(text: str, tags: Sequence[Tag], width: float | None) -> list[Affine] | None:
    """Return for each shape where its own coordinates lie in the drawing's frame."""
    probed = text
    for n, tag in sorted(enumerate(tags), key=lambda pair: -pair[1].start):
        transform = tag.attributes.get("transform")
        carried = f" transform={quoteattr(transform)}" if transform else ""
        probe = (
            f'<path xmlns="http://www.w3.org/2000/svg" id="{_PROBE}{n}-"{carried} d="M0 0L{_SIDE} 0L0 {_SIDE}Z" '
            'style="fill:#ff00ff;fill-opacity:1;stroke:none;display:inline;visibility:visible"/>'
        )
        probed = probed[: tag.start] + probe + probed[tag.start :]
    try:
        natural = read_svg(text.encode(), source="probe.svg")
        drawing = read_svg(probed.encode(), source="probe.svg")
        factor = (
            1.0 if width is None else _across(read_svg(text.encode(), source="p.svg", width=width)) / _across(natural)
        )
    except SeamtreeError:
        return None
    frames = []
    for n in range(len(tags)):
        tracks = [t for shape in drawing.shapes if f"{_PROBE}{n}-" in shape.name for t in shape.tracks]
        if len(tracks) != 1 or len(tracks[0].points) != 3:
            return None
        o, a, b = ((x * factor, y * factor) for x, y in tracks[0].points)
        frames.append(
            (o, ((a[0] - o[0]) / _SIDE, (a[1] - o[1]) / _SIDE), ((b[0] - o[0]) / _SIDE, (b[1] - o[1]) / _SIDE))
        )
    return frames


def _across(drawing: Drawing) -> float:
    xs = [x for shape in drawing.shapes for track in shape.tracks for x, _ in track.points]
    return max(xs) - min(xs)


# -- new outlines -------------------------------------------------------------------------------------------------


def _edited(written: str, tag: Tag, before: Shape, after: Shape, frame: Affine) -> str | None:
    """Return a tag with other coordinates; None if a point of the drawing is none of the shape's own."""
    outlines = _outlines(tag)
    (ox, oy), (ax, ay), (bx, by) = frame
    across = ax * by - ay * bx
    if outlines is None or abs(across) < 1e-15:
        return None

    def to_user(at: Point) -> Point:
        x, y = at[0] - ox, at[1] - oy
        return (x * by - y * bx) / across, (ax * y - ay * x) / across

    def from_user(at: Point) -> Point:
        return ox + at[0] * ax + at[1] * bx, oy + at[0] * ay + at[1] * by

    drawn = [outline for outline in outlines if outline.pieces and len(set(outline.points)) > 1]
    if len(drawn) != len(before.tracks):
        return None
    made: dict[int, Outline] = {}
    for outline, old, new in zip(drawn, before.tracks, after.tracks, strict=True):
        changed = _moved(outline, old, new, [from_user(at) for at in outline.points], to_user)
        if changed is None:
            return None
        made[id(outline)] = changed
    return _with_outlines(written, tag, [made.get(id(outline), outline) for outline in outlines])


def _moved(
    outline: Outline, old: Track, new: Track, places: Sequence[Point], to_user: Callable[[Point], Point]
) -> Outline | None:
    """Return an outline with the points moved that moved in its track."""
    points = list(outline.points)
    for was, is_now in zip(old.points, new.points, strict=True):
        if was == is_now:
            continue
        own = [k for k, at in enumerate(places) if math.dist(at, was) < _NEAR]
        if not own:
            return None
        for k in own:
            points[k] = to_user(is_now)
    curves = list(outline.curves)
    for k, curve in enumerate(curves):
        if curve is not None and not isinstance(curve, Cubic):
            if points[k] != outline.points[k] or points[k + 1] != outline.points[k + 1]:
                return None
        elif isinstance(curve, Cubic):
            start, end = _off(outline.points[k], points[k]), _off(outline.points[k + 1], points[k + 1])
            curves[k] = Cubic(_by(curve.first, start), _by(curve.second, end), points[k + 1])
    return Outline(tuple(points), outline.closed or (new.closed and not old.closed), tuple(curves))


def _off(a: Point, b: Point) -> Point:
    return b[0] - a[0], b[1] - a[1]


def _by(at: Point, off: Point) -> Point:
    return at[0] + off[0], at[1] + off[1]


def _outlines(tag: Tag) -> tuple[Outline, ...] | None:
    """Return what a shape draws in its own coordinates; None where these are no plain numbers."""
    told = tag.attributes
    try:
        if tag.kind == "path":
            return parse_path(told.get("d", ""))
        if tag.kind in ("polyline", "polygon"):
            numbers = iter(parse_numbers(told.get("points", "")))
            return (Outline(tuple(zip(numbers, numbers, strict=True)), tag.kind == "polygon"),)
        names = ("x1", "y1", "x2", "y2") if tag.kind == "line" else ("x", "y", "width", "height")
        a, b, c, d = (float(told.get(name, "0")) for name in names)
    except ValueError:
        return None
    if tag.kind == "line":
        return (Outline(((a, b), (c, d)), False),)
    return None if told.get("rx") or told.get("ry") else (rectangle(a, b, c, d),)


def _with_outlines(written: str, tag: Tag, outlines: Sequence[Outline]) -> str | None:
    """Return a tag that draws other outlines."""
    if tag.kind == "path":
        data = _data(outlines)
        return None if data is None else with_attributes(written, {"d": data})
    (outline,) = outlines
    if tag.kind == "line" and not outline.closed:
        (a, b), (c, d) = outline.points
        return with_attributes(written, {"x1": number(a), "y1": number(b), "x2": number(c), "y2": number(d)})
    if tag.kind in ("polyline", "polygon"):
        points = [*outline.points, outline.points[0]] if outline.closed and tag.kind == "polyline" else outline.points
        return with_attributes(written, {"points": " ".join(f"{number(x)},{number(y)}" for x, y in points)})
    if tag.kind == "rect":
        (a, b), (c, d) = outline.points[0], outline.points[2]
        if max(math.dist(p, q) for p, q in zip(outline.points, ((a, b), (c, b), (c, d), (a, d)), strict=True)) < 1e-9:
            return with_attributes(
                written, {"x": number(a), "y": number(b), "width": number(c - a), "height": number(d - b)}
            )
        data = _data(outlines)
        plain = _without(written, ("x", "y", "width", "height"))
        return (
            None if data is None else with_attributes(re.sub(r"^<([\w.-]+:)?rect\b", r"<\1path", plain), {"d": data})
        )
    return None


def _data(outlines: Sequence[Outline]) -> str | None:
    """Return outlines as path data."""
    told = []
    for outline in outlines:
        told.append(f"M{place(outline.points[0])}")
        for k, at in enumerate(outline.points[1:]):
            curve = outline.curves[k] if outline.curves else None
            if curve is None:
                told.append(f"L{place(at)}")
            elif isinstance(curve, Cubic):
                told.append(f"C{place(curve.first)} {place(curve.second)} {place(at)}")
            else:
                return None
        if outline.closed:
            told.append("Z")
    return " ".join(told)


def with_attributes(written: str, values: Mapping[str, str]) -> str:
    """Return a start tag with attributes set."""
    for name, value in values.items():
        found = re.search(rf"(\s{name}\s*=\s*)(\"[^\"]*\"|'[^']*')", written)
        if found:
            written = f"{written[: found.start()]}{found[1]}{quoteattr(value)}{written[found.end() :]}"
        else:
            head = len(written) - len(re.sub(r"^<[\w:.-]+", "", written))
            written = f"{written[:head]} {name}={quoteattr(value)}{written[head:]}"
    return written


def _without(written: str, names: Sequence[str]) -> str:
    for name in names:
        written = re.sub(rf"\s{name}\s*=\s*(\"[^\"]*\"|'[^']*')", "", written, count=1)
    return written
