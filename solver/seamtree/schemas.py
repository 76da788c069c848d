"""The layouts of all answers that are given as JSON, as JSON Schema (draft 2020-12).

`schemas.json`, which comes with the package, describes every key; that is the one place to look them up. Keys may be
added to a layout, never renamed or left out, so programs should pass over keys that they do not know.

Examples
--------
>>> from seamtree.schemas import NAMES, schema_of
>>> NAMES[:2]
('seamtree/1', 'seamtree-audit/1')
>>> schema_of("seamtree-mend/1")["$ref"]
'#/$defs/mend'
"""

from __future__ import annotations

import functools
from typing import Any

from seamtree import arguments

CHECK = "seamtree/1"
AUDIT = "seamtree-audit/1"
MEND = "seamtree-mend/1"
PROOFREAD = "seamtree-proofread/1"
RATE = "seamtree-rating/1"
PACK = "seamtree-pack/1"
PROOF = "seamtree-proof/1"

_PARTS = {
    CHECK: "check",
    AUDIT: "audit",
    MEND: "mend",
    PROOFREAD: "proofread",
    RATE: "rate",
    PACK: "pack",
    PROOF: "proof",
}

NAMES = tuple(_PARTS)
"""Names and versions of the layouts, as they stand in the key `schema` of an answer."""


def schema_of(name: str) -> dict[str, Any]:
    """Return the JSON Schema of a layout.

    Parameters
    ----------
    name
        What stands in the key `schema` of an answer.

    Raises
    ------
    OptionError
        If there is no such layout.
    """
    return {**_document(), "$ref": f"#/$defs/{_PARTS[arguments.choice('name', name, NAMES)]}"}


@functools.cache
def _document() -> dict[str, Any]:
    import json
    from importlib import resources

    text = resources.files("seamtree").joinpath("schemas.json").read_text(encoding="utf-8")
    found: dict[str, Any] = json.loads(text)
    return found
