"""A page that leads through the sewing of a pattern, one step at a time."""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.following.page import render_follow_page
    from seamtree.following.screens import build_screens

__all__ = ["build_screens", "render_follow_page"]

__getattr__ = lazy_names(
    __name__,
    {"build_screens": "seamtree.following.screens", "render_follow_page": "seamtree.following.page"},
)
