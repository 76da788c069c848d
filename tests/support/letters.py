"""Words turned into outlines, as editors do it: letters of common typefaces, one path each or one for the word."""

from __future__ import annotations

import math
from random import Random

from benchmarks.emblems import SIZE
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import TextPath

WORDS = ("BUOY", "gull", "Dinghy 7", "TIDE POOL", "8 & 16", "Harbour", "LIGHT%", "boiij", "No. 42")
_COMMANDS = {1: "M", 2: "L", 3: "Q", 4: "C", 79: "Z"}
_STYLES = (
    'fill="#111"',
    'fill="#111" stroke="#111" stroke-width=".01"',
    'fill="none" stroke="#111" stroke-width=".02"',
)


def outlines(
    word: str,
    *,
    at: tuple[float, float],
    size: float,
    turn: float = 0.0,
    style: str = _STYLES[0],
    font: FontProperties | None = None,
    apart: bool = False,
) -> str:
    """Return a word as SVG paths from where its base line begins; `turn` in radians, `apart` for a path a letter."""
    if not apart:
        return f'<path {style} d="{_outline(word, at, size, turn, font)}"/>'
    along, paths = 0.0, []
    for letter in word:
        start = (at[0] + along * math.cos(turn), at[1] + along * math.sin(turn))
        if letter != " ":
            paths.append(f'<path {style} d="{_outline(letter, start, size, turn, font)}"/>')
            along += TextPath((0, 0), letter, size=size, prop=font).get_extents().x1
        along += (0.4 if letter == " " else 0.1) * size
    return "".join(paths)


def _outline(text: str, at: tuple[float, float], size: float, turn: float, font: FontProperties | None) -> str:
    c, s = math.cos(turn), math.sin(turn)
    data = []
    for points, code in TextPath((0, 0), text, size=size, prop=font).iter_segments(curves=True):
        moved = [
            (at[0] + c * x + s * y, at[1] + s * x - c * y) for x, y in zip(points[::2], points[1::2], strict=True)
        ]
        data.append(_COMMANDS[int(code)] + ("" if code == 79 else " ".join(f"{x:.4f} {y:.4f}" for x, y in moved)))
    return "".join(data)


def any_word(seed: int) -> str:
    """Return a word in any size, style and place of an emblem of `benchmarks.emblems`, across its seams or not."""
    choose = Random(seed)
    font = FontProperties(
        family=choose.choice(["DejaVu Sans", "DejaVu Serif"]), weight=choose.choice(["bold", "normal"])
    )
    return outlines(
        choose.choice(WORDS),
        at=(choose.uniform(0.1, 0.6 * SIZE), choose.uniform(0.5, SIZE - 0.1)),
        size=choose.choice([0.2, 0.3, 0.5, 0.8]),
        turn=choose.choice([0.0, 0.0, 0.3, math.pi / 2]),
        style=choose.choice(_STYLES),
        font=font,
        apart=choose.random() < 0.5,
    )
