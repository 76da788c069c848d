"""How objects of a DXF document look: layer, colour, line type, by themselves, by layer or by block."""

from __future__ import annotations

import contextlib
from typing import Any, NamedTuple

from ezdxf.colors import aci2rgb, int2rgb
from ezdxf.document import Drawing as Document

_BY_BLOCK, _BY_LAYER = 0, 256
_FOREGROUND = 7
"""The colour that is white on black and black on white: paper is white."""


class Look(NamedTuple):
    """How an object looks.

    Parameters
    ----------
    layer
        Its name.
    shown
        Whether it shows.
    colour
        ``#rrggbb``.
    dashes
        Lengths of dashes and gaps in units of the drawing, empty for a line that goes through.
    opacity
        From 0 to 1.
    """

    layer: str = "0"
    shown: bool = True
    colour: str = "#000000"
    dashes: tuple[float, ...] = ()
    opacity: float = 1.0


class Looks:
    """Tells how the objects of a document look."""

    def __init__(self, document: Document) -> None:
        self._document = document
        self._scale = abs(float(document.header.get("$LTSCALE", 1.0))) or 1.0

    def of(self, thing: Any, block: Look | None) -> Look:
        """Return the look of an object; `block` is that of the reference to the block that it is in."""
        dxf = thing.dxf
        name = str(dxf.get("layer", "0"))
        if name == "0" and block is not None:
            name = block.layer
        layer = self._layer(name)
        shown = not dxf.get("invisible", 0) and (layer is None or (layer.is_on() and not layer.is_frozen()))
        return Look(
            name,
            shown and (block is None or block.shown),
            self._colour(thing, layer, block),
            self._dashes(thing, layer, block),
            self._opacity(thing, layer, block),
        )

    def _layer(self, name: str) -> Any:
        return self._document.layers.get(name) if name in self._document.layers else None

    def _colour(self, thing: Any, layer: Any, block: Look | None) -> str:
        dxf = thing.dxf
        if dxf.hasattr("true_color"):
            return _code(int2rgb(dxf.true_color))
        index = int(dxf.get("color", _BY_LAYER))
        if index == _BY_BLOCK:
            return block.colour if block is not None else "#000000"
        if index == _BY_LAYER:
            if layer is None:
                return "#000000"
            if layer.dxf.hasattr("true_color"):
                return _code(int2rgb(layer.dxf.true_color))
            index = int(layer.dxf.get("color", _FOREGROUND))
        return _indexed(abs(index))

    def _dashes(self, thing: Any, layer: Any, block: Look | None) -> tuple[float, ...]:
        name = str(thing.dxf.get("linetype", "BYLAYER")).upper()
        if name == "BYBLOCK":
            return block.dashes if block is not None else ()
        if name == "BYLAYER":
            name = str(layer.dxf.get("linetype", "CONTINUOUS")).upper() if layer is not None else "CONTINUOUS"
        if name not in self._document.linetypes:
            return ()
        scale = self._scale * (abs(float(thing.dxf.get("ltscale", 1.0))) or 1.0)
        pattern = self._document.linetypes.get(name).simplified_line_pattern()
        return tuple(abs(float(length)) * scale for length in pattern)

    def _opacity(self, thing: Any, layer: Any, block: Look | None) -> float:
        with contextlib.suppress(AttributeError, TypeError, ValueError):
            if thing.is_transparency_by_block:
                return block.opacity if block is not None else 1.0
            if not thing.is_transparency_by_layer:
                return min(max(1.0 - float(thing.transparency), 0.0), 1.0)
            return min(max(1.0 - float(layer.transparency), 0.0), 1.0)
        return 1.0


def _indexed(index: int) -> str:
    if index == _FOREGROUND or not 0 < index < _BY_LAYER:
        return "#000000"
    return _code(aci2rgb(index))


def _code(colour: tuple[int, int, int]) -> str:
    return "#" + "".join(f"{part & 255:02x}" for part in colour)
