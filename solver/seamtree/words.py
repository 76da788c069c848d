"""Numbers in plain words."""

from __future__ import annotations


def inches(value: float) -> str:
    """Return a length as a decimal with at most two places: ``8``, ``4.25``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def count(number: int, noun: str, plural: str | None = None) -> str:
    """Return a number with its noun in the right form: ``no joins``, ``1 join``, ``2 joins``."""
    figure = f"{number:,}" if number else "no"
    return f"{figure} {noun if number == 1 else plural or noun + 's'}"
