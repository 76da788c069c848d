"""Small drawings written down as coordinates (inches, y down), and what a block looks like whatever way it lies."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import Any

from seamtree.block.build import build_blocks
from seamtree.block.check import check_structure
from seamtree.block.model import Block
from seamtree.drawing.drawn import STRAIGHT, Drawing, Shape, Track
from seamtree.drawing.flatten import Flattener
from seamtree.drawing.outlines import Arc, Curve, Outline
from seamtree.errors import DrawingError, Finding
from seamtree.tolerances import TOLERANCE

Point = tuple[float, float]


def area(*points: Point, fill: str | None = "#1f3a5f", name: str = "patch", stroked: bool = False) -> Shape:
    """A closed shape with straight sides."""
    return Shape((Track(points, True, (STRAIGHT,) * len(points)),), fill, False, stroked, name)


def box(left: float, top: float, right: float, bottom: float, **more: Any) -> Shape:
    return area((left, top), (right, top), (right, bottom), (left, bottom), **more)


def line(*points: Point, name: str = "line") -> Shape:
    return Shape((Track(points, False, (STRAIGHT,) * (len(points) - 1)),), None, False, True, name)


def frame(left: float, top: float, right: float, bottom: float) -> Shape:
    return line((left, top), (right, top), (right, bottom), (left, bottom), (left, top), name="frame")


class Pen:
    """Draws with curves; the curves of one pen have numbers of their own."""

    def __init__(self, tolerance: float = TOLERANCE) -> None:
        self._flattener = Flattener(tolerance=tolerance, source="test")

    def draw(self, start: Point, *pieces: Curve | Point, fill: str | None = None, name: str = "curve") -> Shape:
        """Draw curves, and lines to points."""
        curves = [piece if isinstance(piece, Curve) else None for piece in pieces]
        ends = [piece.end if isinstance(piece, Curve) else piece for piece in pieces]
        outline = Outline((start, *ends), fill is not None, tuple(curves))
        tracks = self._flattener.tracks([outline], filled=fill is not None)
        return Shape(tracks, fill, False, fill is None, name)


def arc(centre: Point, radius: float, start: float, sweep: float) -> Arc:
    """An arc of a circle; degrees, clockwise as seen, from the right."""
    begin, turn = math.radians(start), math.radians(sweep)
    end = (centre[0] + radius * math.cos(begin + turn), centre[1] + radius * math.sin(begin + turn))
    return Arc(centre, (radius, 0.0), (0.0, radius), begin, turn, end)


def to(x: float, y: float) -> Point:
    return (x, y)


def drawing(*shapes: Shape, kind: Any = "painted", source: str = "dinghy.svg", **more: Any) -> Drawing:
    return Drawing(source, kind, shapes, **more)


def blocks(*shapes: Shape, tolerance: float = TOLERANCE, **more: Any) -> tuple[Block, ...]:
    """Build blocks and check that they are planar maps."""
    built = build_blocks(drawing(*shapes, **more), tolerance=tolerance)
    for block in built:
        check_structure(block)
    return built


def one_block(*shapes: Shape, **more: Any) -> Block:
    (block,) = blocks(*shapes, **more)
    return block


def faults(*shapes: Shape, **more: Any) -> tuple[Finding, ...]:
    """The findings that make a drawing unusable."""
    try:
        build_blocks(drawing(*shapes, **more))
    except DrawingError as error:
        return error.findings
    raise AssertionError("nothing is wrong with the drawing")


def codes(findings: Iterable[Finding]) -> list[str]:
    return sorted(finding.code for finding in findings)


def moved(shapes: Iterable[Shape], move: Callable[[Point], Point]) -> list[Shape]:
    """Move every point of every shape."""
    return [replace(s, tracks=tuple(replace(t, points=tuple(map(move, t.points))) for t in s.tracks)) for s in shapes]


def jitter(rng: random.Random, reach: float) -> Callable[[Point], Point]:
    """Move points by up to `reach` inches, each on its own."""

    def move(at: Point) -> Point:
        away, towards = rng.uniform(0, reach), rng.uniform(0, math.tau)
        return at[0] + away * math.cos(towards), at[1] + away * math.sin(towards)

    return move


def turn(angle: float, shift: Point = (0.0, 0.0)) -> Callable[[Point], Point]:
    c, s = math.cos(angle), math.sin(angle)
    return lambda at: (c * at[0] - s * at[1] + shift[0], s * at[0] + c * at[1] + shift[1])


def look(built: Sequence[Block]) -> list[Any]:
    """What stays the same when a drawing is turned, mirrored, moved or drawn in another order."""
    return sorted(
        (
            len(b.patches),
            len(b.edges),
            len(b.junctions),
            sorted((len(p.ring), p.fabric or "", p.label or "") for p in b.patches),
            sorted((line.stop - line.first, line.straight) for line in b.lines),
            sorted(curve_sizes(b).values()),
        )
        for b in built
    )


def curve_sizes(block: Block) -> dict[int, int]:
    """How many chords each curve of a block has."""
    sizes: dict[int, int] = {}
    for edge in block.edges:
        if edge.curve is not None:
            sizes[edge.curve] = sizes.get(edge.curve, 0) + 1
    return sizes


def inner_curves(block: Block) -> set[int | None]:
    """The curves of the interior edges, None for straight ones."""
    return {edge.curve for edge in block.edges if edge.interior}
