"""Decide whether a patchwork drawing can be sewn on paper foundations, and on how few.

    import seamtree

    for block in seamtree.read("dinghy.svg"):
        plan = seamtree.plan(block)
        print(plan.verdict, plan.counts.units)

`read` makes blocks of a drawing, `plan` finds how a block is sewn, `explain` tells why it takes so many units,
`check_proof` checks the proof of a plan. `mend` finds the smallest change of a drawing that straight seams can sew,
`proofread` proves the numbers printed on it,
`rate` tells how hard a block is, `pack` prints a pattern, `render_svg` and `render_png` draw a plan, `audit` goes
through a whole catalogue. Every answer is a frozen object; `to_json` of it is plain data whose layout
`seamtree.schemas` describes.

Places are inches from the top left corner of a block, x to the right and y down, seen from the fabric side.
Everything that takes time to import waits until it is needed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.auditing.record import Record
    from seamtree.auditing.record import Settings as AuditSettings
    from seamtree.auditing.run import Limits as AuditLimits
    from seamtree.block.build import block_from_polygons
    from seamtree.block.model import Block, Edge, Patch
    from seamtree.block.sketch import Sketch
    from seamtree.errors import (
        ArgumentTypeError,
        DrawingError,
        Finding,
        LimitError,
        OptionError,
        ProofError,
        ProofFileError,
        ReplayError,
        SeamtreeError,
    )
    from seamtree.front import (
        audit,
        check_proof,
        explain,
        mend,
        pack,
        plan,
        proofread,
        rate,
        read,
        render_png,
        render_svg,
        sketch,
    )
    from seamtree.mending.model import Mending
    from seamtree.pattern.pack import Options as PackOptions
    from seamtree.pattern.pack import Pack
    from seamtree.picture.draw import Look
    from seamtree.planning.explain import Explanation
    from seamtree.planning.model import Counts, HardCorner, Join, Plan, Seam, Unit
    from seamtree.proofreading.outcome import Proofreading
    from seamtree.proofs.check import Checked
    from seamtree.proofs.claims import Proof
    from seamtree.rating.judgement import Rating
    from seamtree.rating.scale import Scale
    from seamtree.remedies import Remedy

__version__ = "0.1.0"

_ROOMS = (
    "auditing",
    "block",
    "drawing",
    "errors",
    "mending",
    "pattern",
    "picture",
    "planning",
    "proofreading",
    "proofs",
    "rating",
    "schemas",
)

_HOMES = {
    **dict.fromkeys(
        (
            *("audit", "check_proof", "explain", "mend", "pack", "plan"),
            *("proofread", "rate", "read", "render_png", "render_svg", "sketch"),
        ),
        "seamtree.front",
    ),
    "block_from_polygons": "seamtree.block.build",
    **dict.fromkeys(("Block", "Edge", "Patch"), "seamtree.block.model"),
    **dict.fromkeys(("Counts", "HardCorner", "Join", "Plan", "Seam", "Unit"), "seamtree.planning.model"),
    "Explanation": "seamtree.planning.explain",
    "Mending": "seamtree.mending.model",
    "Sketch": "seamtree.block.sketch",
    "Checked": "seamtree.proofs.check",
    "Proof": "seamtree.proofs.claims",
    "Proofreading": "seamtree.proofreading.outcome",
    "Rating": "seamtree.rating.judgement",
    "Record": "seamtree.auditing.record",
    "AuditLimits": "seamtree.auditing.run:Limits",
    "AuditSettings": "seamtree.auditing.record:Settings",
    "Look": "seamtree.picture.draw",
    "Pack": "seamtree.pattern.pack",
    "PackOptions": "seamtree.pattern.pack:Options",
    "Remedy": "seamtree.remedies",
    "Scale": "seamtree.rating.scale",
    **dict.fromkeys(
        (
            "ArgumentTypeError",
            "DrawingError",
            "Finding",
            "LimitError",
            "OptionError",
            "ProofError",
            "ProofFileError",
            "ReplayError",
            "SeamtreeError",
        ),
        "seamtree.errors",
    ),
}

__all__ = [
    "ArgumentTypeError",
    "AuditLimits",
    "AuditSettings",
    "Block",
    "Checked",
    "Counts",
    "DrawingError",
    "Edge",
    "Explanation",
    "Finding",
    "HardCorner",
    "Join",
    "LimitError",
    "Look",
    "Mending",
    "OptionError",
    "Pack",
    "PackOptions",
    "Patch",
    "Plan",
    "Proof",
    "ProofError",
    "ProofFileError",
    "Proofreading",
    "Rating",
    "Record",
    "Remedy",
    "ReplayError",
    "Scale",
    "Seam",
    "SeamtreeError",
    "Sketch",
    "Unit",
    "audit",
    "block_from_polygons",
    "check_proof",
    "explain",
    "mend",
    "pack",
    "plan",
    "proofread",
    "rate",
    "read",
    "render_png",
    "render_svg",
    "sketch",
]

__getattr__ = lazy_names(__name__, _HOMES, rooms=_ROOMS)


def __dir__() -> list[str]:
    return sorted([*__all__, *_ROOMS, *(name for name in globals() if name.startswith("__"))])
