"""What proofreading finds out about the numbers printed on a drawing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from seamtree.block.model import Block
from seamtree.errors import Finding, Point
from seamtree.words import count

_DECIMALS = 6


@dataclass(frozen=True, slots=True)
class Label:
    """The number of a patch.

    Parameters
    ----------
    unit
        Letters of the unit in capitals; empty where numbers stand alone.
    number
        Place in the sewing order of the unit.
    """

    unit: str
    number: int

    def __str__(self) -> str:
        return f"{self.unit}{self.number}"


@dataclass(frozen=True, slots=True)
class Renumbering:
    """The valid order of a unit that keeps the most printed numbers.

    Parameters
    ----------
    patches
        In the new sewing order.
    numbers
        The new number of each.
    changed
        How many patches get another number.
    least
        How many must get another number in any valid order; less than `changed` where the search was cut short.
    """

    patches: tuple[int, ...]
    numbers: tuple[int, ...]
    changed: int
    least: int

    @property
    def exact(self) -> bool:
        """Whether no valid order changes fewer numbers."""
        return self.changed == self.least


@dataclass(frozen=True, slots=True)
class PrintedUnit:
    """A unit as printed.

    Parameters
    ----------
    name
        Its letters; empty where numbers stand alone.
    patches
        In printed order; patches with the same number one after the other.
    chain
        Whether they can be sewn in this order, each with one straight step onto all before it.
    nearest
        The nearest valid order, if the printed one is none and there is one.
    meant
        Which of equal numbers is meant, where that can be told.
    """

    name: str
    patches: tuple[int, ...]
    chain: bool
    nearest: Renumbering | None = None
    meant: Finding | None = None

    @property
    def title(self) -> str:
        """How the unit is called in a sentence."""
        return f"unit {self.name}" if self.name else "the unit"


@dataclass(frozen=True, slots=True)
class PrintedJoin:
    """A straight seam between two sets of units, named in printed order, and the junctions along it."""

    parts: tuple[tuple[str, ...], tuple[str, ...]]
    path: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Proofreading:
    """What holds of the printed numbers of a block.

    Parameters
    ----------
    block
        The block.
    labels
        The label of every patch that has one.
    units
        The printed units, by name.
    joins
        Seams that join the units, in sewing order; only as far as straight seams do it.
    joins_checked
        Whether the joins could be looked at; not where it is unknown which patch belongs to which unit.
    refutations
        Everything that is wrong with the printed numbers.
    notes
        What else there is to say about the drawing.
    fewest_units
        Units of the best plan without hard corners; None if no such plan was found.
    least_units
        No plan has fewer units, without adding hard corners.
    """

    block: Block
    labels: Mapping[int, Label]
    units: tuple[PrintedUnit, ...]
    joins: tuple[PrintedJoin, ...]
    joins_checked: bool
    refutations: tuple[Finding, ...]
    notes: tuple[Finding, ...]
    fewest_units: int | None
    least_units: int

    def __repr__(self) -> str:
        proven = "proven" if self.proven else f"refuted, {count(len(self.refutations), 'fault')}"
        return f"<Proofreading of {self.block.name[:60]!r}: {proven}, {count(len(self.units), 'unit')}>"

    @property
    def proven(self) -> bool:
        """Whether the block can be sewn exactly as printed."""
        return not self.refutations

    @property
    def joined(self) -> bool:
        """Whether straight seams are known to join all units."""
        return self.joins_checked and len(self.joins) == len(self.units) - 1

    def to_json(self) -> dict[str, Any]:
        """Return the proof as plain data: places in inches from the top left corner of the block, y down."""
        block = self.block
        return {
            "name": block.name,
            "width": round(block.width, _DECIMALS),
            "height": round(block.height, _DECIMALS),
            "proven": self.proven,
            "units": [self._unit(unit) for unit in self.units],
            "joins": [
                {
                    "step": step,
                    "parts": [list(part) for part in join.parts],
                    "path": [_place(block.junctions[j]) for j in join.path],
                }
                for step, join in enumerate(self.joins, 1)
            ],
            "joins_checked": self.joins_checked,
            "refutations": [finding.to_json() for finding in self.refutations],
            "notes": [finding.to_json() for finding in self.notes],
            "fewest_units": self.fewest_units,
            "least_units": self.least_units,
        }

    def _unit(self, unit: PrintedUnit) -> dict[str, Any]:
        nearest = unit.nearest
        return {
            "name": unit.name,
            "patches": [str(self.labels[p]) for p in unit.patches],
            "chain": unit.chain,
            "nearest": nearest
            and {
                "changed": nearest.changed,
                "least": nearest.least,
                "renumber": [
                    {"from": str(old), "to": str(new), "at": _place(middle(self.block, p))}
                    for p, old, new in renumbered(self.labels, nearest)
                ],
            },
        }


def renumbered(labels: Mapping[int, Label], nearest: Renumbering) -> list[tuple[int, Label, Label]]:
    """List the patches that get another number, with the old label and the new one, by the old one."""
    changes = [
        (p, labels[p], Label(labels[p].unit, number))
        for p, number in zip(nearest.patches, nearest.numbers, strict=True)
        if labels[p].number != number
    ]
    return sorted(changes, key=lambda change: (change[1].number, change[2].number))


def middle(block: Block, patch: int) -> Point:
    """Return a place well inside a patch (inches)."""
    import shapely

    inside = shapely.Polygon(block.polygon(patch)).representative_point()
    return float(inside.x), float(inside.y)


def _place(at: Point) -> list[float]:
    return [round(v, _DECIMALS) for v in at]
