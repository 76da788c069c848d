"""Which block a proof is about."""

from __future__ import annotations

import hashlib
import json

from seamtree.block.model import MICRO, Block


def digest(block: Block) -> str:
    """Return a digest of all that a check looks at: the planar map, places to a millionth of an inch.

    Names, fabrics and labels do not count: a proof holds in other colours as well.
    """
    told = [
        round(MICRO * block.tolerance),
        [[round(MICRO * x), round(MICRO * y)] for x, y in block.junctions],
        [[edge.start, edge.end, edge.left, edge.right, edge.curve] for edge in block.edges],
        [patch.ring for patch in block.patches],
        [[line.first, line.stop, line.reach] for line in block.lines],
    ]
    return "sha256:" + hashlib.sha256(json.dumps(told, separators=(",", ":")).encode()).hexdigest()
