"""What is wrong with an argument, told with its name.

The functions that `seamtree` offers look at their arguments with these before they do anything; what is behind them
may then rely on types and ranges.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from numbers import Integral, Real
from typing import Any, TypeVar

from seamtree.errors import ArgumentTypeError, OptionError

_T = TypeVar("_T")


def instance(name: str, value: Any, kind: type[_T]) -> _T:
    """Return an argument that has to be an instance of a class.

    Raises
    ------
    ArgumentTypeError
        If it is none.
    """
    if not isinstance(value, kind):
        raise _wrong_type(name, f"{_article(kind.__name__)} {kind.__name__}", value)
    return value


def instances(name: str, value: Any, kind: type[_T], *, least: int = 1) -> tuple[_T, ...]:
    """Return an argument that has to be one instance of a class, or some of them.

    Raises
    ------
    ArgumentTypeError
        If it is anything else.
    OptionError
        If there are fewer than `least`.
    """
    if isinstance(value, kind):
        return (value,)
    wanted = f"{_article(kind.__name__)} {kind.__name__} or several"
    found = several(name, value)
    for entry in found:
        if not isinstance(entry, kind):
            raise _wrong_type(name, wanted, entry, among=True)
    if len(found) < least:
        raise OptionError(f"{name} must be {wanted}, not none", argument=name)
    return found


def several(name: str, value: Any) -> tuple[Any, ...]:
    """Return an argument that has to be a collection of things; text and mappings are taken for mistakes.

    Raises
    ------
    ArgumentTypeError
        If it is none.
    """
    if isinstance(value, str | bytes | Mapping) or not isinstance(value, Iterable):
        raise _wrong_type(name, "a collection", value)
    try:
        return tuple(value)
    except TypeError as error:  # classes, and arrays without dimensions, look as if they could be gone through
        raise _wrong_type(name, "a collection", value) from error


def flag(name: str, value: Any) -> bool:
    """Return an argument that has to be true or false.

    Raises
    ------
    ArgumentTypeError
        If it is something else.
    """
    if not isinstance(value, bool):
        raise _wrong_type(name, "True or False", value)
    return value


def real(name: str, value: Any) -> float:
    """Return an argument that has to be a number of any size, of Python's own kinds: it is kept as it is.

    Raises
    ------
    ArgumentTypeError
        If it is none.
    OptionError
        If it is beyond what a float can hold.
    """
    if not isinstance(value, int | float):
        raise _wrong_type(name, "a number", value)
    return _real(name, value, "a number")


def number(name: str, value: Any, *, least: float = 0.0, most: float = math.inf, unit: str = "") -> float:
    """Return an argument that has to be a number above 0, not below `least`, not above `most`, and finite.

    Raises
    ------
    ArgumentTypeError
        If it is no number.
    OptionError
        If it is out of range.
    """
    what = f"a number{unit and f' of {unit}'}"
    found = _real(name, value, what)
    if not (0 < found < math.inf and least <= found <= most):
        span = "above 0" if least == 0 else f"from {least:g}"
        span += "" if most == math.inf else f" to {most:,.0f}" if least else f", at most {most:,.0f}"
        raise OptionError(f"{name} must be {what} {span}, not {found:g}", argument=name)
    return found


def _real(name: str, value: Any, what: str) -> float:
    if isinstance(value, bool) or not isinstance(value, Real):
        raise _wrong_type(name, what, value)
    try:
        return float(value)
    except (OverflowError, ValueError) as error:  # whole numbers and fractions may be too large for a float
        raise OptionError(f"{name} must be {what}, not so large a one", argument=name) from error


def whole(name: str, value: Any, *, least: int, most: int) -> int:
    """Return an argument that has to be a whole number within a range.

    Raises
    ------
    ArgumentTypeError
        If it is no whole number.
    OptionError
        If it is out of range.
    """
    if isinstance(value, bool) or not isinstance(value, Integral):
        raise _wrong_type(name, "a whole number", value)
    found = int(value)
    if not least <= found <= most:
        raise OptionError(
            f"{name} must be a whole number from {least} to {most:,}, not {_short(found)}", argument=name
        )
    return found


def choice(name: str, value: Any, choices: Iterable[str]) -> str:
    """Return an argument that has to be one of some words.

    Raises
    ------
    ArgumentTypeError
        If it is no text.
    OptionError
        If it is another word.
    """
    found = text(name, value)
    known = tuple(choices)
    if found not in known:
        listed = ", ".join(map(repr, known))
        raise OptionError(f"{name} must be one of {listed}, not {_short(found)}", argument=name)
    return found


def text(name: str, value: Any) -> str:
    """Return an argument that has to be text.

    Raises
    ------
    ArgumentTypeError
        If it is none.
    """
    return instance(name, value, str)


def texts(name: str, value: Any) -> tuple[str, ...]:
    """Return an argument that has to be several texts; one text is taken for a mistake.

    Raises
    ------
    ArgumentTypeError
        If it is anything else.
    """
    found = several(name, value)
    for entry in found:
        if not isinstance(entry, str):
            raise _wrong_type(name, "a collection of texts", entry, among=True)
    return found


def _wrong_type(name: str, wanted: str, value: Any, *, among: bool = False) -> ArgumentTypeError:
    kind = "None" if value is None else f"{_article(type(value).__name__)} {type(value).__name__}"
    return ArgumentTypeError(f"{name} must be {wanted}, not {'with ' if among else ''}{kind}", argument=name)


def _short(value: str | int) -> str:
    try:
        return repr(value)[:40]
    except ValueError:  # Python writes no whole number of more than some thousand figures
        return "so large a number"


def _article(word: str) -> str:
    return "an" if word[:1].lower() in "aeiou" and not word.startswith("Uni") else "a"
