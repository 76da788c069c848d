"""Mending: the smallest change of a drawing that makes it sewable with straight seams.

from seamtree.mending import mend

for block in seamtree.read("dinghy.svg"):
    mending = mend(block)
    print(mending.best.verdict, mending.to_json())
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.mending.find import mend
    from seamtree.mending.model import Alternative, Mending

__all__ = ["Alternative", "Mending", "mend"]

__getattr__ = lazy_names(
    __name__,
    {
        "Alternative": "seamtree.mending.model",
        "Mending": "seamtree.mending.model",
        "mend": "seamtree.mending.find",
    },
)
