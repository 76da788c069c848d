"""What may be asked of a plan besides the order of merit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from seamtree.errors import OptionError
from seamtree.words import dimensions

if TYPE_CHECKING:
    from seamtree.block.largest import Size


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is asked of a plan.

    Parameters
    ----------
    largest
        Width and height (inches, finished size) that no unit may be larger than, turned by any angle.
    paper
        The paper that this is the room of; empty if it is just a size.
    repeats
        Whether fewer different foundations come before fewer units; every unit counts, single patches too.
    renumber
        Whether printed units and numbers that can be sewn give way to the best ones.

    Raises
    ------
    OptionError
        If a length makes no sense.
    """

    largest: Size | None = None
    paper: str = ""
    repeats: bool = False
    renumber: bool = False

    def __post_init__(self) -> None:
        if self.largest is not None and not all(0 < side < math.inf for side in self.largest):
            raise OptionError(
                "the largest foundation needs a width and a height above 0, "
                f"not {self.largest[0]:g} × {self.largest[1]:g} in"
            )

    @property
    def limit(self) -> str:
        """How large units may be, in words that follow ``units``; empty if any size is allowed."""
        if self.largest is None:
            return ""
        size = dimensions(*self.largest)
        return f"that a sheet of {self.paper} holds ({size})" if self.paper else f"no larger than {size}"

    def to_json(self) -> dict[str, Any]:
        """Return the wishes as plain data."""
        return {
            "largest": None if self.largest is None else list(self.largest),
            "paper": self.paper or None,
            "prefer": "repeats" if self.repeats else "units",
            "renumber": self.renumber,
        }


NO_WISHES = Wishes()

RENUMBERED = Wishes(renumber=True)
"""For plans that say what is the best, whatever is printed."""
