"""The operators of PDF pages (ISO 32000-1, Annex A) and what they do."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from seamtree.drawing.pdf.paint import Painter


def _painting(**how: bool) -> Callable[[Painter], None]:
    return lambda painter: painter.paint(**how)


def _text_value(name: str, scale: float = 1.0) -> Callable[[Painter, float], None]:
    return lambda painter, value: painter.set_value(name, value * scale)


_P = Painter

NUMERIC: dict[str, tuple[int, Callable[..., None]]] = {
    "q": (0, _P.save),
    "Q": (0, _P.restore),
    "cm": (6, _P.transform),
    "w": (1, _P.set_width),
    "J": (1, _P.set_cap),
    "j": (1, _P.set_join),
    "M": (1, _P.set_miter),
    "i": (1, _P.ignore),
    "m": (2, _P.move),
    "l": (2, _P.draw_line),
    "c": (6, _P.draw_curve),
    "v": (4, _P.draw_curve_from_here),
    "y": (4, _P.draw_curve_to_end),
    "h": (0, _P.close_path),
    "re": (4, _P.rectangle),
    "S": (0, _painting(stroke=True)),
    "s": (0, _painting(stroke=True, close=True)),
    "f": (0, _painting(fill=True)),
    "F": (0, _painting(fill=True)),
    "f*": (0, _painting(fill=True, evenodd=True)),
    "B": (0, _painting(fill=True, stroke=True)),
    "B*": (0, _painting(fill=True, stroke=True, evenodd=True)),
    "b": (0, _painting(fill=True, stroke=True, close=True)),
    "b*": (0, _painting(fill=True, stroke=True, close=True, evenodd=True)),
    "n": (0, _painting()),
    "W": (0, lambda painter: painter.set_clip("W")),
    "W*": (0, lambda painter: painter.set_clip("W*")),
    "g": (1, lambda painter, *numbers: painter.set_device(painter.fill, numbers)),
    "rg": (3, lambda painter, *numbers: painter.set_device(painter.fill, numbers)),
    "k": (4, lambda painter, *numbers: painter.set_device(painter.fill, numbers)),
    "G": (1, lambda painter, *numbers: painter.set_device(painter.stroke, numbers)),
    "RG": (3, lambda painter, *numbers: painter.set_device(painter.stroke, numbers)),
    "K": (4, lambda painter, *numbers: painter.set_device(painter.stroke, numbers)),
    "Tc": (1, _text_value("letter_space")),
    "Tw": (1, _text_value("word_space")),
    "Tz": (1, _text_value("stretch", 0.01)),
    "TL": (1, _text_value("leading")),
    "Tr": (1, _text_value("mode")),
    "Ts": (1, _text_value("rise")),
    "Td": (2, _P.next_line),
    "TD": (2, _P.next_line_leading),
    "Tm": (6, _P.set_text_matrix),
    "d0": (2, _P.ignore),
    "d1": (6, _P.ignore),
}
"""Operators whose operands are numbers (ISO 32000-1, Annex A): how many, and what they do."""

OTHERS: dict[str, Callable[[Painter, Any], None]] = {
    "d": _P.set_dashes,
    "gs": _P.set_look,
    "ri": _P.ignore,
    "cs": lambda painter, operands: painter.set_space(operands, painter.fill),
    "CS": lambda painter, operands: painter.set_space(operands, painter.stroke),
    "sc": lambda painter, operands: painter.set_colour(operands, painter.fill),
    "SC": lambda painter, operands: painter.set_colour(operands, painter.stroke),
    "scn": lambda painter, operands: painter.set_colour(operands, painter.fill),
    "SCN": lambda painter, operands: painter.set_colour(operands, painter.stroke),
    "sh": _P.shade,
    "Do": _P.do,
    "INLINE IMAGE": _P.inline_image,
    "BMC": _P.mark,
    "BDC": _P.mark_with_properties,
    "EMC": _P.end_mark,
    "MP": _P.ignore,
    "DP": _P.ignore,
    "BX": _P.begin_compatible,
    "EX": _P.end_compatible,
    "BT": _P.begin_text,
    "ET": _P.ignore,
    "Tf": _P.set_font,
    "T*": _P.next_line_usual,
    "Tj": _P.show_parts,
    "TJ": _P.show_spaced,
    "'": _P.show_on_next_line,
    '"': _P.show_on_next_line_spaced,
}
"""The other operators."""
