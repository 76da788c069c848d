"""Operators that show text (ISO 32000-1, section 9)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from seamtree.drawing.affine import IDENTITY, Affine, compose
from seamtree.drawing.canvas import coordinate
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.lettering import WORD_GAP, Fonts, Lettering
from seamtree.drawing.pdf.machine import Machine, Table

_JUMP = 1.0
"""Share of the font size from which on a step inside of a string leads to another text."""

_UNPAINTED = frozenset({3, 7})


class Typesetter:
    """Has a method for every operator of text.

    Parameters
    ----------
    machine
        What is set, and what is painted on.

    Attributes
    ----------
    lettering
        The texts so far.
    """

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._fonts = Fonts()
        self._text: Affine = IDENTITY
        self._line: Affine = IDENTITY
        self.lettering = Lettering(machine.canvas)

    def begin_text(self, _operands: Sequence[Any]) -> None:
        """Begin text."""
        self._text = self._line = IDENTITY

    def set_font(self, operands: Sequence[Any]) -> None:
        """Set the font and its size."""
        if len(operands) != 2:
            raise damaged(self._machine.source, "a font is set without its size")
        self._machine.state.size = self._machine.number("Tf", operands[1])
        found = self._machine.find("/Font", operands[0])
        self._machine.state.font = self._fonts.get(found) if found is not None else None

    def next_line(self, x: float, y: float) -> None:
        """Go to a place from the start of the line."""
        self._text = self._line = compose(self._line, (1.0, 0.0, 0.0, 1.0, x, y))

    def next_line_leading(self, x: float, y: float) -> None:
        """Go to a place and make its distance that of lines."""
        self._machine.state.leading = -y
        self.next_line(x, y)

    def next_line_usual(self, _operands: Sequence[Any]) -> None:
        """Go to the next line."""
        self.next_line(0.0, -self._machine.state.leading)

    def set_text_matrix(self, *numbers: float) -> None:
        """Set where text goes on."""
        a, b, c, d, e, f = numbers
        self._text = self._line = (a, b, c, d, e, f)

    def show_spaced(self, operands: Sequence[Any]) -> None:
        """Show text with steps inside."""
        if len(operands) != 1 or not isinstance(operands[0], list):
            raise damaged(self._machine.source, "text is shown without an array")
        self.show_parts(operands[0])

    def show_on_next_line(self, operands: Sequence[Any]) -> None:
        """Show text on the next line."""
        self.next_line_usual(())
        self.show_parts(operands)

    def show_on_next_line_spaced(self, operands: Sequence[Any]) -> None:
        """Set spaces and show text on the next line."""
        if len(operands) != 3:
            raise damaged(self._machine.source, "text is shown without its spaces")
        self._machine.state.word_space = self._machine.number('"', operands[0])
        self._machine.state.letter_space = self._machine.number('"', operands[1])
        self.show_on_next_line(operands[2:])

    def show_parts(self, parts: Sequence[Any]) -> None:
        """Show strings; numbers between them, in thousandths of the font size, move back."""
        text, along = "", 0.0
        for part in parts:
            if isinstance(part, (int, float)):
                shift = -self._machine.number("TJ", part) / 1000
                if abs(shift) > _JUMP:
                    self._write(text, along)
                    text, along = "", 0.0
                elif shift > WORD_GAP and text and not text.endswith(" "):
                    text += " "
                moved = shift * self._machine.state.size * self._machine.state.stretch
                if text:
                    along += moved
                else:
                    self._advance(moved)
            elif isinstance(part, bytes):
                said, length = self._spelt(part)
                text, along = text + said, along + length
            else:
                raise damaged(self._machine.source, "what is shown as text is none")
        self._write(text, along)

    def _spelt(self, text: bytes) -> tuple[str, float]:
        """Return the letters of a string and its length in text space."""
        state = self._machine.state
        if state.font is None:
            return "�", 0.0
        said, along = "", 0.0
        for letters, advance, is_space in state.font.glyphs(text):
            said += letters
            spaces = state.letter_space + (state.word_space if is_space else 0.0)
            along += (advance * state.size + spaces) * state.stretch
        return said, along

    def _write(self, text: str, along: float) -> None:
        """Write letters that stand together and go on after them."""
        state = self._machine.state
        matrix = compose(compose(state.matrix, self._text), (1.0, 0.0, 0.0, 1.0, 0.0, state.rise))
        if text and state.mode not in _UNPAINTED:
            if not all(letter.isprintable() and letter != "�" for letter in text):
                self.lettering.unreadable += 1
            else:
                for value in (*matrix, along):
                    coordinate(value, self._machine.source)
                self.lettering.add(text, matrix, state.size, along, self._machine.frames(plain=True))
        self._advance(along)

    def _advance(self, along: float) -> None:
        self._text = compose(self._text, (1.0, 0.0, 0.0, 1.0, along, 0.0))

    def set_value(self, name: str, value: float) -> None:
        """Set a number of the state."""
        setattr(self._machine.state, name, value)

    @contextmanager
    def apart(self) -> Iterator[None]:
        """Let a form set text of its own: afterwards text goes on where it was."""
        text, line = self._text, self._line
        yield
        self._text, self._line = text, line

    def ignore(self, *_: Any) -> None:
        """Do nothing: it tells nothing of a drawing."""


def _setting(name: str, scale: float = 1.0) -> Callable[[Typesetter, float], None]:
    """Return what sets a number of the state."""
    return lambda typesetter, value: typesetter.set_value(name, value * scale)


_T = Typesetter

OPERATORS: Table = {
    "Tc": (1, _setting("letter_space")),
    "Tw": (1, _setting("word_space")),
    "Tz": (1, _setting("stretch", 0.01)),
    "TL": (1, _setting("leading")),
    "Tr": (1, _setting("mode")),
    "Ts": (1, _setting("rise")),
    "Td": (2, _T.next_line),
    "TD": (2, _T.next_line_leading),
    "Tm": (6, _T.set_text_matrix),
    "BT": (None, _T.begin_text),
    "ET": (None, _T.ignore),
    "Tf": (None, _T.set_font),
    "T*": (None, _T.next_line_usual),
    "Tj": (None, _T.show_parts),
    "TJ": (None, _T.show_spaced),
    "'": (None, _T.show_on_next_line),
    '"': (None, _T.show_on_next_line_spaced),
}
