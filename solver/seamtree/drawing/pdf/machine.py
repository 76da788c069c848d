"""What all operators of a PDF page need: the state, the resources and the groups that things are painted in.

Operators stand in tables (`Table`), beside the classes that have a method for each of them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from pypdf.generic import DictionaryObject, NullObject

from seamtree.drawing import limits
from seamtree.drawing.canvas import Canvas, Frame
from seamtree.drawing.pdf.colours import device_space
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.state import NOT_BLENDED, Ink, State

Table = Mapping[str, tuple[int | None, Callable[..., None]]]
"""Operators (ISO 32000-1, Annex A): how many numbers stand before each, or None where it takes its operands as they
come, in one sequence; and the method that does it."""

_MOST_STATES = 1000


class Machine:
    """The state that operators change, and where they find what they name.

    Parameters
    ----------
    canvas
        What is painted on.
    source
        File name for messages.

    Attributes
    ----------
    state
        What is painted with now.
    resources
        Of the page and of the forms that are being painted, the innermost last.
    marked
        Of marked content and of forms that are being painted: the layer of each, None where it is in none.
    """

    def __init__(self, canvas: Canvas, source: str) -> None:
        grey = device_space(1)
        self.canvas = canvas
        self.source = source
        self.state = State((1.0, 0.0, 0.0, 1.0, 0.0, 0.0), Ink(grey, "#000000"), Ink(grey, "#000000"))
        self.resources: list[Any] = []
        self.marked: list[Frame | None] = []
        self._groups = 0
        self._states: list[State] = []
        self._least_states = 0

    def save(self) -> None:
        """Keep the state."""
        if len(self._states) >= _MOST_STATES:
            limits.refuse(
                f"{self.source} nests graphics more than {_MOST_STATES} deep. Simplify the drawing.",
                source=self.source,
            )
        self._states.append(self.state.copy())

    def restore(self) -> None:
        """Take the state that was kept last."""
        # More of them than there are states do nothing, as in every viewer; forms keep those of their page.
        if len(self._states) > self._least_states:
            self.state = self._states.pop()

    @contextmanager
    def apart(self) -> Iterator[None]:
        """Let a form change states and marks as it likes: afterwards they are what they were."""
        outside, least, marked = self.state, self._least_states, len(self.marked)
        self.state = outside.copy()
        self._least_states = len(self._states)
        yield
        del self._states[self._least_states :], self.marked[marked:]
        self.state, self._least_states = outside, least

    def numbers(self, name: str, operands: Sequence[Any], count: int) -> list[float]:
        """Return the operands of an operator, which must be so many numbers."""
        if len(operands) != count:
            raise damaged(self.source, f"'{name}' stands after {len(operands)} values instead of {count}")
        return [self.number(name, value) for value in operands]

    def number(self, name: str, value: Any) -> float:
        """Return an operand of an operator, which must be a number."""
        if not isinstance(value, (int, float)) or not math.isfinite(value):
            raise damaged(self.source, f"'{name}' stands after something that is no number")
        return float(value)

    def find(self, category: str, name: Any) -> Any:
        """Return a resource, not resolved; None when there is none of that name."""
        for resources in reversed(self.resources):
            held = resources.get_object() if resources is not None else None
            named = held.get(category) if isinstance(held, DictionaryObject) else None
            named = named.get_object() if named is not None else None
            if isinstance(named, DictionaryObject):
                found = named.raw_get(name) if name in named else None
                if found is not None:
                    return found
            if isinstance(held, DictionaryObject):
                return None
        return None

    def needed(self, category: str, operands: Sequence[Any]) -> Any:
        """Return the resource that the operands name; a page that does not hold it is damaged."""
        found = self.find(category, operands[0]) if len(operands) == 1 else None
        if found is None or isinstance(found.get_object(), NullObject):
            shown = ", ".join(str(each)[:30] for each in operands[:3])
            raise damaged(self.source, f"its page refers to {shown}, which it does not hold")
        return found

    def frames(self, *, plain: bool = False) -> tuple[Frame, ...]:
        """Return the groups around what is painted now; in plain ones neither blending nor a mask counts."""
        state = self.state
        frames = (*(frame for frame in self.marked if frame is not None), *state.frames)
        if plain or not state.blends:
            return frames
        return (*frames, self.blended(1.0))

    def blended(self, opacity: float) -> Frame:
        """Return the frame for what is painted through a mask, in a blend mode or see-through as a whole."""
        state = self.state
        attributes: list[tuple[str, str]] = []
        if opacity < 1.0:
            attributes.append(("opacity", repr(opacity)))
        if state.masked:
            attributes.append(("mask", f"url(#{self.canvas.mask()})"))
        if state.blend not in NOT_BLENDED:
            words = "".join(f"-{each.lower()}" if each.isupper() else each for each in state.blend[1:]).lstrip("-")
            attributes.append(("style", f"mix-blend-mode:{words}"))
        self._groups += 1
        return Frame("group", str(self._groups), tuple(attributes))


def entries(value: Any) -> list[Any]:
    """Return what stands in an array; nothing where there is none."""
    return [each.get_object() for each in value] if isinstance(value, list) else []
