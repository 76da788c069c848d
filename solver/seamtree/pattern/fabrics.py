"""The fabrics of a pattern: a code and a name for each, and what in the drawings it stands for.

A code is printed in every patch beside its number, so it must look like neither: unit letters are capitals (``A``,
``AB``), numbers are figures. Codes made here are a capital and a small letter of the name (``Sb`` for sky blue).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain, combinations, count
from typing import TYPE_CHECKING

from seamtree.errors import OptionError
from seamtree.fabric import fabric_rgb, fabric_words
from seamtree.words import one_line

if TYPE_CHECKING:
    from seamtree.block.model import Block

BLANK = "____"
"""Stands for code and name of a fabric that the drawing does not give: to be written in by hand."""

LONGEST_CODE = 4
"""Letters and figures of a code, at most: it has to fit into small patches."""

_LIKE_A_UNIT = re.compile(r"[A-Z]+[0-9]*|[0-9]+|[a-z]{1,2}", re.ASCII)
"""Letters of units and numbers of patches, bare figures, and the letters that mark the parts of a unit."""


@dataclass(frozen=True, slots=True)
class Fabric:
    """A fabric of a pattern.

    Parameters
    ----------
    code, name
        What is printed in patches; what it is called.
    colours
        The fabrics of the drawings that it stands for; None for patches without fill.
    width
        Its own usable width, inches; None for that of all fabrics.
    """

    code: str
    name: str
    colours: tuple[str | None, ...]
    width: float | None = None

    @property
    def colour(self) -> str | None:
        """Its colour as ``#rrggbb``, None where no drawing gives one."""
        return next((colour for colour in self.colours if fabric_rgb(colour) is not None), None)

    @property
    def known(self) -> bool:
        """Whether there is a code; else there is a line to write on."""
        return self.code != BLANK

    @property
    def words(self) -> str:
        """Code and name."""
        return f"{self.code} {self.name}" if self.known else self.name


@dataclass(frozen=True, slots=True)
class Fabrics:
    """All fabrics of a pattern, in the order of their names; `of` finds one by what it is in a drawing."""

    all: tuple[Fabric, ...]
    _by_colour: dict[str | None, Fabric] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        by_colour = {colour: fabric for fabric in self.all for colour in fabric.colours}
        object.__setattr__(self, "_by_colour", by_colour)

    def of(self, colour: str | None) -> Fabric:
        """Return the fabric that stands for one of a drawing."""
        return self._by_colour[colour]

    def used(self, colours: Iterable[str | None]) -> tuple[Fabric, ...]:
        """Return the fabrics that stand for some of a drawing, in the order of all."""
        wanted = {self.of(colour).code for colour in colours}
        return tuple(fabric for fabric in self.all if fabric.code in wanted)


def check_code(code: str) -> str | None:
    """Return what is wrong with a code, in words; None if nothing is."""
    if not code or len(code) > LONGEST_CODE or one_line(code) != code or " " in code:
        return f"a code is 1 to {LONGEST_CODE} letters or figures without a space, not {code!r}"
    if _LIKE_A_UNIT.fullmatch(code):
        return f"the code {code!r} can be taken for a unit, a patch or a part; write one like Nb or N1b"
    return None


def build_fabrics(
    colours: Iterable[str | None], given: Sequence[Fabric] = (), names: Iterable[tuple[str, str]] = ()
) -> Fabrics:
    """Return a fabric for everything that drawings are filled with.

    Parameters
    ----------
    colours
        Fabrics of all patches: ``#rrggbb``, a name or id of the drawing, or None.
    given
        Those that have a code and a name already; they may stand for several of a drawing.
    names
        Fabrics of which drawings say how they are called, with their names.

    Raises
    ------
    OptionError
        If a given code cannot be used, or two have the same, or two fabrics stand for the same.
    """
    used = set(colours)
    codes: set[str] = set()
    taken: set[str | None] = set()
    for fabric in given:
        wrong = check_code(fabric.code)
        if wrong is not None:
            raise OptionError(wrong)
        if fabric.code.casefold() in codes:
            raise OptionError(f"two fabrics have the code {fabric.code!r}")
        both = taken.intersection(fabric.colours)
        if both:
            raise OptionError(f"two fabrics stand for {min(map(str, both))!r}")
        codes.add(fabric.code.casefold())
        taken.update(fabric.colours)
    words = fabric_words(used, names)
    made = []
    for colour in sorted(used - taken - {None}, key=lambda c: (words[c], c or "")):
        name = one_line(words[colour])
        code = next(c for c in _codes(name) if c.casefold() not in codes and check_code(c) is None)
        codes.add(code.casefold())
        made.append(Fabric(code, name, (colour,)))
    everything = [*given, *made]
    if None in used - taken:
        everything.append(Fabric(BLANK, BLANK, (None,)))
    return Fabrics(tuple(sorted(everything, key=lambda fabric: (not fabric.known, fabric.name, fabric.code))))


def fabrics_of_blocks(blocks: Iterable[Block], given: Sequence[Fabric] = ()) -> Fabrics:
    """Return the fabrics of some blocks, as `build_fabrics` does."""
    several = tuple(blocks)
    colours = (patch.fabric for block in several for patch in block.patches)
    return build_fabrics(colours, given, (pair for block in several for pair in block.fabric_names))


def _codes(name: str) -> Iterator[str]:
    """Yield codes for a name, the best ones first: letters of the name, then with figures."""
    words = [letters for letters in ("".join(c for c in word if c.isalnum()) for word in name.split()) if letters]
    if not words:
        words = ["x"]
    first = words[0][0]
    if not first.isalpha():
        first = f"x{first}"
    elif first.upper() != first.lower():  # a script with capitals
        first = first.upper()[0]
    rest = chain((word[0] for word in words[1:]), words[-1][1:], words[0][1:])
    seconds = dict.fromkeys(letter.lower() for letter in rest if letter.isalpha() and len(letter.lower()) == 1)
    # Letters that look like others come last.
    clear = sorted(seconds, key=lambda letter: letter in "ilo")
    yield from (first + second for second in clear)
    yield from (first + second + third for second, third in combinations(clear, 2))
    # A small letter with a figure may look like a patch: l1 like I1.
    low = first.lower() if first.lower() not in "ilo" else "x"
    yield from (f"{low}{number}" for number in count(1))
