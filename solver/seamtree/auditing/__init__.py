"""Auditing a whole catalogue: many drawings at a time, each within its own limits, none of them twice.

    from seamtree.auditing import Limits, Settings, Store, audit, local_executor

    limits = Limits()
    with Store(path) as store, local_executor(workers=2, limits=limits) as executor:
        for record in audit(["dinghy.svg", "buoy.svg"], Settings(), executor=executor, store=store, limits=limits):
            print(record.source, record.verdict)

`work.audit_drawing` makes the record of one drawing, `run.audit` sends drawings to an executor and their records to a
store, `rules` tells which records are not accepted, and `page.render_page` makes a page of many. A record is plain
data, so that it can be sent, stored and printed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.auditing.places import find_drawings, search_places
    from seamtree.auditing.record import BlockRecord, Record, Settings
    from seamtree.auditing.rules import Rule, parse_rules
    from seamtree.auditing.run import Limits, audit, local_executor
    from seamtree.auditing.store import Store

__all__ = [
    "BlockRecord",
    "Limits",
    "Record",
    "Rule",
    "Settings",
    "Store",
    "audit",
    "find_drawings",
    "local_executor",
    "parse_rules",
    "search_places",
]

__getattr__ = lazy_names(
    __name__,
    {
        "BlockRecord": "seamtree.auditing.record",
        "Record": "seamtree.auditing.record",
        "Settings": "seamtree.auditing.record",
        "Rule": "seamtree.auditing.rules",
        "parse_rules": "seamtree.auditing.rules",
        "Limits": "seamtree.auditing.run",
        "audit": "seamtree.auditing.run",
        "find_drawings": "seamtree.auditing.places",
        "search_places": "seamtree.auditing.places",
        "local_executor": "seamtree.auditing.run",
        "Store": "seamtree.auditing.store",
    },
)
