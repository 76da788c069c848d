"""A pack as JSON, schema ``seamtree-pack/1``; lengths in inches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from seamtree.pattern.cutting import FabricCuts
from seamtree.pattern.pack import Pack, PrintedUnits

SCHEMA = "seamtree-pack/1"


def pack_json(pack: Pack) -> dict[str, Any]:
    """Return what was packed as plain data."""
    blocks = pack.work.blocks
    sheets = sum(len(units.sheets) for units in pack.printed)
    return {
        "schema": SCHEMA,
        "title": pack.work.title,
        "pages": pack.pages,
        "sheets": sheets,
        "sheets_to_print": sum(len(units.sheets) * units.times for units in pack.printed),
        "pieces": [
            {
                "block": blocks[cloth.block].title,
                "patch": cloth.piece.patch,
                "fabric": cloth.fabric.code if cloth.fabric.known else None,
                "copies": cloth.copies,
                "along": _length(cloth.piece.along),
                "deep": _length(cloth.piece.deep),
                "exact": cloth.piece.shape == "exact",
                "shape": cloth.piece.shape,
                "square": _length(cloth.piece.side) if cloth.piece.side else None,
            }
            for cloth in pack.cloths
        ],
        "fabrics": [_fabric(cut) for cut in pack.cuts],
        "units": [entry for units in pack.printed for entry in _units(pack, units)],
    }


def _length(inches: float) -> float:
    """Return a length without the dust of rounding."""
    return round(inches, 6)


def _fabric(cut: FabricCuts) -> dict[str, Any]:
    fabric, amount = cut.fabric, cut.amount
    return {
        "code": fabric.code if fabric.known else None,
        "name": fabric.name if fabric.known else None,
        "colours": list(fabric.colours),
        "amount_in": _length(amount.length),
        "buy": {"yards": amount.eighths / 8, "centimetres": amount.centimetres, "fat": amount.fat},
        "too_wide": [piece.name for piece in amount.too_wide],
    }


def _units(pack: Pack, units: PrintedUnits) -> Iterator[dict[str, Any]]:
    """Yield every unit with the first sheet that it is on, counted from 1 over the sheets of its block."""
    seen = set()
    block = pack.work.blocks[units.block]
    for number, sheet in enumerate(units.sheets, 1):
        for placement in sheet.placements:
            panel = placement.panel
            if panel.foundation.unit in seen:
                continue
            seen.add(panel.foundation.unit)
            yield {
                "block": block.title,
                "name": panel.foundation.unit,
                "copies": block.mirrored if units.twin else block.plain,
                "mirrored": units.twin,
                "sheet": number,
                "taped": not panel.whole,
            }
