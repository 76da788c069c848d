"""Small layouts, and ways to damage their patches before they are written."""

from __future__ import annotations

import math
from collections.abc import Callable
from random import Random

Ring = list[tuple[float, float]]
Outlines = list[Ring]

SIDE = 8.0
"""Inches that a layout is wide and high before it is damaged."""


def make_layout(rng: Random) -> Outlines:
    """Return the patches of a square block: cuts, a grid whose corners wander, or rectangles round a square."""
    return rng.choice([_cuts, _cuts, _grid, _spun])(rng)


def _cuts(rng: Random) -> Outlines:
    """Cut patches in two, again and again."""
    outlines = [[(0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE)]]
    for _ in range(rng.randint(1, 9)):
        ring = outlines.pop(rng.randrange(len(outlines)))
        a, b = sorted(rng.sample(range(len(ring)), 2))
        p, q = (_between(ring[k], ring[(k + 1) % len(ring)], rng.choice([0.5, rng.random()])) for k in (a, b))
        outlines += [[p, *ring[a + 1 : b + 1], q], [q, *ring[b + 1 :], *ring[: a + 1], p]]
    return outlines


def _grid(rng: Random) -> Outlines:
    across, down = rng.randint(1, 4), rng.randint(1, 4)
    stray = rng.choice([0.0, 0.0, 0.01, 0.4]) * SIDE / 5

    def corner(x: int, y: int) -> tuple[float, float]:
        return (
            SIDE * x / across + (rng.uniform(-stray, stray) if 0 < x < across else 0.0),
            SIDE * y / down + (rng.uniform(-stray, stray) if 0 < y < down else 0.0),
        )

    at = {(x, y): corner(x, y) for x in range(across + 1) for y in range(down + 1)}
    outlines: Outlines = []
    for x in range(across):
        for y in range(down):
            ring = [at[x, y], at[x + 1, y], at[x + 1, y + 1], at[x, y + 1]]
            outlines += [ring] if rng.random() < 0.6 else [ring[:3], [ring[0], *ring[2:]]]
    return outlines


def _spun(rng: Random) -> Outlines:
    a = rng.uniform(0.1, 0.45) * SIDE
    b = SIDE - a
    return [
        [(0, 0), (b, 0), (b, a), (0, a)],
        [(b, 0), (SIDE, 0), (SIDE, b), (b, b)],
        [(a, b), (SIDE, b), (SIDE, SIDE), (a, SIDE)],
        [(0, a), (a, a), (a, SIDE), (0, SIDE)],
        [(a, a), (b, a), (b, b), (a, b)],
    ]


def _between(p: tuple[float, float], q: tuple[float, float], share: float) -> tuple[float, float]:
    return (p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1]))


def damage(rng: Random, outlines: Outlines) -> Outlines:
    """Damage a layout up to three times."""
    for _ in range(rng.choice([0, 1, 1, 2, 3])):
        k = rng.randrange(len(outlines))
        outlines = [*outlines[:k], *rng.choice(WAYS)(rng, outlines[k]), *outlines[k + 1 :]] or outlines
    return outlines


def _far(rng: Random) -> float:
    """Return a distance anywhere between what nobody can see and what is larger than the block."""
    return float(10 ** rng.uniform(-7, 1.2)) * rng.choice([-1, 1])


def _leave_out(rng: Random, ring: Ring) -> Outlines:
    return []


def _double(rng: Random, ring: Ring) -> Outlines:
    return [ring, ring[::-1]]


def _drop_corner(rng: Random, ring: Ring) -> Outlines:
    k = rng.randrange(len(ring))
    return [ring[:k] + ring[k + 1 :]]


def _nudge(rng: Random, ring: Ring) -> Outlines:
    k = rng.randrange(len(ring))
    x, y = ring[k]
    return [[*ring[:k], (x + _far(rng), y + _far(rng)), *ring[k + 1 :]]]


def _shift(rng: Random, ring: Ring) -> Outlines:
    across, down = _far(rng), _far(rng)
    return [[(x + across, y + down) for x, y in ring]]


def _grow(rng: Random, ring: Ring) -> Outlines:
    middle = (math.fsum(x for x, _ in ring) / len(ring), math.fsum(y for _, y in ring) / len(ring))
    return [[_between(middle, corner, 1 + _far(rng) / SIDE) for corner in ring]]


def _spike(rng: Random, ring: Ring) -> Outlines:
    k = rng.randrange(len(ring))
    x, y = ring[k]
    return [[*ring[: k + 1], (x + _far(rng), y), *ring[k:]]]


def _cross(rng: Random, ring: Ring) -> Outlines:
    ring = ring[:]
    a, b = rng.randrange(len(ring)), rng.randrange(len(ring))
    ring[a], ring[b] = ring[b], ring[a]
    return [ring]


def _collapse(rng: Random, ring: Ring) -> Outlines:
    return [[ring[0]] * len(ring)]


def _many_corners(rng: Random, ring: Ring) -> Outlines:
    times = rng.randint(2, 12)
    ends = zip(ring, ring[1:] + ring[:1], strict=True)
    return [[_between(p, q, k / times) for p, q in ends for k in range(times)]]


WAYS: list[Callable[[Random, Ring], Outlines]] = [
    _leave_out,
    _double,
    _drop_corner,
    _nudge,
    _nudge,
    _shift,
    _grow,
    _spike,
    _cross,
    _collapse,
    _many_corners,
]
"""The ways to damage a patch."""
