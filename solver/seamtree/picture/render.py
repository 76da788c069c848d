"""From a plan to a file's content."""

from __future__ import annotations

import hashlib

from seamtree.picture.draw import Look, draw_plan
from seamtree.picture.shapes import Picture
from seamtree.picture.svg import write_svg
from seamtree.planning.model import Node, Plan


def render_svg(
    plan: Plan,
    *,
    node: Node | None = None,
    look: Look | None = None,
    size: float | None = None,
    scale: float | None = None,
    prefix: str = "picture",
    declaration: bool = True,
) -> str:
    """Return a picture of a plan as the text of an SVG file (see `draw_plan` and `write_svg`)."""
    picture = draw_plan(plan, node=node, look=look, size=size, scale=scale)
    return write_svg(picture, prefix=prefix, declaration=declaration)


def notebook_svg(picture: Picture) -> str:
    """Return a picture for a page that shows others as well: its ids are those of no other picture."""
    digest = hashlib.blake2s(repr(picture).encode(), digest_size=6).hexdigest()
    return write_svg(picture, prefix=f"picture-{digest}", declaration=False)
