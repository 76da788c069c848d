"""The mended drawing as a file: her own drawing with seams added wherever that is possible.

An SVG drawing stays as it is, and what is added comes in a layer of its own. The place of that layer is found by
reading the file once with a mark of known coordinates in it, so no rule for sizes and viewports is needed twice.
Whatever is written is read again first; what would not give the blocks that were promised is drawn anew.
"""

from __future__ import annotations

import gzip
import json
import math
import re
from collections.abc import Sequence
from pathlib import Path

import shapely

from seamtree.block.build import build_blocks
from seamtree.block.model import Block
from seamtree.drawing.drawn import Drawing, Track
from seamtree.drawing.read import parse_drawing
from seamtree.drawing.svg.read import read_svg
from seamtree.errors import DrawingError, Point, SeamtreeError
from seamtree.mending.model import Mending
from seamtree.mending.svg import ADDED_COLOUR, ADDED_LINE, render_svg
from seamtree.mending.svg_points import move_points
from seamtree.mending.svg_texts import move_labels
from seamtree.svg_words import Paints, number, run

_CLOSING = re.compile(r"</(?:[\w.-]+:)?svg\s*>\s*(?:<!--.*?-->\s*)*\Z", re.DOTALL)

_PLACE = re.compile(r"(-?[\d.]+(?:[eE][-+]?\d+)?)\s+(-?[\d.]+(?:[eE][-+]?\d+)?)")
"""A place in WKT."""

_PROBE = '<path id="seamtree-probe" d="M0 0 L8 0 L0 8 Z" fill="#ff00ff" stroke="none"/>'
_PROBE_SIDE = 8.0

Affine = tuple[Point, Point, Point]
"""Where (0, 0), (1, 0) and (0, 1) of one frame lie in another."""


def mended_file(
    mendings: Sequence[Mending],
    source: str,
    *,
    kind: str,
    tolerance: float,
    width: float | None,
    moved: tuple[Drawing, Drawing] | None = None,
) -> tuple[str, str]:
    """Return the text of the mended drawing, and a remark where it is not her own file with seams added.

    Parameters
    ----------
    mendings
        Of all blocks of the drawing.
    source
        Its file; ``-`` for standard input.
    kind
        Suffix of the file to be written: ``.svg``, ``.geojson``, ``.json`` or ``.wkt``.
    tolerance, width
        As the drawing was read with.
    moved
        The drawing as it was read, and after slips of the hand were mended.

    Raises
    ------
    SeamtreeError
        If no file reads back as what was promised.
    """
    note, drawn_anew = "", False
    if kind == ".svg":
        original = _svg_text(source)
        if original is not None:
            if any(m.straightened or any(a.dropped for a in m.alternatives[:1]) for m in mendings):
                note = "drawn anew, since more than added seams changed"
            else:
                text = _with_moves(original, mendings, width, moved)
                if text is not None and _keeps_promise(text, mendings, kind, tolerance, width):
                    return move_labels(text, mendings, width=width), ""
                note = "drawn anew, since the file with these changes in it would read back differently"
        text, width, drawn_anew = render_svg(mendings), None, True
    else:
        corner = _corner(source) if width is None else (0.0, 0.0)
        text, width = (_wkt(mendings, corner) if kind == ".wkt" else _geojson(mendings, corner)), None
    if not _keeps_promise(text, mendings, kind, tolerance, width, drawn_anew=drawn_anew):
        raise SeamtreeError("the mended drawing was not written, since it would read back with other patches")
    return text, note


def _keeps_promise(
    text: str,
    mendings: Sequence[Mending],
    kind: str,
    tolerance: float,
    width: float | None,
    *,
    drawn_anew: bool = False,
) -> bool:
    """Tell whether a file, read again, has the blocks that were promised."""
    try:
        drawing = parse_drawing(text.encode(), source=f"mended{kind}", tolerance=tolerance, width=width)
        again = build_blocks(drawing, tolerance=tolerance)
    except DrawingError:
        return False
    promised = [m.best.block for m in mendings if m.best is not None]
    paints = Paints() if drawn_anew else None
    return [_figures(b) for b in again] == [_figures(b, paints) for b in promised]


def _figures(block: Block, paints: Paints | None = None) -> tuple[int, int, int, list[str]]:
    from seamtree.mending.locked import locked_parts

    fabrics = [patch.fabric or "" for patch in block.patches]
    fabrics = sorted(fabrics if paints is None else map(paints.read_again, fabrics))
    return len(block.patches), len(block.edges), len(locked_parts(block)), fabrics


# -- SVG ----------------------------------------------------------------------------------------------------------


