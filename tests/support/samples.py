"""Samples read, planned and packed: each once, for all tests that look at them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import seamtree
from seamtree.pattern.pack import Options, Pack, make_pack
from seamtree.pattern.paper import PAPERS
from seamtree.planning.model import Plan
from tests.pattern.printed import Document, read_document

SAMPLES = Path(__file__).parents[2] / "samples"


@cache
def planned(name: str, width: float | None = None) -> tuple[Plan, ...]:
    """Return the plans of the blocks of a sample."""
    return tuple(seamtree.plan(block) for block in seamtree.read(SAMPLES / name, width=width))


def plan_of(name: str) -> Plan:
    """Return the plan of the one block of a sample."""
    (plan,) = planned(name)
    return plan


@cache
def packed(
    name: str,
    *,
    paper: str = "a4",
    allowance: float = 0.25,
    width: float | None = None,
    pages: tuple[str, ...] | None = None,
) -> Pack:
    """Return the pack of a sample."""
    options = Options(paper=PAPERS[paper], allowance=allowance, pages=pages)
    return make_pack(planned(name, width), options, title=Path(name).stem)


@cache
def printed(name: str, **options) -> Document:
    """Return the pack of a sample as it is read back (see `packed`)."""
    return read_document(packed(name, **options).pdf)
