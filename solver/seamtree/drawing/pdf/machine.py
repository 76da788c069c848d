"""What all operators of a PDF page need: the state, the resources and the groups that things are painted in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from pypdf.generic import DictionaryObject, NullObject

from seamtree.drawing.canvas import Canvas, Frame
from seamtree.drawing.pdf.colours import device_space
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.state import NOT_BLENDED, Ink, State


class Machine:
    """The state that operators change, and where they find what they name.

    Parameters
    ----------
    canvas
        What is painted on.
    source
        File name for messages.
    """

    def __init__(self, canvas: Canvas, source: str) -> None:
        grey = device_space(1)
        self._canvas = canvas
        self._source = source
        self._state = State((1.0, 0.0, 0.0, 1.0, 0.0, 0.0), Ink(grey, "#000000"), Ink(grey, "#000000"))
        self._resources: list[Any] = []
        self._marked: list[Frame | None] = []
        self._groups = 0

    def _numbers(self, name: str, operands: Sequence[Any], count: int) -> list[float]:
        if len(operands) != count:
            raise damaged(self._source, f"'{name}' stands after {len(operands)} values instead of {count}")
        return [self._number(name, value) for value in operands]

    def _number(self, name: str, value: Any) -> float:
        if not isinstance(value, (int, float)) or not math.isfinite(value):
            raise damaged(self._source, f"'{name}' stands after something that is no number")
        return float(value)

    def _find(self, category: str, name: Any) -> Any:
        """Return a resource, not resolved; None when there is none of that name."""
        for resources in reversed(self._resources):
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

    def _needed(self, category: str, operands: Sequence[Any]) -> Any:
        found = self._find(category, operands[0]) if len(operands) == 1 else None
        if found is None or isinstance(found.get_object(), NullObject):
            shown = ", ".join(str(each)[:30] for each in operands[:3])
            raise damaged(self._source, f"its page refers to {shown}, which it does not hold")
        return found

    def _frames(self, *, plain: bool = False) -> tuple[Frame, ...]:
        """Return the groups around what is painted now; in plain ones neither blending nor a mask counts."""
        state = self._state
        frames = (*(frame for frame in self._marked if frame is not None), *state.frames)
        if plain or not state.blends:
            return frames
        return (*frames, self._blended(1.0))

    def _blended(self, opacity: float) -> Frame:
        """Return the frame for what is painted through a mask, in a blend mode or see-through as a whole."""
        state = self._state
        attributes: list[tuple[str, str]] = []
        if opacity < 1.0:
            attributes.append(("opacity", repr(opacity)))
        if state.masked:
            attributes.append(("mask", f"url(#{self._canvas.mask()})"))
        if state.blend not in NOT_BLENDED:
            words = "".join(f"-{each.lower()}" if each.isupper() else each for each in state.blend[1:]).lstrip("-")
            attributes.append(("style", f"mix-blend-mode:{words}"))
        self._groups += 1
        return Frame("group", str(self._groups), tuple(attributes))
