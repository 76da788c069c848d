"""Pictures of plans.

`draw_plan` makes a picture of a plan, or of a part of it, as plain shapes that anything can paint; `write_svg` and
`write_png` turn it into a file's content, `render_svg` does both at once.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seamtree.lazy import lazy_names

if TYPE_CHECKING:
    from seamtree.picture.draw import JOINING, SMALL, Look, draw_parts, draw_plan, draw_plans
    from seamtree.picture.png import write_png
    from seamtree.picture.render import render_svg
    from seamtree.picture.shapes import Disc, Layer, Lines, Picture, Polygon, Text
    from seamtree.picture.sheet import put_beside
    from seamtree.picture.svg import write_svg

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
    "draw_parts",
    "draw_plan",
    "draw_plans",
    "put_beside",
    "render_svg",
    "write_png",
    "write_svg",
]

__getattr__ = lazy_names(
    __name__,
    {
        **dict.fromkeys(("Disc", "Layer", "Lines", "Picture", "Polygon", "Text"), "seamtree.picture.shapes"),
        **dict.fromkeys(
            ("JOINING", "SMALL", "Look", "draw_parts", "draw_plan", "draw_plans"), "seamtree.picture.draw"
        ),
        "put_beside": "seamtree.picture.sheet",
        "render_svg": "seamtree.picture.render",
        "write_png": "seamtree.picture.png",
        "write_svg": "seamtree.picture.svg",
    },
)
