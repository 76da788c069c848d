"""From a plan to paper: foundations, cutting list, fabric amounts, directions, and the sheets they are printed on.

*Foundation*: the paper that a unit is sewn on; it is printed mirrored, for the cloth lies on its other side. *Trim
line*: where paper and cloth are cut off after sewing, one allowance outside the unit. *Allowance*: the cloth beyond a
seam line. *Tick*: a mark across the allowance where seams from both sides of a join must meet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.pattern.cutting import build_cloths, build_cutting_list
    from seamtree.pattern.foundation import build_foundations
    from seamtree.pattern.pack import Options, Pack, make_pack, render_foundations, render_pack
    from seamtree.pattern.work import BlockWork, Setting, Work, build_work

__all__ = [
    "BlockWork",
    "Options",
    "Pack",
    "Setting",
    "Work",
    "build_cloths",
    "build_cutting_list",
    "build_foundations",
    "build_work",
    "make_pack",
    "render_foundations",
    "render_pack",
]

__getattr__ = lazy_names(
    __name__,
    {
        **dict.fromkeys(("build_cloths", "build_cutting_list"), "seamtree.pattern.cutting"),
        "build_foundations": "seamtree.pattern.foundation",
        **dict.fromkeys(
            ("Options", "Pack", "make_pack", "render_foundations", "render_pack"), "seamtree.pattern.pack"
        ),
        **dict.fromkeys(("BlockWork", "Setting", "Work", "build_work"), "seamtree.pattern.work"),
    },
)
