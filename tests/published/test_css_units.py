"""Lengths of drawings against CSS Values and Units Level 4, section 6.2 'Absolute lengths' (W3C; from memory).

1in = 2.54cm = 25.4mm = 101.6Q = 72pt = 6pc = 96px.
"""

import pytest

from seamtree.drawing.svg.read import read_svg

IN_AN_INCH = {"in": 1, "cm": 2.54, "mm": 25.4, "pt": 72, "pc": 6, "px": 96, "": 96}


def size(data: str) -> tuple[float, float]:
    shape = read_svg(data.encode(), source="buoy.svg").shapes[0]
    xs, ys = zip(*(point for track in shape.tracks for point in track.points), strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


def drawing(width: str, height: str, body: str, view_box: str = "") -> str:
    box = f'viewBox="{view_box}"' if view_box else ""
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" {box}>{body}</svg>'


@pytest.mark.parametrize(("unit", "number"), IN_AN_INCH.items())
def test_the_size_of_the_page_is_in_css_lengths(unit: str, number: float) -> None:
    # A page of three by two inches, drawn in units of a thirtieth of its width.
    body = '<rect x="5" y="5" width="10" height="10" fill="#123456"/>'
    data = drawing(f"{3 * number}{unit}", f"{2 * number}{unit}", body, "0 0 30 20")
    assert size(data) == pytest.approx((1, 1), abs=1e-9)


@pytest.mark.parametrize(("unit", "number"), IN_AN_INCH.items())
def test_the_size_of_a_shape_is_in_css_lengths(unit: str, number: float) -> None:
    body = f'<rect x="0" y="0" width="{2 * number}{unit}" height="{number}{unit}" fill="#123456"/>'
    assert size(drawing("4in", "4in", body)) == pytest.approx((2, 1), abs=1e-9)


def test_user_units_without_a_stated_size_are_pixels() -> None:
    data = '<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0H96V48H0Z" fill="#123456"/></svg>'
    assert size(data) == pytest.approx((1, 0.5), abs=1e-9)
