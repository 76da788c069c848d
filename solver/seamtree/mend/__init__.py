"""Mending: the smallest change of a drawing that makes it sewable with straight seams.

from seamtree.mend import mend

for block in seamtree.read("dinghy.svg"):
    mending = mend(block)
    print(mending.best.verdict, mending.to_json())
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from seamtree.mend.find import mend
    from seamtree.mend.model import Alternative, Mending

__all__ = ["Alternative", "Mending", "mend"]

_HOMES = {
    "Alternative": "seamtree.mend.model",
    "Mending": "seamtree.mend.model",
    "mend": "seamtree.mend.find",
}


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'seamtree.mend' has no attribute {name!r}")
    from importlib import import_module

    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value
