"""What a pattern is made of: blocks with their plans and copies, fabrics, a setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from seamtree.errors import OptionError
from seamtree.pattern.fabrics import Fabric, Fabrics, fabrics_of_blocks
from seamtree.planning.model import Plan

MOST_COPIES = 1000
"""More copies of a block are taken for a slip."""


@dataclass(frozen=True, slots=True)
class BlockWork:
    """A block of a pattern.

    Parameters
    ----------
    plan
        How it is sewn.
    title
        What it is called.
    copies
        How many are sewn.
    mirrored
        How many of them are mirror twins.
    """

    plan: Plan
    title: str
    copies: int = 1
    mirrored: int = 0

    def __post_init__(self) -> None:
        if not 1 <= self.copies <= MOST_COPIES:
            raise OptionError(f"copies of {self.title!r} must be 1 to {MOST_COPIES}, not {self.copies}")
        if not 0 <= self.mirrored <= self.copies:
            raise OptionError(
                f"{self.mirrored} of {self.title!r} cannot be mirrored, for only {self.copies} of it are sewn"
            )

    @property
    def plain(self) -> int:
        """How many are not mirrored."""
        return self.copies - self.mirrored


@dataclass(frozen=True, slots=True)
class Setting:
    """How blocks are put together; the keys and lengths (inches) of a pattern file."""

    across: int
    down: int
    sashing: float = 0.0
    borders: tuple[float, ...] = ()
    backing: bool = False
    binding: float = 0.0


@dataclass(frozen=True, slots=True)
class Work:
    """A pattern: its title, by-line and notes, blocks, fabrics, and the setting if there is one."""

    title: str
    blocks: tuple[BlockWork, ...]
    fabrics: Fabrics
    by: str = ""
    notes: str = ""
    setting: Setting | None = None


def build_work(
    blocks: Sequence[BlockWork],
    *,
    title: str,
    given: Sequence[Fabric] = (),
    by: str = "",
    notes: str = "",
    setting: Setting | None = None,
) -> Work:
    """Return a pattern of some blocks.

    Parameters
    ----------
    blocks
        At least one.
    title, by, notes
        What it is called, who made it, and what she has to say.
    given
        Fabrics that have a code and a name already.
    setting
        How the blocks are put together.

    Raises
    ------
    OptionError
        If the codes of the fabrics cannot be used.
    """
    fabrics = fabrics_of_blocks((block.plan.block for block in blocks), given)
    return Work(title, tuple(blocks), fabrics, by, notes, setting)
