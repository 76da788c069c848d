"""Proving or refuting the numbers that are already printed on a drawing."""

from __future__ import annotations

from seamtree.proofreading.outcome import Proofreading
from seamtree.proofreading.prove import proofread

__all__ = ["Proofreading", "proofread"]
