"""Paint that is less than 0.9 opaque is shading and no patch (SVG 2, section 13.7; Compositing and Blending 1; CSS
Masking 1)."""

import pytest

from seamtree.errors import DrawingError
from tests.drawing.svg.helps import codes, read

DEFS = (
    '<defs><linearGradient id="fade"><stop stop-color="#fff"/><stop offset="1" stop-opacity="0"/></linearGradient>'
    '<linearGradient id="fade-turned" xlink:href="#fade"/>'
    '<linearGradient id="clear"><stop stop-opacity=".95"/><stop stop-color="rgb(0 0 0 / .92)"/></linearGradient>'
    '<pattern id="dots" width="2" height="2"><circle r="1" fill-opacity=".3"/></pattern>'
    '<mask id="soft"><rect width="10" height="10" fill="url(#fade)"/></mask>'
    '<mask id="grey"><rect width="10" height="10" fill="#888"/></mask>'
    '<mask id="pale"><rect width="10" height="10" fill="#fff" opacity=".5"/></mask>'
    '<mask id="whole" fill="#fff"><rect width="10" height="10"/></mask>'
    '<mask id="moved"><g transform="translate(-5)"><rect width="20" height="10" fill="white"/></g></mask>'
    '<mask id="alpha" mask-type="alpha"><rect width="10" height="10"/></mask>'
    '<path id="p" d="M0 0H10V10H0z"/><mask id="used" fill="white"><use xlink:href="#p"/></mask>'
    '<mask id="box" maskContentUnits="objectBoundingBox"><rect width="1" height="1" fill="#fff"/></mask></defs>'
)
FIELD = '<rect id="field" width="8" height="8" fill="teal"/>'


def read_over(shape, sheet=""):
    return read(f"{DEFS}<style>{sheet}</style>{FIELD}{shape}")


def glaze(attributes="", body='<rect id="g" width="4" height="4" fill="black" {}/>'):
    return body.format(attributes)


@pytest.mark.parametrize(
    ("shape", "veil"),
    [
        (glaze('fill-opacity=".89"'), "89% opaque"),
        (glaze('opacity=".5"'), "50% opaque"),
        (glaze('style="fill-opacity:40%"'), "40% opaque"),
        (glaze('style="fill:#00000080"'), "50% opaque"),
        (glaze('style="fill:rgba(0,0,0,.3)"'), "30% opaque"),
        (glaze('opacity=".5" fill-opacity=".5"'), "25% opaque"),
        ('<g opacity=".95">' + glaze('fill-opacity=".94"') + "</g>", "89% opaque"),
        (f'<g opacity=".5"><g><g>{glaze()}</g></g></g>', "50% opaque"),
        (f'<defs><g id="s">{glaze()}</g></defs><use href="#s" opacity=".2"/>', "20% opaque"),
        (f'<symbol id="s" opacity=".2">{glaze()}</symbol><use href="#s"/>', "20% opaque"),
        (f'<svg opacity=".2">{glaze()}</svg>', "20% opaque"),
        (glaze('style="fill:url(#fade)"'), "0% opaque"),
        (glaze('style="fill:url(#fade-turned)"'), "0% opaque"),
        (glaze('style="mix-blend-mode:multiply"'), "blended with what lies under it (multiply)"),
        (f'<g style="mix-blend-mode:screen">{glaze()}</g>', "blended with what lies under it (screen)"),
        (glaze('mask="url(#soft)"'), "masked"),
        (glaze('mask="url(#grey)"'), "masked"),
        (glaze('mask="url(#pale)"'), "masked"),
        (f'<g mask="url(#soft)">{glaze()}</g>', "masked"),
    ],
)
def test_see_through_fills_are_shading(shape, veil):
    drawing = read_over(shape)
    assert [each.name for each in drawing.shapes] == ["field"]
    (shading,) = drawing.shadings
    assert (shading.shape.name.split(" in ")[0], shading.veil, shading.above) == ("g", veil, 1)


@pytest.mark.parametrize(
    "shape",
    [
        glaze('fill-opacity=".9"'),
        glaze('opacity="90%"'),
        '<g opacity=".95">' + glaze('opacity=".95"') + "</g>",
        glaze('style="fill:url(#clear)"'),
        glaze('style="fill:url(#dots)"'),  # the print of a fabric, not a veil
        glaze('style="mix-blend-mode:normal;isolation:isolate"'),
        glaze('style="mix-blend-mode:multiply;mix-blend-mode:normal"'),
        glaze('mask="url(#whole)"'),
        glaze('mask="url(#moved)"'),
        glaze('mask="url(#alpha)"'),
        glaze('mask="url(#used)"'),
        glaze('mask="url(#box)"'),
        glaze('mask="url(#nothing)"'),
        glaze('stroke="#fff" stroke-opacity=".2" stroke-width=".01"'),
    ],
)
def test_what_is_opaque_is_a_patch(shape):
    drawing = read_over(shape)
    assert [each.name for each in drawing.shapes] == ["field", "g"]
    assert (drawing.shadings, codes(drawing)) == ((), [])


def test_opacity_belongs_to_the_element_and_is_not_inherited():
    # CSS Color 4, section 12.2: a group is put on what lies under it as a whole; its children are opaque in it.
    drawing = read_over('<g opacity=".95">' + glaze('opacity="inherit"') + "</g>")
    assert len(drawing.shapes) == 2


def test_a_line_of_its_own_still_counts():
    drawing = read_over(glaze('fill-opacity=".3" stroke="#000" stroke-width=".02"'))
    assert [(each.name, each.fill, each.stroked) for each in drawing.shapes] == [
        ("field", "#008080", False),
        ("g", None, True),
    ]
    assert len(drawing.shadings) == 1


def test_shading_is_never_the_page_and_does_not_keep_the_page_from_being_one():
    veil = '<rect width="10" height="10" fill="#000" opacity=".1"/>'
    page = '<rect width="10" height="10" fill="#fff"/>'
    inner = '<rect id="block" x="1" y="1" width="8" height="8" fill="teal"/>'
    assert codes(read(page + inner + veil)) == ["page-left-out"]
    assert codes(read('<rect width="10" height="10" fill="#fff" opacity=".1"/>' + inner)) == []


def test_a_drawing_of_see_through_paint_alone_says_so():
    with pytest.raises(DrawingError, match="only paint that is less than 90% opaque, which is shading"):
        read('<g opacity=".5"><rect width="4" height="4"/><rect x="4" width="4" height="4"/></g>')
