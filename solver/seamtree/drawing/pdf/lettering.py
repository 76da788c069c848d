"""Texts of PDF pages: what their codes mean, and which of them stand together (ISO 32000-1, section 9)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from pypdf.errors import PyPdfError
from pypdf.generic import DictionaryObject, IndirectObject

# The library reads fonts for its own extraction of text only, so that this is not among its public names.
from pypdf.generic._font import Font as _Font

from seamtree.drawing.affine import Affine, apply_vector
from seamtree.drawing.canvas import Canvas, Frame
from seamtree.errors import Point

_THOUSANDTH = 0.001
WORD_GAP = 0.18
"""Share of the font size from which on a gap is a space; a usual space is 0.25 or more (from memory)."""

_NEAR = 0.35
"""Share of the font size that a text may stand beside the end of another one that it goes on with."""


class Glyph(NamedTuple):
    """One code of a text: its letters, its advance as a share of the font size, and whether it is a lone space."""

    letters: str
    advance: float
    is_space: bool


class Font:
    """A font: what its codes mean and how wide they are."""

    def __init__(self, described: DictionaryObject) -> None:
        self._font = _Font.from_font_resource(described)
        matrix = described.get("/FontMatrix")
        self._unit = float(matrix.get_object()[0]) if matrix is not None else _THOUSANDTH
        # Codes of a composite font are numbers of glyphs, unless the file says what they mean.
        named = bool(self._font.character_map) or self._font.sub_type != "Type0"
        self.is_readable = self._font.interpretable and named

    def glyphs(self, text: bytes) -> list[Glyph]:
        """Return what a string says."""
        encoding, known = self._font.encoding, self._font.character_map
        if isinstance(encoding, str):
            codes = text.decode(encoding, "replace")
            return [self._glyph(known.get(each, each), each, is_space=False) for each in codes]
        letters = [encoding.get(byte, chr(byte)) for byte in text]
        return [
            self._glyph(known.get(each, each), chr(byte), is_space=byte == 32)
            for each, byte in zip(letters, text, strict=True)
        ]

    def _glyph(self, letters: str, code: str, *, is_space: bool) -> Glyph:
        return Glyph(letters, float(self._font.get_text_width(code)) * self._unit, is_space)


class Fonts:
    """Fonts that were read already."""

    def __init__(self) -> None:
        self._fonts: dict[object, Font | None] = {}

    def get(self, described: Any) -> Font | None:
        """Return a font, None where it cannot be made out."""
        key = described.idnum if isinstance(described, IndirectObject) else id(described)
        if key not in self._fonts:
            try:
                font = Font(described.get_object())
                self._fonts[key] = font if font.is_readable else None
            except (PyPdfError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError, RecursionError):
                self._fonts[key] = None
        return self._fonts[key]


@dataclass(slots=True)
class _Line:
    """Texts in line that stand together, in a frame of their own: x along the line, y down."""

    frames: tuple[Frame, ...]
    matrix: Affine
    size: float
    text: str
    end: float


class Lettering:
    """Collects texts and writes those that go on in one line as one.

    Attributes
    ----------
    unreadable
        How many strings were met whose letters the file does not tell.
    """

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._line: _Line | None = None
        self.unreadable = 0

    def add(self, text: str, matrix: Affine, size: float, advance: float, frames: Sequence[Frame]) -> None:
        """Add a string.

        Parameters
        ----------
        text
            Its letters.
        matrix
            From text space to the page; the string begins at its origin.
        size, advance
            Font size and length of the string in text space.
        frames
            Where it is written.
        """
        right, up = apply_vector(matrix, (1.0, 0.0)), apply_vector(matrix, (0.0, 1.0))
        along, height = math.hypot(*right), math.hypot(*up)
        if not (text.strip() and along and height and math.isfinite(along * height)):
            return
        own = (right[0] / along, right[1] / along, -up[0] / height, -up[1] / height, matrix[4], matrix[5])
        size, advance = abs(size) * height, advance * along
        if self._line is not None and self._goes_on(self._line, own, size, tuple(frames)):
            start = self._along(self._line, own)
            gap = start - self._line.end > WORD_GAP * size
            self._line.text += (" " if gap else "") + text
            self._line.end = start + advance
            return
        self.flush()
        self._line = _Line(tuple(frames), own, size, text, advance)

    def flush(self) -> None:
        """Write what was collected."""
        line, self._line = self._line, None
        if line is not None:
            middle: Point = (line.end / 2, 0.0)
            self._canvas.text([(line.text, middle)], line.size, line.matrix, line.frames)

    @staticmethod
    def _along(line: _Line, own: Affine) -> float:
        across, down = own[4] - line.matrix[4], own[5] - line.matrix[5]
        return across * line.matrix[0] + down * line.matrix[1]

    def _goes_on(self, line: _Line, own: Affine, size: float, frames: tuple[Frame, ...]) -> bool:
        turned = math.dist(line.matrix[:4], own[:4]) > 1e-3
        if turned or line.frames != frames or abs(size - line.size) > 0.05 * line.size:
            return False
        across, down = own[4] - line.matrix[4], own[5] - line.matrix[5]
        off = abs(across * line.matrix[1] - down * line.matrix[0])
        return off <= 0.1 * size and abs(self._along(line, own) - line.end) <= _NEAR * size
