"""Pictures of plans.

`draw_plan` makes a picture of a plan, or of a part of it, as plain shapes that anything can paint; `render_svg`
returns it as the text of an SVG file, `render_png` as the bytes of a PNG file.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.picture.draw import JOINING, SMALL, Look, draw_plan
    from seamtree.picture.render import render_png, render_svg
    from seamtree.picture.shapes import Disc, Layer, Lines, Picture, Polygon, Text
    from seamtree.picture.sheet import put_beside

__all__ = [
    "JOINING",
    "SMALL",
    "Disc",
    "Layer",
    "Lines",
    "Look",
    "Picture",
    "Polygon",
    "Text",
    "draw_plan",
    "put_beside",
    "render_png",
    "render_svg",
]

__getattr__ = lazy_names(
    __name__,
    {
        **dict.fromkeys(("Disc", "Layer", "Lines", "Picture", "Polygon", "Text"), "seamtree.picture.shapes"),
        **dict.fromkeys(("JOINING", "SMALL", "Look", "draw_plan"), "seamtree.picture.draw"),
        "put_beside": "seamtree.picture.sheet",
        **dict.fromkeys(("render_png", "render_svg"), "seamtree.picture.render"),
    },
)