def _svg_text(source: str) -> str | None:
    """Return the text of an SVG file; None if the drawing is none."""
    path = Path(source)
    if source == "-" or path.suffix.lower() not in (".svg", ".svgz"):
        return None
    data = path.read_bytes()
    try:
        text = (gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data).decode("utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return None
    return text if _CLOSING.search(text) else None


def _with_moves(
    text: str, mendings: Sequence[Mending], width: float | None, moved: tuple[Drawing, Drawing] | None
) -> str | None:
    """Return a drawing with points moved and a layer of added seams; None if that cannot be done in it."""
    frames: list[Track] = []
    if moved is not None and moved[0] is not moved[1]:
        before, after = moved
        frames = [track for shape in after.shapes[len(before.shapes) :] for track in shape.tracks]
        changed = move_points(text, before, after, width=width)
        if changed is None:
            return None
        return _with_layer(changed, mendings, width, frames, frame_of=text)
    return _with_layer(text, mendings, width)


def _with_layer(
    text: str,
    mendings: Sequence[Mending],
    width: float | None,
    frames: Sequence[Track] = (),
    *,
    frame_of: str | None = None,
) -> str | None:
    """Return a drawing with a layer of added seams and frames; None if no place for it is found.

    Where the layer lies is found in `frame_of`, a file like it as it was before points were moved.
    """
    closing = _CLOSING.search(text)
    if closing is None:
        return None
    first = text if frame_of is None else frame_of
    end = _CLOSING.search(first)
    frame = None if end is None else _frame(first[: end.start()] + _PROBE + first[end.start() :], width)
    if frame is None:
        return None
    (ox, oy), (ax, ay), (bx, by) = frame
    across = ax * by - ay * bx

    def to_user(at: Point) -> Point:
        x, y = at[0] - ox, at[1] - oy
        return (x * by - y * bx) / across, (ax * y - ay * x) / across

    stroke = ADDED_LINE / math.sqrt(abs(across))
    paths = [f'<path d="M {run([to_user(at) for at in track.points])} Z" stroke="#000000"/>' for track in frames]
    for mending in mendings:
        left, top = mending.sketch.corner
        for seam in mending.alternatives[0].added if mending.alternatives else ():
            places = [to_user((left + x, top + y)) for x, y in seam.path]
            paths.append(f'<path d="M {run(places)}"/>')
    if not paths:
        return text
    layer = "\n".join(
        [
            '<g id="added-seams" xmlns="http://www.w3.org/2000/svg" '
            'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" inkscape:groupmode="layer" '
            f'inkscape:label="added seams" fill="none" stroke="{ADDED_COLOUR}" stroke-width="{number(stroke)}">',
            *paths,
            "</g>",
            "",
        ]
    )
    return text[: closing.start()] + layer + text[closing.start() :]


def _frame(text: str, width: float | None) -> Affine | None:
    """Return where the user space of the outermost element lies in the frame of the drawing, in inches."""
    plain = _probe(read_svg(text.encode(), source="probe.svg"))
    if plain is None or width is None:
        return plain
    without = text.replace(_PROBE, "")
    natural = _left_right(read_svg(without.encode(), source="probe.svg"))
    scaled = _left_right(read_svg(without.encode(), source="probe.svg", width=width))
    factor = (scaled[1] - scaled[0]) / (natural[1] - natural[0])
    (ox, oy), (ax, ay), (bx, by) = plain
    return (ox * factor, oy * factor), (ax * factor, ay * factor), (bx * factor, by * factor)


def _probe(drawing: Drawing) -> Affine | None:
    tracks = [t for shape in drawing.shapes if "seamtree-probe" in shape.name for t in shape.tracks]
    if not tracks or len(tracks[0].points) < 3:
        return None
    (ox, oy), (ax, ay), (bx, by) = tracks[0].points[:3]
    side = _PROBE_SIDE
    return (ox, oy), ((ax - ox) / side, (ay - oy) / side), ((bx - ox) / side, (by - oy) / side)


def _left_right(drawing: Drawing) -> tuple[float, float]:
    xs = [x for shape in drawing.shapes for track in shape.tracks for x, _ in track.points]
    return min(xs), max(xs)


# -- the other formats --------------------------------------------------------------------------------------------


def _corner(source: str) -> Point:
    """Return the top left corner of a GeoJSON or WKT drawing as it says itself; reading moves it to (0, 0)."""
    path = Path(source)
    if source == "-" or path.suffix.lower() not in (".geojson", ".json", ".wkt"):
        return 0.0, 0.0
    text = path.read_text(encoding="utf-8-sig")
    if path.suffix.lower() == ".wkt":
        numbers = [tuple(map(float, pair)) for pair in _PLACE.findall(text)]
        return (min(x for x, _ in numbers), max(y for _, y in numbers)) if numbers else (0.0, 0.0)
    left, _, _, top = shapely.from_geojson(text).bounds
    return left, top


def _rings(mendings: Sequence[Mending], corner: Point) -> list[tuple[list[Point], str | None, str | None]]:
    """Return the corners of all patches with y up, in the frame of the drawing, with fabrics and labels."""
    found = []
    for mending in mendings:
        left, top = mending.sketch.corner
        if mending.best is None:
            continue
        block = mending.best.block
        for p, patch in enumerate(block.patches):
            ring = [
                (round(corner[0] + left + x, 9) + 0.0, round(corner[1] - top - y, 9) + 0.0)
                for x, y in block.polygon(p)
            ]
            found.append(([*ring, ring[0]], patch.fabric, patch.label))
    return found


def _geojson(mendings: Sequence[Mending], corner: Point) -> str:
    features = [
        {
            "type": "Feature",
            "properties": {k: v for k, v in (("fabric", fabric), ("label", label)) if v},
            "geometry": {"type": "Polygon", "coordinates": [[list(at) for at in ring]]},
        }
        for ring, fabric, label in _rings(mendings, corner)
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}, indent=1) + "\n"


def _wkt(mendings: Sequence[Mending], corner: Point) -> str:
    rings = [", ".join(f"{number(x)} {number(y)}" for x, y in ring) for ring, _, _ in _rings(mendings, corner)]
    return "".join(f"POLYGON (({ring}))\n" for ring in rings)
