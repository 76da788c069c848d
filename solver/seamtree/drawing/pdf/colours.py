"""Colour spaces of PDF as fabrics: a colour ``#rrggbb``, or the name of an ink, a gradient or a pattern.

ISO 32000-1, sections 8.6 (colour spaces), 7.10 (functions) and 10.3 (conversions between the device spaces).
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject, NullObject, StreamObject

Colour = tuple[float, float, float]

_COMPONENTS = {
    "/DeviceGray": 1,
    "/CalGray": 1,
    "/G": 1,
    "/DeviceRGB": 3,
    "/CalRGB": 3,
    "/RGB": 3,
    "/DeviceCMYK": 4,
    "/CMYK": 4,
}
_MOST_DEPTH = 8


class Space(NamedTuple):
    """A colour space.

    Parameters
    ----------
    components
        How many numbers a colour of it has; -1 for patterns.
    paint
        Gives the fabric of a colour.
    initial
        The colour that holds when the space is chosen.
    """

    components: int
    paint: Callable[[Sequence[float]], str]
    initial: tuple[float, ...]


class ColourError(ValueError):
    """A colour space or a colour makes no sense; the message is the end of a sentence."""


def code(colour: Colour) -> str:
    """Return ``#rrggbb`` for red, green and blue from 0 to 1."""
    return "#" + "".join(f"{round(255 * min(max(part, 0.0), 1.0)):02x}" for part in colour)


def device_colour(numbers: Sequence[float]) -> Colour:
    """Return red, green and blue of a grey, a colour of three or one of four inks (ISO 32000-1, 10.3)."""
    if len(numbers) == 1:
        return (numbers[0],) * 3
    if len(numbers) == 3:
        return (numbers[0], numbers[1], numbers[2])
    cyan, magenta, yellow, black = numbers
    return (1 - min(1.0, cyan + black), 1 - min(1.0, magenta + black), 1 - min(1.0, yellow + black))


def device_space(components: int) -> Space:
    """Return the grey, RGB or CMYK space."""
    initial = (0.0, 0.0, 0.0, 1.0) if components == 4 else (0.0,) * components
    return Space(components, lambda numbers: code(device_colour(numbers)), initial)


def read_space(spec: Any, resources: Callable[[str], Any], depth: int = 0) -> Space:
    """Return the colour space that a name or an array describes.

    Parameters
    ----------
    spec
        The object.
    resources
        Gives the colour space with a name among the resources, or None.

    Raises
    ------
    ColourError
        When it is none.
    """
    spec = spec.get_object() if spec is not None else None
    if depth > _MOST_DEPTH:
        raise ColourError("has colour spaces inside one another without end")
    if isinstance(spec, str):
        if spec in _COMPONENTS:
            return device_space(_COMPONENTS[spec])
        if spec == "/Pattern":
            return Space(-1, lambda _: "", ())
        named = resources(spec)
        if named is None:
            raise ColourError(f"refers to the colour space {spec}, which it does not hold")
        return read_space(named, lambda _: None, depth + 1)
    if not isinstance(spec, ArrayObject) or not spec:
        raise ColourError("has a colour space that is none")
    parts = [part.get_object() for part in spec]
    reader = _READERS.get(str(parts[0]))
    if reader is None:
        return read_space(parts[0], resources, depth + 1)
    return reader(parts, resources, depth)


def _icc(parts: list[Any], resources: Callable[[str], Any], depth: int) -> Space:
    profile = _part(parts, 1)
    components = profile.get("/N") if isinstance(profile, StreamObject) else None
    if components in (1, 3, 4):
        return device_space(int(components))
    if isinstance(profile, StreamObject) and "/Alternate" in profile:
        return read_space(profile["/Alternate"], resources, depth + 1)
    raise ColourError("has a colour profile that is none")


def _lab(parts: list[Any], _resources: Callable[[str], Any], _depth: int) -> Space:
    described = _part(parts, 1)
    white = _numbers(described.get("/WhitePoint"), 3) if isinstance(described, DictionaryObject) else ()
    if len(white) != 3:
        raise ColourError("has a Lab colour space without a white point")
    return Space(3, lambda numbers: code(_from_lab(numbers, white)), (0.0, 0.0, 0.0))


def _from_lab(numbers: Sequence[float], white: Sequence[float]) -> Colour:
    """Return the sRGB colour of CIE L*a*b* (CIE 15; the matrix and the curve of IEC 61966-2-1, for its own white)."""
    middle = (numbers[0] + 16) / 116
    shares = (middle + numbers[1] / 500, middle, middle - numbers[2] / 200)
    x, y, z = (v**3 if v >= 6 / 29 else 108 / 841 * (v - 4 / 29) for v in shares)
    x, y, z = x * 0.9505, y * white[1], z * 1.089
    linear = (
        3.2406 * x - 1.5372 * y - 0.4986 * z,
        -0.9689 * x + 1.8758 * y + 0.0415 * z,
        0.0557 * x - 0.2040 * y + 1.0570 * z,
    )
    red, green, blue = (12.92 * v if v <= 0.0031308 else 1.055 * v ** (1 / 2.4) - 0.055 for v in linear)
    return (red, green, blue)


