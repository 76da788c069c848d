"""Layers of PDF files: optional content, and what of it shows (ISO 32000-1, section 8.11)."""

from __future__ import annotations

from typing import Any

from pypdf.generic import DictionaryObject, IndirectObject

from seamtree.drawing.canvas import Frame, layer


class Layers:
    """The layers of a document and whether they show when it is opened.

    Parameters
    ----------
    catalog
        The root of the document.
    """

    def __init__(self, catalog: DictionaryObject) -> None:
        properties = _dictionary(catalog.get("/OCProperties"))
        usual = _dictionary(properties.get("/D"))
        self._off = usual.get("/BaseState") == "/OFF"
        self._told: dict[int, bool] = {}
        for key, shown in (("/ON", True), ("/OFF", False)):
            held = usual.get(key)
            held = held.get_object() if held is not None else None
            for each in held if isinstance(held, list) else ():
                if isinstance(each, IndirectObject):
                    self._told[each.idnum] = shown

    def frame(self, reference: Any) -> Frame | None:
        """Return the frame of a layer, None where there is none."""
        found = _dictionary(reference)
        if not found:
            return None
        if found.get("/Type") != "/OCMD":
            name = found.get("/Name")
            return layer(str(name) if name is not None else "layer", shown=self._shows(reference))
        groups = found.raw_get("/OCGs") if "/OCGs" in found else None
        held = groups.get_object() if groups is not None else None
        members = list(held) if isinstance(held, list) else [groups] if held is not None else []
        if not members:
            return None
        shown = [self._shows(each) for each in members]
        policy = found.get("/P", "/AnyOn")
        shows = {"/AllOn": all(shown), "/AnyOff": not all(shown), "/AllOff": not any(shown)}.get(policy, any(shown))
        names = " ".join(str(_dictionary(each).get("/Name", "layer")) for each in members)
        return layer(names, shown=shows)

    def _shows(self, reference: Any) -> bool:
        number = reference.idnum if isinstance(reference, IndirectObject) else -1
        return self._told.get(number, not self._off)


def _dictionary(value: Any) -> DictionaryObject:
    found = value.get_object() if value is not None else None
    return found if isinstance(found, DictionaryObject) else DictionaryObject()
