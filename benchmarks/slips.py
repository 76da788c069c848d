"""Slips of the hand: how many drawings with known slips come out as they were meant.

Layouts with a known clean form (treemaps, mosaics, k-d partitions, traditional blocks) are drawn as lines, as filled
patches, or as polygons, and the hand slips one to five times, by up to 0.15 in. The mended drawing must have the
patches, the verdict and the units of the clean one. No slip is made of what another one has made, for both together
may be larger than what is asked for: no end of a line slips twice, no line is both bent and doubled, no two slips of
patches meet at one corner of the layout. A frame is only left out where single ends of lines tell where it was, for
else nobody could say what was meant. Fixed seeds.

    python -m benchmarks.slips --count 1000
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import shapely
from tests.support import layouts as known_layouts
from tests.support import traditional
from tests.support.floorplans import floorplan, is_baxter

from benchmarks.measure import RESULTS, about_line, today
from seamtree.block.build import build_blocks
from seamtree.block.model import Block
from seamtree.drawing.drawn import Drawing
from seamtree.drawing.read import parse_drawing
from seamtree.errors import DrawingError
from seamtree.mending.slips import Mended, mend_slips
from seamtree.mending.troubles import diagnose
from seamtree.planning.build import plan
from seamtree.tolerances import TOLERANCE

Point = tuple[float, float]
Ring = list[Point]
Floats = npt.NDArray[np.float64]

WITHIN = 0.15
LEAST, MOST = 0.04, 0.149
"""Sizes of slips, inches: above what is healed in reading, up to what is asked for, less what is rounded."""

SIZE = 12.0
ROOM = 0.6
"""Least width of a patch, and least distance between places where lines meet, inches."""

TIME_LIMIT = 10.0
COLOURS = ("#335577", "#aa3344", "#ddcc99", "#446644", "#88aacc", "#cc8844")

_SAME = 0.8
"""A patch is the one that was meant if they have more than this share of either in common."""

_ROUNDED = 1e-4
"""Movements that differ by less are equal, inches."""


# -- clean layouts ------------------------------------------------------------------------------------------------


def treemap(rng: random.Random) -> list[Ring]:
    """Return rectangles in strips that are cut across and along in turn."""
    boxes = [(0.0, 0.0, SIZE, SIZE)]
    while len(boxes) < rng.randint(4, 16):
        boxes.sort(key=lambda box: -(box[2] - box[0]) * (box[3] - box[1]))
        left, top, right, bottom = boxes.pop(0)
        share = rng.uniform(0.3, 0.7)
        if right - left > bottom - top:
            x = left + share * (right - left)
            boxes += [(left, top, x, bottom), (x, top, right, bottom)]
        else:
            y = top + share * (bottom - top)
            boxes += [(left, top, right, y), (left, y, right, bottom)]
    return [_box(*box) for box in boxes]


def mosaic(rng: random.Random) -> list[Ring]:
    """Return the rooms of a mosaic floorplan, which may spin round each other."""
    n = rng.randint(4, 10)
    while True:
        order = tuple(rng.sample(range(1, n + 1), n))
        if is_baxter(order):
            break
    xs, ys = ([0.0], [0.0])
    for axis in (xs, ys):
        for _ in range(n):
            axis.append(axis[-1] + rng.uniform(0.8, 2.0))
    return [_box(xs[a], ys[b], xs[c], ys[d]) for a, b, c, d in floorplan(order)]


def partition(rng: random.Random) -> list[Ring]:
    """Return the cells of a k-d tree of random places, cut at slants."""
    cells = [shapely.box(0, 0, SIZE, SIZE)]
    while len(cells) < rng.randint(4, 14):
        cells.sort(key=lambda cell: -cell.area)
        cell = cells.pop(0)
        x, y = cell.centroid.x + rng.uniform(-0.6, 0.6), cell.centroid.y + rng.uniform(-0.6, 0.6)
        turn = rng.uniform(0, math.pi)
        far = (3 * SIZE * math.cos(turn), 3 * SIZE * math.sin(turn))
        cut = shapely.LineString([(x - far[0], y - far[1]), (x + far[0], y + far[1])])
        cells += _split(cell, cut)
    return [_ring(cell) for cell in cells]


def _split(cell: shapely.Polygon, cut: shapely.LineString) -> list[shapely.Polygon]:
    return list(shapely.get_parts(shapely.polygonize([shapely.union_all([cell.exterior, cell & cut])])))


def known(rng: random.Random) -> list[Ring]:
    """Return a traditional block, 12 in wide."""
    makers: list[Callable[[], list[shapely.Polygon]]] = [
        known_layouts.log_cabin,
        known_layouts.courthouse_steps,
        known_layouts.square_in_square,
        known_layouts.flying_geese,
        traditional.churn_dash,
        traditional.rail_fence,
        traditional.dutchmans_puzzle,
        lambda: known_layouts.squares(3, 3),
        known_layouts.split_square_star,
    ]
    polygons = rng.choice(makers)()
    left, top, right, bottom = shapely.total_bounds(polygons).tolist()
    scale = SIZE / max(right - left, bottom - top)
    moved = shapely.transform(polygons, lambda at: (at - [left, top]) * scale)
    return [_ring(shape) for shape in moved]


def _box(left: float, top: float, right: float, bottom: float) -> Ring:
    return [(left, top), (right, top), (right, bottom), (left, bottom)]


def _ring(shape: shapely.Polygon) -> Ring:
    plain = shapely.simplify(shape, 1e-6)
    return [(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in plain.exterior.coords[:-1]]


FAMILIES: dict[str, Callable[[random.Random], list[Ring]]] = {
    "treemap": treemap,
    "mosaic": mosaic,
    "k-d partition": partition,
    "traditional": known,
}


def clean_layout(family: str, rng: random.Random) -> list[Ring]:
    """Return a layout in which nothing is as small as a slip."""
    while True:
        rings = FAMILIES[family](rng)
        lines = _lines(rings)
        corners = shapely.MultiPoint([at for line in lines for at in line])
        places = shapely.get_parts(shapely.union_all([corners, *_nodes(rings)]))
        tree = shapely.STRtree(places)
        pairs = tree.query(places, predicate="dwithin", distance=ROOM)
        wide = not shapely.is_empty(shapely.buffer([shapely.Polygon(ring) for ring in rings], -ROOM / 2)).any()
        if wide and (pairs[0] == pairs[1]).all() and len(rings) > 2:
            return rings


def _nodes(rings: Sequence[Ring]) -> list[shapely.Geometry]:
    return [shapely.multipoints(ring) for ring in rings]


def _edges(rings: Sequence[Ring]) -> list[shapely.LineString]:
    """Return the boundaries of patches from corner to corner."""
    corners = shapely.multipoints([at for ring in rings for at in ring])
    sides = []
    for ring in rings:
        for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
            side = shapely.LineString([a, b])
            on_it = [p for p in shapely.get_parts(corners) if side.distance(p) < 1e-4]
            stops = sorted({(round(side.project(p), 6), p.x, p.y) for p in on_it})
            places = [(x, y) for _, x, y in stops]
            sides += [tuple(sorted(pair)) for pair in pairwise(places) if math.dist(*pair) > 1e-3]
    near: dict[tuple[float, ...], tuple[Point, Point]] = {}
    for a, b in sides:
        near.setdefault(tuple(round(v, 3) for v in (*a, *b)), (a, b))
    return [shapely.LineString(pair) for pair in near.values()]


def _lines(rings: Sequence[Ring]) -> list[Ring]:
    """Return the lines inside a layout, each as long as it runs straight on."""
    outline = shapely.union_all([shapely.Polygon(ring) for ring in rings]).buffer(1e-4).buffer(-1e-4).exterior
    edges = [e for e in _edges(rings) if outline.distance(e.interpolate(0.5, normalized=True)) > 1e-2]
    lines: list[Ring] = [list(e.coords) for e in edges]
    joined = True
    while joined:
        joined = False
        for i, one in enumerate(lines):
            for other in lines[i + 1 :]:
                for a in (one, one[::-1]):
                    for b in (other, other[::-1]):
                        if (
                            math.dist(a[-1], b[0]) < 1e-3
                            and shapely.Point(a[-1]).distance(shapely.LineString([a[0], b[-1]])) < 1e-3
                        ):
                            lines.remove(one)
                            lines.remove(other)
                            lines.append([a[0], b[-1]])
                            joined = True
                            break
                    if joined:
                        break
                if joined:
                    break
            if joined:
                break
    return lines


# -- slips --------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class Hand:
    """A drawing under the hand: the outline and the lines, or the patches."""

    rng: random.Random
    outline: Ring
    closed: bool
    lines: list[Ring]
    patches: list[Ring]
    framed: bool = True
    touched: list[Point] = field(default_factory=list)
    slipped: set[tuple[int, int]] = field(default_factory=set)
    count: int = 0

    def __post_init__(self) -> None:
        self.count = len(self.lines)

    def chosen(self, stretch: int) -> int | None:
        """Choose a line of the layout; None if the hand has slipped there before.

        Parameters
        ----------
        stretch
            Its start (0), its end (1), or what lies between (2).
        """
        k = self.rng.randrange(self.count)
        if (k, stretch) in self.slipped:
            return None
        self.slipped.add((k, stretch))
        return k

    def size(self) -> float:
        """Return how large a slip is, inches."""
        return self.rng.uniform(LEAST, MOST)


def _towards(a: Point, b: Point, by: float) -> Point:
    far = math.dist(a, b)
    return a[0] + (b[0] - a[0]) / far * by, a[1] + (b[1] - a[1]) / far * by


def _end(hand: Hand, by: float) -> None:
    last = hand.rng.randrange(2)
    k = hand.chosen(last)
    if k is not None:
        line = hand.lines[k] if last else hand.lines[k][::-1]
        hand.lines[k] = [*line[:-1], _towards(line[-1], line[-2], by)][:: 1 if last else -1]


def gap(hand: Hand) -> None:
    """End a line too soon."""
    _end(hand, hand.size())


def overshoot(hand: Hand) -> None:
    """End a line too late."""
    _end(hand, -hand.size())


def loose_end(hand: Hand) -> None:
    """Leave a stray stroke beside or on a line."""
    line = hand.lines[hand.rng.randrange(hand.count)]
    x, y = shapely.LineString(line).interpolate(hand.rng.uniform(0.2, 0.8), normalized=True).coords[0]
    turn, size = hand.rng.uniform(0, 2 * math.pi), hand.size()
    off = hand.rng.choice((0.0, 0.3))
    x, y = x + off, y + off
    hand.lines.append([(x, y), (x + size * math.cos(turn), y + size * math.sin(turn))])


def bend(hand: Hand) -> None:
    """Draw a straight line with a small bend."""
    k = hand.chosen(2)
    if k is not None:
        a, b = hand.lines[k]
        hand.lines[k] = [a, _bent(hand, a, b), b]


def _bent(hand: Hand, a: Point, b: Point) -> Point:
    x, y = _towards(a, b, hand.rng.uniform(0.35, 0.65) * math.dist(a, b))
    by = hand.size() * hand.rng.choice((-1, 1)) / math.dist(a, b)
    return x - (b[1] - a[1]) * by, y + (b[0] - a[0]) * by


def doubled(hand: Hand) -> None:
    """Draw a line twice, the second time beside the first."""
    k = hand.chosen(2)
    if k is not None:
        a, b = hand.lines[k]
        by = hand.size() * hand.rng.choice((-1, 1)) / math.dist(a, b)
        dx, dy = -(b[1] - a[1]) * by, (b[0] - a[0]) * by
        hand.lines.append([(x + dx, y + dy) for x, y in (a, b)])


def open_outline(hand: Hand) -> None:
    """End the outline before it comes back to where it began."""
    if hand.closed:
        hand.closed = False
        hand.outline = [*hand.outline, _towards(hand.outline[0], hand.outline[-1], hand.size())]


def no_frame(hand: Hand) -> None:
    """Draw no outline, where the ends of lines tell where it would be."""
    ends = [at for line in hand.lines for at in (line[0], line[-1])]
    ends = [at for at in ends if sum(math.dist(at, other) < ROOM / 2 for other in ends) == 1]
    if ends and hand.closed:
        told = shapely.total_bounds(shapely.points(ends))
        if abs(told - shapely.total_bounds(shapely.points(hand.outline))).max() < 1e-6 and len(hand.outline) == 4:
            hand.framed = False


def _is_free(hand: Hand, places: Sequence[Point]) -> bool:
    """Tell whether no slip has touched some corners of the layout yet; they count as touched then."""
    if any(math.dist(at, old) < ROOM / 2 for at in places for old in hand.touched):
        return False
    hand.touched += places
    return True


def corner(hand: Hand) -> None:
    """Draw a corner of a patch a little off."""
    ring = hand.rng.choice(hand.patches)
    k = hand.rng.randrange(len(ring))
    if not _is_free(hand, [ring[k]]):
        return
    turn, size = hand.rng.uniform(0, 2 * math.pi), hand.size()
    ring[k] = (ring[k][0] + size * math.cos(turn), ring[k][1] + size * math.sin(turn))


def side(hand: Hand) -> None:
    """Draw a side of a patch a little farther in or out."""
    ring = hand.rng.choice(hand.patches)
    k = hand.rng.randrange(len(ring))
    a, b = ring[k], ring[(k + 1) % len(ring)]
    if not _is_free(hand, [a, b]):
        return
    by = hand.size() * hand.rng.choice((-1, 1)) / math.dist(a, b)
    dx, dy = -(b[1] - a[1]) * by, (b[0] - a[0]) * by
    ring[k], ring[(k + 1) % len(ring)] = (a[0] + dx, a[1] + dy), (b[0] + dx, b[1] + dy)


def pushed(hand: Hand) -> None:
    """Draw a whole patch a little to the side."""
    ring = hand.rng.choice(hand.patches)
    if not _is_free(hand, ring):
        return
    turn, size = hand.rng.uniform(0, 2 * math.pi), hand.size()
    ring[:] = [(x + size * math.cos(turn), y + size * math.sin(turn)) for x, y in ring]


def common_bend(hand: Hand) -> None:
    """Draw the side between two patches with a small bend, in both of them."""
    pairs = []
    for one in hand.patches:
        for other in hand.patches:
            for n, a in enumerate(one):
                b = one[(n + 1) % len(one)]
                for m, c in enumerate(other):
                    if one is not other and a == other[(m + 1) % len(other)] and b == c:
                        pairs.append((one, n, other, m))
    if pairs:
        one, n, other, m = hand.rng.choice(pairs)
        if not _is_free(hand, [one[n], one[(n + 1) % len(one)]]):
            return
        place = _bent(hand, one[n], one[(n + 1) % len(one)])
        hand.touched.append(place)
        one.insert(n + 1, place)
        other.insert(m + 1, place)


LINE_SLIPS = (gap, gap, overshoot, overshoot, loose_end, bend, doubled, open_outline, no_frame)
PATCH_SLIPS = (corner, side, pushed, common_bend)


@dataclass(frozen=True, slots=True)
class Case:
    """A drawing with slips, and the drawing that was meant."""

    family: str
    form: str
    slips: tuple[str, ...]
    clean: Drawing
    drawn: Drawing


def case(seed: int) -> Case:
    """Return a case."""
    rng = random.Random(seed)  # noqa: S311 - drawings, no secrets
    family = [*FAMILIES][seed % len(FAMILIES)]
    form = ("lines", "patches", "polygons")[seed // len(FAMILIES) % 3]
    rings = clean_layout(family, rng)
    outline = _ring(shapely.union_all([shapely.Polygon(ring) for ring in rings]).buffer(1e-5, join_style="mitre"))
    outline = [(round(x, 3), round(y, 3)) for x, y in outline]
    hand = Hand(rng, outline, True, _lines(rings), [list(ring) for ring in rings])
    clean = _drawing(hand, form)
    made = []
    for _ in range(rng.randint(1, 5)):
        slip = rng.choice(LINE_SLIPS if form == "lines" else PATCH_SLIPS)
        before = text_of(hand, form)
        slip(hand)
        if text_of(hand, form) != before:
            made.append(slip.__name__)
    if not made:
        (gap if form == "lines" else corner)(hand)
        made.append("gap" if form == "lines" else "corner")
    return Case(family, form, tuple(made), clean, _drawing(hand, form))


def text_of(hand: Hand, form: str) -> str:
    """Return a drawing as SVG or WKT."""
    if form == "polygons":
        return "\n".join(
            f"POLYGON (({', '.join(f'{x:.6f} {-y:.6f}' for x, y in [*ring, ring[0]])}))" for ring in hand.patches
        )
    if form == "patches":
        body = "".join(
            f'<path fill="{COLOURS[n % len(COLOURS)]}" d="{_d(ring)}Z"/>' for n, ring in enumerate(hand.patches)
        )
    else:
        body = f'<path id="outline" d="{_d(hand.outline)}{"Z" if hand.closed else ""}"/>' if hand.framed else ""
        body += "".join(f'<path d="{_d(line)}"/>' for line in hand.lines)
        body = f'<g fill="none" stroke="#000" stroke-width="0.02">{body}</g>'
    head = f'width="{SIZE + 2:g}in" height="{SIZE + 2:g}in" viewBox="-1 -1 {SIZE + 2:g} {SIZE + 2:g}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'


def _d(ring: Ring) -> str:
    return "M" + "L".join(f"{x:.6f} {y:.6f}" for x, y in ring)


def _drawing(hand: Hand, form: str) -> Drawing:
    kind = "wkt" if form == "polygons" else "svg"
    return parse_drawing(text_of(hand, form).encode(), source=f"slips.{kind}")


# -- what becomes of them -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """What became of one case; `wrong` says what is not as it was meant, `ambiguous` that nobody could know that."""

    seed: int
    family: str
    form: str
    slips: tuple[str, ...]
    seconds: float
    wrong: str = ""
    ambiguous: bool = False


def measure(seed: int) -> Row:
    """Mend a drawing with slips and compare it with what was meant; seconds are those of the processor."""
    one = case(seed)
    (meant,) = build_blocks(one.clean)
    start = time.process_time()
    ambiguous = False
    try:
        mended = mend_slips(one.drawn, within=WITHIN, time_limit=TIME_LIMIT)
        wrong = "" if not mended.left else f"left: {mended.left[0].code}"
        if not wrong:
            blocks = build_blocks(mended.drawing)
            wrong = f"{len(blocks)} blocks" if len(blocks) != 1 else _difference(blocks[0], meant)
        seconds = time.process_time() - start
        ambiguous = bool(wrong) and is_ambiguous(one, mended)
    except DrawingError as error:
        seconds = time.process_time() - start
        wrong = f"refused: {error.findings[0].code}"
    return Row(seed, one.family, one.form, one.slips, seconds, wrong, ambiguous)


def is_ambiguous(one: Case, mended: Mended) -> bool:
    """Tell whether the clean form is farther from a drawing than the mended one, or than what is asked for."""
    to_clean = movements(one.drawn, one.clean)
    if to_clean is None:
        return False
    if max(to_clean) > WITHIN + _ROUNDED:
        return True
    to_mended = movements(one.drawn, mended.drawing)
    if to_mended is None or diagnose(mended.drawing, within=WITHIN, tolerance=TOLERANCE).troubles:
        return False
    return sum(to_mended) < sum(to_clean) - _ROUNDED


def movements(drawn: Drawing, other: Drawing) -> list[float] | None:
    """Return how far each drawn point lies from where another form has it, None where that has other shapes.

    Points that the other form has not (those of bends) are to lie on its line.
    """
    if len(drawn.shapes) != len(other.shapes):
        return None
    pairs = []
    for before, after in zip(drawn.shapes, other.shapes, strict=True):
        for one, two in zip(before.tracks, after.tracks, strict=True):
            pairs.append((np.array(one.points), np.array(two.points)))
    alike = [two - one for one, two in pairs if len(one) == len(two)]
    # Polygons are read from the corner of all of them, which a slip may have moved.
    shift = np.median(np.concatenate(alike), axis=0) if alike else np.zeros(2)
    return [far for one, two in pairs for far in _distances(one, two - shift)]


def _distances(points: Floats, others: Floats) -> list[float]:
    if len(points) == len(others):
        return [float(far) for far in np.hypot(*(points - others).T)]
    from_corner = shapely.distance(shapely.points(points), shapely.multipoints(others))
    from_line = shapely.distance(shapely.points(points), shapely.LinearRing(others))
    bends = np.argsort(from_corner)[len(others) :]
    from_corner[bends] = from_line[bends]
    return [float(far) for far in from_corner]


def _difference(block: Block, meant: Block) -> str:
    if len(block.patches) != len(meant.patches):
        return f"{len(block.patches)} patches, not {len(meant.patches)}"
    shapes = [shapely.Polygon(meant.polygon(p)) for p in range(len(meant.patches))]
    tree = shapely.STRtree(shapes)
    for p in range(len(block.patches)):
        shape = shapely.Polygon(block.polygon(p))
        other = shapes[int(tree.nearest(shape.representative_point()))]
        if shape.intersection(other).area < _SAME * max(shape.area, other.area):
            return "another patch"
    now, then = (plan(b, time_limit=2.0) for b in (block, meant))
    if (now.verdict, now.counts.units) != (then.verdict, then.counts.units):
        return f"{now.verdict}, {now.counts.units} units, not {then.verdict}, {then.counts.units}"
    return ""


def table(rows: Sequence[Row]) -> str:
    """Return the figures as a table in Markdown."""
    lines = ["| layouts | as meant | ambiguous | else wrong | median s | longest s |", "|---|---|---|---|---|---|"]
    groups = [("all", rows)]
    groups += [(form, [r for r in rows if r.form == form]) for form in ("lines", "patches", "polygons")]
    groups += [(family, [r for r in rows if r.family == family]) for family in FAMILIES]
    groups += [(f"{n} slips", [r for r in rows if len(r.slips) == n]) for n in range(1, 6)]
    for name, some in groups:
        if some:
            right = sum(not r.wrong for r in some)
            unclear = sum(r.ambiguous for r in some)
            lines.append(
                f"| {name} | {right} of {len(some)} | {unclear} | {len(some) - right - unclear} "
                f"| {statistics.median(r.seconds for r in some):.2f} | {max(r.seconds for r in some):.1f} |"
            )
    return "\n".join(lines)


def main() -> None:
    """Measure the cases and write what they came to."""
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks.slips", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=1000, help="how many drawings")
    parser.add_argument("--first", type=int, default=0, help="number of the first one")
    parser.add_argument("--try", dest="trial", action="store_true", help="write no results")
    options = parser.parse_args()
    rows = []
    for seed in range(options.first, options.first + options.count):
        rows.append(measure(seed))
        if rows[-1].wrong:
            print(rows[-1], flush=True)
    text = f"# Slips of the hand, {today()}\n\n{about_line()}\n\n{table(rows)}\n"
    print(text)
    print(Counter(slip for row in rows if row.wrong for slip in row.slips))
    if not options.trial:
        (RESULTS / f"{today()}-slips.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