def _indexed(parts: list[Any], resources: Callable[[str], Any], depth: int) -> Space:
    base = read_space(_part(parts, 1), resources, depth + 1)
    table = _part(parts, 3)
    raw = table.get_data() if isinstance(table, StreamObject) else getattr(table, "original_bytes", table)
    if not isinstance(raw, bytes) or base.components < 1:
        raise ColourError("has an indexed colour space without colours")

    def paint(numbers: Sequence[float]) -> str:
        start = max(0, int(numbers[0])) * base.components
        colour = raw[start : start + base.components]
        if len(colour) < base.components:
            raise ColourError("uses a colour that its table does not hold")
        return base.paint([part / 255 for part in colour])

    return Space(1, paint, (0.0,))


def _inks(parts: list[Any], resources: Callable[[str], Any], depth: int) -> Space:
    """Return a space of one or more inks; what it looks like is told by a function into another space."""
    names = _part(parts, 1)
    inks = [str(each.get_object()) for each in names] if isinstance(names, list) else [str(names)]
    other = read_space(_part(parts, 2), resources, depth + 1)
    function = read_function(_part(parts, 3))

    def paint(numbers: Sequence[float]) -> str:
        if function is None:
            return ink_name(inks, numbers)
        colour = function(numbers)
        if len(colour) != other.components:
            raise ColourError("has an ink whose colour is not told")
        return other.paint(colour)

    return Space(len(inks), paint, (1.0,) * len(inks))


def ink_name(inks: Sequence[str], shares: Sequence[float]) -> str:
    """Return a name for a mixture of inks, in letters that an id may have."""
    used = [f"{ink.removeprefix('/')}-{round(100 * share)}" for ink, share in zip(inks, shares, strict=True) if share]
    return re.sub(r"[^\w-]+", "-", "-".join(used) or "no-ink")


_READERS: dict[str, Callable[[list[Any], Callable[[str], Any], int], Space]] = {
    "/ICCBased": _icc,
    "/Lab": _lab,
    "/Indexed": _indexed,
    "/I": _indexed,
    "/Separation": _inks,
    "/DeviceN": _inks,
    "/CalGray": lambda *_: device_space(1),
    "/CalRGB": lambda *_: device_space(3),
    "/Pattern": lambda parts, resources, depth: Space(
        -1, read_space(parts[1], resources, depth + 1).paint if len(parts) > 1 else lambda _: "", ()
    ),
}


def _part(parts: list[Any], index: int) -> Any:
    if index >= len(parts):
        raise ColourError("has a colour space that is not complete")
    return parts[index]


def _numbers(value: Any, most: int = 64) -> tuple[float, ...]:
    value = value.get_object() if value is not None else None
    if not isinstance(value, list):
        return ()
    return tuple(float(each.get_object()) for each in value[:most])


Function = Callable[[Sequence[float]], Sequence[float]]


def read_function(spec: Any) -> Function | None:
    """Return a function of inks that is a table or a power; None for programs and for what is none."""
    spec = spec.get_object() if spec is not None else None
    kind = spec.get("/FunctionType") if isinstance(spec, DictionaryObject) else None
    if kind == 2:
        start, end = _numbers(spec.get("/C0")) or (0.0,), _numbers(spec.get("/C1")) or (1.0,)
        power = float(spec.get("/N", 1))
        return lambda x: [a + _power(x[0], power) * (b - a) for a, b in zip(start, end, strict=False)]
    if kind == 0 and isinstance(spec, StreamObject):
        return _table(spec)
    return None


def _power(x: float, power: float) -> float:
    try:
        return float(max(x, 0.0) ** power)
    except (ArithmeticError, ValueError):
        return 0.0


def _table(spec: StreamObject) -> Function | None:
    """Return a function of one number that is a table of samples of 8 bits."""
    sizes, ranges = _numbers(spec.get("/Size")), _numbers(spec.get("/Range"))
    outputs = len(ranges) // 2
    if len(sizes) != 1 or spec.get("/BitsPerSample") != 8 or not outputs or not 1 < sizes[0] < 1e6:
        return None
    data, last = spec.get_data(), int(sizes[0]) - 1
    if len(data) < (last + 1) * outputs:
        return None
    decode = _numbers(spec.get("/Decode")) or ranges

    def look_up(x: Sequence[float]) -> list[float]:
        place = min(max(x[0], 0.0), 1.0) * last
        low = min(math.floor(place), last)
        high, share = min(low + 1, last), place - low
        samples = [(1 - share) * data[low * outputs + k] + share * data[high * outputs + k] for k in range(outputs)]
        return [decode[2 * k] + value / 255 * (decode[2 * k + 1] - decode[2 * k]) for k, value in enumerate(samples)]

    return look_up


def fingerprint(value: Any, depth: int = 0) -> str:
    """Return a short text that is equal for objects that say the same, references followed."""
    return hashlib.sha256(_spelt(value, depth).encode()).hexdigest()[:8]


def _spelt(value: Any, depth: int) -> str:
    if isinstance(value, IndirectObject):
        value = value.get_object()
    if depth > _MOST_DEPTH or value is None or isinstance(value, NullObject):
        return "-"
    if isinstance(value, StreamObject):
        return _spelt(DictionaryObject(value), depth + 1) + hashlib.sha256(value.get_data()).hexdigest()
    if isinstance(value, DictionaryObject):
        return "<" + " ".join(f"{key} {_spelt(value.get(key), depth + 1)}" for key in sorted(value)) + ">"
    if isinstance(value, list):
        return "[" + " ".join(_spelt(each, depth + 1) for each in value[:1000]) + "]"
    return repr(value)
