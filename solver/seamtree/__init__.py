"""Decide whether a patchwork drawing can be sewn on paper foundations, and on how few.

    import seamtree

    for block in seamtree.read("dinghy.svg"):
        plan = seamtree.plan(block)
        print(plan.verdict, plan.counts.units)

Everything that takes time to import waits until it is needed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.block.build import read
    from seamtree.block.model import Block
    from seamtree.planning.build import plan
    from seamtree.planning.model import Plan

__version__ = "0.1.0"

__all__ = ["Block", "Plan", "plan", "read"]

__getattr__ = lazy_names(
    __name__,
    {
        "Block": "seamtree.block.model",
        "Plan": "seamtree.planning.model",
        "plan": "seamtree.planning.build",
        "read": "seamtree.block.build",
    },
)
