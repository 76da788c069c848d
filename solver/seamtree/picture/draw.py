"""A plan as a picture: units tinted, patches numbered, joins by weight of line, hard corners and matched points."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal, get_args

import shapely
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from seamtree import arguments
from seamtree.colour import BARE, ink_on
from seamtree.errors import OptionError, Point
from seamtree.fabric import fabric_rgb
from seamtree.picture.captions import describe, figures_of, ranged, title_of, verdict_of
from seamtree.picture.dashes import DASH, dashed
from seamtree.picture.hatching import Path, hatch
from seamtree.picture.legend import Entry, dashes_entry, draw_caption, draw_legend, line_entry, mark_entry, tint_entry
from seamtree.picture.lettering import CAP_HEIGHT, text_width
from seamtree.picture.marks import BLACK, MARK_WORDS, WHITE, MarkKind, draw_mark
from seamtree.picture.placing import Led, Placed, foot_in, place_inside, place_outside
from seamtree.picture.scene import LEAST_TYPE, Common, Measures, Scene
from seamtree.picture.shapes import Disc, Layer, Lines, Picture, Polygon, Shape, Text
from seamtree.picture.sheet import put_beside
from seamtree.picture.tints import SIX, Tint, unit_tints
from seamtree.planning.model import Join, Node, Plan, Unit
from seamtree.words import count, dimensions, one_line

Numbers = Literal["patches", "units", "none"]
Weights = Literal["in order", "last"]

SIZES = (480.0, 640.0, 860.0, 1150.0, 1500.0)
"""Longest side of a block in a picture, points: the first fits on a page of A4 or US Letter."""

FEW = 0.04
"""The share of the patches whose numbers may stand outside before a larger picture is made."""

MOST_CLASSES = 5
"""As many weights of line as the eye tells apart."""

MOST_LEADERS = 60
"""More numbers outside the block than this are left out, and the caption says how many."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a plan is drawn.

    Parameters
    ----------
    fabrics
        Whether patches have the colours of their fabrics instead of unit tints.
    numbers
        Patch numbers, names of units, or none.
    marks
        Whether hard corners and matched points are marked.
    weights
        Whether joins are the heavier the later they are sewn, or only the last is heavy and marked.
    steps
        Whether joins bear their numbers, where there is room.
    leaders
        Whether numbers that do not fit inside their patch stand outside the block, with a line; otherwise they are
        left out.
    hatching
        Whether units are hatched as well as tinted; a small picture with the names of the units can do without.
    markings
        Whether dashed lines of the drawing, which are no seams, are shown.
    caption, legend
        Whether these are drawn.
    """

    fabrics: bool = False
    numbers: Numbers = "patches"
    marks: bool = True
    weights: Weights = "in order"
    steps: bool = True
    leaders: bool = True
    hatching: bool = True
    markings: bool = True
    caption: bool = True
    legend: bool = True

    def __post_init__(self) -> None:
        arguments.choice("numbers", self.numbers, get_args(Numbers))
        arguments.choice("weights", self.weights, get_args(Weights))
        for name in ("fabrics", "marks", "steps", "leaders", "hatching", "markings", "caption", "legend"):
            arguments.flag(name, getattr(self, name))


SMALL = Look(steps=False, leaders=False, markings=False, caption=False, legend=False)
"""One of many pictures on a page."""

JOINING = Look(numbers="units", weights="last", steps=False, markings=False, caption=False, legend=False)
"""What one join sews together; to be drawn with the join as the node."""


def draw_plan(
    plan: Plan,
    *,
    node: Node | None = None,
    look: Look | None = None,
    size: float | None = None,
    scale: float | None = None,
) -> Picture:
    """Draw a block or a part of it.

    Parameters
    ----------
    plan
        What to draw.
    node
        The part to draw, a node of the tree of the plan; None for the whole block.
    look
        How; None for everything there is.
    size
        Longest side of the block in the picture (points); margins, caption and legend come on top. None for one that
        fits a page, and as much more as many small patches need.
    scale
        Points to an inch of the block instead of `size`, so that several pictures have one scale.

    Returns
    -------
    Picture
        The same for the same arguments, always.

    Raises
    ------
    OptionError
        If a size or scale is not a number above 0, or the part is none of this plan.
    """
    if not all(given is None or 0 < given < math.inf for given in (size, scale)):
        raise OptionError("the size or scale of a picture must be a number above 0")
    look = look or Look()
    if scale is not None:
        return _Drawing(Scene(plan, node, scale), look, patch_tints(plan, look)).picture()
    (drawing,) = _fitted([Scene(plan, node, 1.0)], look, SIZES if size is None else (size,))
    return drawing.picture()


def draw_parts(plan: Plan, nodes: Iterable[Node], *, look: Look, size: float) -> Iterator[Picture]:
    """Draw parts of a block one by one, the longest side of each of one size (points), as `draw_plan` does."""
    tints, common = patch_tints(plan, look), Common(plan)
    for node in nodes:
        extent = Scene(plan, node, 1.0, common)
        yield _Drawing(Scene(plan, node, size / max(extent.width, extent.height), common), look, tints).picture()


def draw_plans(plans: Sequence[Plan], *, look: Look | None = None) -> Picture:
    """Draw several blocks side by side, all at one scale, each with its caption and legend."""
    drawings = _fitted([Scene(plan, None, 1.0) for plan in plans], look or Look(), SIZES)
    return put_beside([drawing.picture() for drawing in drawings])


def _fitted(extents: Sequence[Scene], look: Look, sizes: Sequence[float]) -> list[_Drawing]:
    """Draw parts at the first size of the largest at which nearly all numbers fit inside their patches."""
    longest = max(max(extent.width, extent.height) for extent in extents)
    patches = sum(len(extent.patches) for extent in extents)
    tints = [patch_tints(extent.plan, look) for extent in extents]
    drawings: list[_Drawing] = []
    for size in sizes:
        most = math.inf if size == sizes[-1] else FEW * patches
        drawings = [
            _Drawing(Scene(extent.plan, extent.node, size / longest), look, tint, most)
            for extent, tint in zip(extents, tints, strict=True)
        ]
        if sum(drawing.squeezed_out for drawing in drawings) <= most:
            break
    return drawings


@dataclass(frozen=True, slots=True)
class _Number:
    """A number or the name of a unit: a patch of it, where it may stand, and what gives the end of a line to it."""

    patch: int
    text: str
    rooms: Iterable[Path]
    foot: Callable[[], Point]


class _Drawing:
    """A picture in the making; the top left corner of the block is the origin until the end.

    Where more numbers than `most` do not fit inside their patches, it is no good, and the others are not placed.
    """

    def __init__(self, scene: Scene, look: Look, tints: Mapping[int, Tint], most: float = math.inf) -> None:
        self.scene = scene
        self.look = look
        self.measures = Measures(min(max(max(scene.width, scene.height) / SIZES[0], 0.45), 1.0))
        self.weights = _weights(scene.joins, self.measures, in_order=look.weights == "in order")
        self.ids = scene.common.ids
        self.tints = tints
        self.marks = list(self._marks()) if look.marks else []
        self.inside, self.outside, self.missing = self._numbers(most)
        self.squeezed_out = len(self.outside) + self.missing

    def picture(self) -> Picture:
        """Put everything together and move it to its place."""
        steps = self._step_labels() if self.look.steps else []
        silent = len(self.scene.joins) - len(steps) if self.look.steps else 0
        block = [
            Layer("units", tuple(self._draw_patches())),
            Layer("hatching", tuple(self._draw_hatching())),
            Layer("markings", tuple(self._draw_markings())),
            Layer("seams", tuple(self._draw_seams())),
            Layer("joins", tuple(self._draw_joins())),
            Layer(
                "marks", tuple(shape for kind, at in self.marks for shape in draw_mark(kind, at, self.measures.mark))
            ),
            Layer("numbers", tuple(self._draw_numbers())),
            Layer("steps", tuple(self._draw_steps(steps))),
        ]
        return self._composed(block, self._caption(silent))

    # -- what to draw ---------------------------------------------------------------------------------------

    def _marks(self) -> Iterator[tuple[MarkKind, Point]]:
        joins = self.scene.joins if self.look.weights == "in order" else self.scene.joins[-1:]
        for join in joins:
            for junction in join.seam.matched:
                yield "matched", self.scene.place(junction)
        for join in joins:
            for corner in join.seam.corners:
                yield corner.kind, self.scene.place(corner.junction)

    def _keep_off(self) -> shapely.STRtree:
        """Return what numbers must not cover: the signs and the lines of the joins."""
        signs = [shapely.Point(at).buffer(self.measures.mark, quad_segs=2) for _, at in self.marks]
        lines = [
            shapely.LineString(self.scene.path(join)).buffer(self.weights[join.step] / 2, quad_segs=1)
            for join in self.scene.joins
        ]
        return shapely.STRtree([*signs, *lines])

    def _numbers(self, most: float) -> tuple[dict[int, Placed], list[Led], int]:
        """Place the numbers: inside by patch or unit, outside, and how many have no place."""
        if self.look.numbers == "none":
            return {}, [], 0
        keep_off = self._keep_off()
        inside: dict[int, Placed] = {}
        wanted: list[_Number] = []
        for number in self._wanted():
            tries = (self._place(room, number.text, keep_off) for room in number.rooms)
            placed = next(filter(None, tries), None)
            if placed is not None:
                inside[number.patch] = placed
            else:
                wanted.append(number)
            if len(wanted) > most:
                break
        if not self.look.leaders:
            return inside, [], len(wanted)
        led = place_outside(
            [(number.text, number.foot()) for number in wanted[:MOST_LEADERS]],
            width=self.scene.width,
            height=self.scene.height,
            size=self._grown * max(8.0 * self.measures.unit, LEAST_TYPE),
            gap=10 * self.measures.unit,
        )
        return inside, led, len(wanted[MOST_LEADERS:])

    @property
    def _grown(self) -> float:
        """By how much names of units are larger than numbers of patches."""
        return 1.4 if self.look.numbers == "units" else 1.0

    def _place(self, polygon: Sequence[Point], text: str, keep_off: shapely.STRtree) -> Placed | None:
        sizes = [self._grown * size for size in self.measures.number_sizes]
        return place_inside(polygon, text, sizes=sizes, clearance=1.2 * self.measures.unit, keep_off=keep_off)

    def _wanted(self) -> Iterator[_Number]:
        """Yield what is to be numbered."""
        scene = self.scene
        if self.look.numbers == "patches":
            for p in scene.patches:
                polygon = scene.polygons[p]
                yield _Number(p, self.ids[p], (polygon,), partial(foot_in, polygon))
            return
        for unit in scene.units:
            largest = scene.common.largest(unit)
            yield _Number(largest, unit.name, self._rooms(unit, largest), partial(self._foot, unit))

    def _rooms(self, unit: Unit, largest: int) -> Iterator[Path]:
        """Yield where the name of a unit is best, and where else it may be."""
        yield self.scene.polygons[largest]
        yield tuple(map(self.scene.scaled, self.scene.common.outline(unit)))

    def _foot(self, unit: Unit) -> Point:
        return self.scene.scaled(self.scene.common.foot(unit))

    def _step_labels(self) -> list[Placed]:
        """Place the numbers of the joins on their seams, clear of each other and of all else that is written."""
        seams = [shapely.LineString(self.scene.path(join)) for join in self.scene.joins]
        numbers = [placed.box(self.measures.unit) for placed in self.inside.values()]
        signs = [shapely.Point(at).buffer(self.measures.mark) for _, at in self.marks]
        taken = shapely.STRtree([*seams, *numbers, *signs])
        found: list[Placed] = []
        for own in reversed(range(len(seams))):
            for label in self._along(seams[own], str(self.scene.joins[own].step)):
                box = label.box(self.measures.unit)
                clear = set(taken.query(box, predicate="intersects").tolist()) <= {own}
                if clear and not any(other.box().intersects(box) for other in found):
                    found.append(label)
                    break
        return found[::-1]

    def _along(self, seam: BaseGeometry, text: str) -> Iterator[Placed]:
        """Yield places for a number on a seam, from the middle on, that leave some of the seam on both sides."""
        size = max(7.0 * self.measures.unit, 4.5)
        room = text_width(text, size) + 2 * self.measures.unit
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.12, 0.88):
            if min(share, 1 - share) * seam.length >= room:
                at = shapely.line_interpolate_point(seam, share, normalized=True)
                yield Placed(text, (at.x, at.y), size)

    # -- drawing --------------------------------------------------------------------------------------------

    def _draw_patches(self) -> Iterator[Shape]:
        block = self.scene.plan.block
        words = self.scene.common.fabric_words
        for p in self.scene.patches:
            fabric = block.patches[p].fabric
            told = (self.ids[p], words[fabric] if fabric else None, block.patches[p].label)
            name = one_line(", ".join(filter(None, told)))
            yield Polygon(self.scene.polygons[p], self.tints[p].fill, name=name)

    def _draw_hatching(self) -> Iterator[Shape]:
        if not self.look.hatching:
            return
        unit = self.measures.unit
        boxes = [placed.box(0.8 * unit) for placed in self.inside.values()]
        written = shapely.union_all(boxes) if boxes else None
        by_tint: dict[Tint, list[BaseGeometry]] = {}
        for p in self.scene.patches:
            by_tint.setdefault(self.tints[p], []).append(shapely.Polygon(self.scene.polygons[p]))
        for tint, polygons in by_tint.items():
            yield from hatch(shapely.union_all(polygons), tint, spacing=5 * unit, weight=0.5 * unit, leave=written)

    def _draw_markings(self) -> Iterator[Shape]:
        """Draw dashes where nothing is written."""
        if not self.look.markings or not self.scene.markings:
            return
        unit = self.measures.unit
        boxes = shapely.union_all([placed.box(unit) for placed in self.inside.values()])
        for pieces, track in self.scene.painted:
            fill, line = (_paint(paint) if self.look.fabrics else None for paint in (track.fill, track.line))
            if fill and track.closed and len(pieces) == 1 and not boxes.intersects(shapely.Polygon(pieces[0])):
                yield Polygon(pieces[0], fill)
            free = shapely.difference(shapely.MultiLineString(pieces), boxes)
            dashes = tuple(dash for part in shapely.get_parts(free) for dash in dashed(part, DASH * unit))
            if dashes and self.look.fabrics:
                yield Lines(dashes, ink_on(line or BLACK), 4 * self.measures.seam)
            if dashes:
                yield Lines(dashes, line or BLACK, (2 if line else 1) * self.measures.seam)

    def _draw_seams(self) -> Iterator[Shape]:
        if self.scene.seams:
            if self.look.fabrics:
                yield Lines(self.scene.seams, WHITE, 3 * self.measures.seam)
            yield Lines(self.scene.seams, BLACK, self.measures.seam)

    def _draw_joins(self) -> Iterator[Shape]:
        """Draw earlier joins first, so that later ones run over them; the outline comes last."""
        for join in self.scene.joins:
            weight = self.weights[join.step]
            path = (_trimmed(self.scene.path(join), weight / 2),)
            if self.look.fabrics:
                yield Lines(path, WHITE, weight + 2 * self.measures.seam)
            yield Lines(path, BLACK, weight)
        yield Lines(self.scene.outline, BLACK, self.measures.outline)

    def _draw_numbers(self) -> Iterator[Shape]:
        unit = self.measures.unit
        for led in self.outside:
            yield Lines(((led.foot, led.head),), WHITE, 1.8 * unit)
            yield Lines(((led.foot, led.head),), BLACK, 0.5 * unit)
            yield Disc(led.foot, 1.4 * unit, BLACK, WHITE, 0.5 * unit)
            yield _written(led.label)
        for key, placed in self.inside.items():
            yield _written(placed, colour=ink_on(self.tints[key].fill))

    def _draw_steps(self, labels: Sequence[Placed]) -> Iterator[Shape]:
        unit = self.measures.unit
        for placed in labels:
            box = shapely.get_coordinates(placed.box(0.6 * unit))[:4]
            yield Polygon(tuple((float(x), float(y)) for x, y in box), WHITE)
            yield _written(placed, bold=False)

    # -- round the block ------------------------------------------------------------------------------------

    def _composed(self, block: list[Layer], caption: Sequence[str]) -> Picture:
        """Add caption and legend, and move all so that nothing is cut off."""
        scene, unit = self.scene, self.measures.unit
        left, top, right, bottom = self._extent()
        framed = self.look.caption or self.look.legend
        width = max(right - left, 150 * unit if framed else 0.0)
        layers = []
        above = 0.0
        if self.look.caption:
            shapes, above = draw_caption(title_of(scene.plan), caption, width=width, measures=self.measures)
            layers.append(Layer("caption", tuple(shapes)))
        end = above - top + bottom
        if self.look.legend:
            signs, end = draw_legend(self._signs(), top=end + 6 * unit, width=width, measures=self.measures)
            swatches, end = draw_legend(self._fabrics(), top=end, width=width, measures=self.measures)
            layers.append(Layer("legend", (*signs, *swatches)))
        margin = 8 * unit if framed else 2 * unit
        moved = [layer.moved(margin - left, margin + above - top) for layer in block]
        moved += [layer.moved(margin, margin) for layer in layers]
        filled = tuple(layer for layer in moved if layer.shapes)
        return Picture(width + 2 * margin, end + 2 * margin, title_of(scene.plan), describe(scene), filled)

    def _extent(self) -> tuple[float, float, float, float]:
        """Return the bounding box of the block with its lines and what is written round it."""
        half = self.measures.outline / 2
        boxes = [shapely.box(-half, -half, self.scene.width + half, self.scene.height + half)]
        boxes += [led.label.box(self.measures.unit) for led in self.outside]
        left, top, right, bottom = shapely.total_bounds(boxes).tolist()
        return left, top, right, bottom

    def _caption(self, silent: int) -> list[str]:
        """Return what stands below the title; so many joins bear no number."""
        plan = self.scene.plan
        lines = [f"{dimensions(plan.block.width, plan.block.height)} · {figures_of(plan.counts)}", verdict_of(plan)]
        if self.missing:
            lines.append(f"{count(self.missing, 'number').capitalize()} left out for want of room.")
        if silent:
            lines.append(f"{count(silent, 'join is', 'joins are').capitalize()} too short for a number.")
        return lines

    def _signs(self) -> list[Entry]:
        measures = self.measures
        entries = [line_entry(measures.seam, "seam within a unit", measures)] if self.scene.seams else []
        by_weight: dict[float, list[int]] = {}
        for join in self.scene.joins:
            by_weight.setdefault(self.weights[join.step], []).append(join.step)
        entries += [line_entry(weight, ranged(steps), measures) for weight, steps in by_weight.items()]
        if self.look.markings and self.scene.markings:
            entries.append(dashes_entry("marking of the drawing, no seam", measures))
        kinds = {kind for kind, _ in self.marks}
        return [*entries, *(mark_entry(kind, measures) for kind in MARK_WORDS if kind in kinds)]

    def _fabrics(self) -> list[Entry]:
        if not self.look.fabrics:
            return []
        block = self.scene.plan.block
        words = self.scene.common.fabric_words
        seen = {block.patches[p].fabric: self.tints[p] for p in self.scene.patches}
        by_word = sorted(seen, key=lambda fabric: words[fabric])
        return [tint_entry(seen[fabric], one_line(words[fabric]), self.measures) for fabric in by_word]


def patch_tints(plan: Plan, look: Look) -> dict[int, Tint]:
    """Return the tint of every patch: that of its unit, or that of its fabric."""
    if look.fabrics:
        fabrics = [patch.fabric for patch in plan.block.patches]
        tints = fabric_tints(fabrics)
        return {p: tints[fabric] for p, fabric in enumerate(fabrics)}
    units = zip(plan.units(), unit_tints(plan), strict=True)
    return {p: tint for unit, tint in units for p in unit.patches}


def fabric_tints(fabrics: Sequence[str | None]) -> dict[str | None, Tint]:
    """Return the look of every fabric: its colour, or a pale ground with a hatching where it is none."""
    found: dict[str | None, Tint] = {}
    named = 0
    for fabric in sorted(set(fabrics), key=lambda f: f or ""):
        if fabric is None:
            found[fabric] = Tint(BARE, "none", BLACK)
        elif fabric_rgb(fabric):
            found[fabric] = Tint(fabric.lower(), "none", BLACK)
        else:
            found[fabric] = Tint(BARE, SIX[1 + named % (len(SIX) - 1)].hatching, "#7d7768")
            named += 1
    return found


def _paint(paint: str | None) -> str | None:
    """Return what a marking is painted with as a colour, None where it is none."""
    return paint.lower() if paint is not None and fabric_rgb(paint) is not None else None


def _weights(joins: Sequence[Join], measures: Measures, *, in_order: bool) -> dict[int, float]:
    """Return the weight of line of every join: in at most `MOST_CLASSES` classes, or all but the last alike."""
    least, most = measures.joins
    if not in_order:
        return {join.step: most if join is joins[-1] else least for join in joins}
    classes = min(len(joins), MOST_CLASSES)
    rise = (most - least) / max(classes - 1, 1)
    return {join.step: least + rise * (n * classes // len(joins)) for n, join in enumerate(joins)}


def _trimmed(path: Sequence[Point], by: float) -> tuple[Point, ...]:
    """Return a line cut off at both ends, so that its round ends do not stick out; a short one is cut off less."""
    line = shapely.LineString(path)
    by = min(by, line.length / 4)
    return tuple((x, y) for x, y in substring(line, by, line.length - by).coords)


def _written(placed: Placed, *, bold: bool = True, colour: str = BLACK) -> Text:
    """Return a number as text; its middle is half the height of its figures above the base line."""
    x, y = placed.at
    return Text((x, y + placed.size * CAP_HEIGHT / 2), placed.text, placed.size, "middle", bold, colour)
