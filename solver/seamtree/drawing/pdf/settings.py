"""Operators that set how things are painted: frame, lines, opacity, colours (ISO 32000-1, sections 8.4 and 8.6)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from operator import attrgetter
from typing import Any

from pypdf.generic import DictionaryObject

from seamtree.drawing.affine import compose
from seamtree.drawing.pdf.colours import ColourError, device_space, fingerprint, read_space
from seamtree.drawing.pdf.faults import damaged
from seamtree.drawing.pdf.machine import Machine, Table, entries
from seamtree.drawing.pdf.state import BLEND_MODES, Ink


class Settings:
    """Has a method for every operator that sets the frame, lines and opacity.

    Parameters
    ----------
    machine
        What is set.
    """

    def __init__(self, machine: Machine) -> None:
        self._machine = machine

    def save(self) -> None:
        """Keep the state."""
        self._machine.save()

    def restore(self) -> None:
        """Take the state that was kept last."""
        self._machine.restore()

    def transform(self, *numbers: float) -> None:
        """Change the frame of coordinates."""
        a, b, c, d, e, f = numbers
        self._machine.state.matrix = compose(self._machine.state.matrix, (a, b, c, d, e, f))

    def set_width(self, width: float) -> None:
        """Set the width of lines."""
        self._machine.state.width = abs(width)

    def set_cap(self, cap: float) -> None:
        """Set the ends of lines."""
        self._machine.state.cap = int(cap)

    def set_join(self, join: float) -> None:
        """Set the corners of lines."""
        self._machine.state.join = int(join)

    def set_miter(self, miter: float) -> None:
        """Set how far corners of lines may reach."""
        self._machine.state.miter = miter

    def set_dashes(self, operands: Sequence[Any]) -> None:
        """Set the dashes of lines."""
        if len(operands) != 2 or not isinstance(operands[0], list):
            raise damaged(self._machine.source, "dashes are set without an array")
        self._machine.state.dashes = tuple(self._machine.number("d", each.get_object()) for each in operands[0])

    def set_look(self, operands: Sequence[Any]) -> None:
        """Set what a dictionary of graphics parameters says."""
        look = self._machine.needed("/ExtGState", operands).get_object()
        if not isinstance(look, DictionaryObject):
            raise damaged(self._machine.source, "a graphics state is none")
        state = self._machine.state
        for key, take in (("/LW", self.set_width), ("/LC", self.set_cap), ("/LJ", self.set_join)):
            if key in look:
                take(self._machine.number("gs", look[key]))
        if "/D" in look:
            self.set_dashes(list(entries(look["/D"])))
        for key, ink in (("/ca", state.fill), ("/CA", state.stroke)):
            if key in look:
                ink.opacity = min(max(self._machine.number("gs", look[key]), 0.0), 1.0)
        if "/BM" in look:
            modes = look["/BM"] if isinstance(look["/BM"], list) else [look["/BM"]]
            names = (str(mode.get_object()) for mode in modes)
            state.blend = next((name for name in names if name in BLEND_MODES), "/Normal")
        if "/SMask" in look:
            state.masked = isinstance(look["/SMask"], DictionaryObject)

    def ignore(self, *_: Any) -> None:
        """Do nothing: it tells nothing of a drawing."""


class Inks:
    """Has a method for every operator that chooses a colour, a gradient or a pattern.

    Parameters
    ----------
    machine
        What is set.
    """

    def __init__(self, machine: Machine) -> None:
        self._machine = machine

    @property
    def fill(self) -> Ink:
        """What fills are painted with."""
        return self._machine.state.fill

    @property
    def stroke(self) -> Ink:
        """What lines are painted with."""
        return self._machine.state.stroke

    def _named_space(self, name: str) -> Any:
        return self._machine.find("/ColorSpace", name)

    def set_space(self, operands: Sequence[Any], ink: Ink) -> None:
        """Choose a colour space."""
        try:
            space = read_space(operands[0] if len(operands) == 1 else None, self._named_space)
            ink.space, ink.paint = space, space.paint(space.initial) if space.initial else "none"
        except ColourError as error:
            raise damaged(self._machine.source, f"it {error}") from error

    def set_colour(self, operands: Sequence[Any], ink: Ink) -> None:
        """Choose a colour or a pattern."""
        if ink.space.components < 0:
            self._set_pattern(operands, ink)
            return
        numbers = self._machine.numbers("sc", operands, ink.space.components)
        try:
            ink.paint = ink.space.paint(numbers)
        except ColourError as error:
            raise damaged(self._machine.source, f"it {error}") from error
        if not ink.paint.startswith("#"):
            ink.paint = self._machine.canvas.fabric(ink.paint)

    def _set_pattern(self, operands: Sequence[Any], ink: Ink) -> None:
        pattern = self._machine.needed("/Pattern", operands[-1:]).get_object()
        if not isinstance(pattern, DictionaryObject):
            raise damaged(self._machine.source, "a pattern is none")
        if pattern.get("/PatternType") == 2:
            ink.paint = self.gradient(pattern.get("/Shading"))
            return
        colour = ""
        if len(operands) > 1:
            colour = "-" + ink.space.paint([self._machine.number("scn", each) for each in operands[:-1]]).lstrip("#")
        ink.paint = self._machine.canvas.fabric(f"pattern-{fingerprint(pattern)}{colour}")

    def gradient(self, shading: Any) -> str:
        """Return the paint for a gradient."""
        described = shading.get_object() if shading is not None else None
        if not isinstance(described, DictionaryObject):
            raise damaged(self._machine.source, "a gradient is none")
        colours = {
            key: described.get(key) for key in ("/ShadingType", "/ColorSpace", "/Function") if key in described
        }
        return self._machine.canvas.fabric(f"gradient-{fingerprint(DictionaryObject(colours))}")

    def set_device(self, ink: Ink, numbers: Sequence[float]) -> None:
        """Choose a grey, an RGB or a CMYK colour."""
        ink.space = device_space(len(numbers))
        ink.paint = ink.space.paint(numbers)


_S = Settings

SETTINGS: Table = {
    "q": (0, _S.save),
    "Q": (0, _S.restore),
    "cm": (6, _S.transform),
    "w": (1, _S.set_width),
    "J": (1, _S.set_cap),
    "j": (1, _S.set_join),
    "M": (1, _S.set_miter),
    "i": (1, _S.ignore),
    "d": (None, _S.set_dashes),
    "gs": (None, _S.set_look),
    "ri": (None, _S.ignore),
    "d0": (2, _S.ignore),
    "d1": (6, _S.ignore),
}


def _device(ink: Callable[[Inks], Ink]) -> Callable[..., None]:
    return lambda inks, *numbers: inks.set_device(ink(inks), numbers)


def _space(ink: Callable[[Inks], Ink]) -> Callable[..., None]:
    return lambda inks, operands: inks.set_space(operands, ink(inks))


def _colour(ink: Callable[[Inks], Ink]) -> Callable[..., None]:
    return lambda inks, operands: inks.set_colour(operands, ink(inks))


_FILL, _STROKE = attrgetter("fill"), attrgetter("stroke")

INKS: Table = {
    "g": (1, _device(_FILL)),
    "rg": (3, _device(_FILL)),
    "k": (4, _device(_FILL)),
    "G": (1, _device(_STROKE)),
    "RG": (3, _device(_STROKE)),
    "K": (4, _device(_STROKE)),
    "cs": (None, _space(_FILL)),
    "CS": (None, _space(_STROKE)),
    "sc": (None, _colour(_FILL)),
    "SC": (None, _colour(_STROKE)),
    "scn": (None, _colour(_FILL)),
    "SCN": (None, _colour(_STROKE)),
}
