"""What is painted counts: fills, strokes, opacity, visibility, style sheets, inheritance."""

import pytest

from seamtree.errors import DrawingError
from tests.drawing.svg.helps import box, codes, read

DEFS = (
    '<defs><linearGradient id="dawn"><stop stop-color="red"/><stop offset="1"/></linearGradient>'
    '<linearGradient id="dawn-turned" xlink:href="#dawn"/><radialGradient id="empty"/>'
    '<linearGradient id="clear"><stop stop-opacity="0"/><stop stop-color="transparent"/></linearGradient>'
    '<pattern id="waves" width="2" height="2"><path d="M0 0h1v1z"/></pattern></defs>'
)


def painted(attributes, body=""):
    """(fill, stroked) of a rectangle with these attributes, None when it does not count."""
    drawing = read(f'{DEFS}{body}<rect width="2" height="2" {attributes}/><path d="M9 9h1v1z" id="last"/>')
    shapes = [shape for shape in drawing.shapes if shape.name != "last"]
    assert len(shapes) <= 1
    return (shapes[0].fill, shapes[0].stroked) if shapes else None


@pytest.mark.parametrize(
    ("attributes", "answer"),
    [
        ("", ("#000000", False)),
        ('fill="#1F3A5F"', ("#1f3a5f", False)),
        ('fill="none"', None),
        ('fill="none" stroke="black"', (None, True)),
        ('fill="red" stroke="black"', ("#ff0000", True)),
        ('fill="none" stroke="none"', None),
        ('fill="none" stroke="black" stroke-width="0"', None),
        ('fill="none" stroke="black" stroke-width="0px"', None),
        ('fill="none" stroke="black" stroke-width="1e-3"', (None, True)),
        ('fill="none" stroke="black" stroke-opacity="0"', None),
        ('fill="none" stroke="black" stroke-opacity="0%"', None),
        ('fill="none" stroke="transparent"', None),
        ('fill="none" stroke="rgba(9,9,9,0)"', None),
        ('fill="red" fill-opacity="0"', None),
        ('fill="red" fill-opacity="0" stroke="black"', (None, True)),
        ('fill="red" fill-opacity="0.01"', None),
        ('fill="transparent"', None),
        ('fill="#ff000000"', None),
        ('fill="#ff000001"', None),
        ('fill="rgb(255 0 0 / 0)"', None),
        ('opacity="0"', None),
        ('opacity="0.01"', None),
        ('opacity="-1"', None),
        ('display="none"', None),
        ('visibility="hidden"', None),
        ('visibility="collapse"', None),
        ('style="visibility:visible" visibility="hidden"', ("#000000", False)),
        ('style="display:none"', None),
        ('style="fill:none;stroke:#000"', (None, True)),
        ('style="fill:red" fill="blue"', ("#ff0000", False)),
        ('style="FILL:red; ; stroke : none ;"', ("#ff0000", False)),
        ('style="fill:red;fill:blue"', ("#0000ff", False)),
        ('style="fill:red !important;fill:blue"', ("#ff0000", False)),
        ('style="/* fill:blue; */fill:red"', ("#ff0000", False)),
        # What CSS does not understand it leaves out.
        ('style="fill:red;fill:sea"', ("#ff0000", False)),
        ('fill="sea"', ("#000000", False)),
        ('style="fill:sea" fill="red"', ("#ff0000", False)),
        ('fill="url(#dawn)"', ("dawn", False)),
        ('fill="url(#dawn-turned)"', ("dawn", False)),
        ('fill="url(#waves)"', ("waves", False)),
        ("fill=\"url('#waves') red\"", ("waves", False)),
        ('fill="url(#waves)" fill-opacity="0"', None),
        ('fill="url(#nothing) red"', ("#ff0000", False)),
        ('fill="url(#nothing) none"', None),
        ('fill="url(#nothing)"', None),
        ('fill="url(#last)"', None),
        ('fill="url(#empty)"', None),
        ('fill="url(#clear)"', None),
        ('fill="none" stroke="url(#dawn)"', (None, True)),
        ('fill="currentColor"', ("#000000", False)),
        ('fill="currentColor" color="red"', ("#ff0000", False)),
        ('fill="none" stroke="currentcolor" color="transparent"', None),
    ],
)
def test_paint(attributes, answer):
    assert painted(attributes) == answer


def test_a_paint_that_does_not_exist_is_noted():
    drawing = read('<rect width="2" height="2" fill="url(#dusk)"/><rect width="2" height="2" fill="url(#dusk) red"/>')
    assert [shape.fill for shape in drawing.shapes] == ["#ff0000"]
    assert codes(drawing) == ["paint-missing"]
    assert "'#dusk'" in drawing.notes[0].message


@pytest.mark.parametrize(
    ("dashes", "dashed"),
    [
        ("none", False),
        ("0", False),
        ("0 0", False),
        ("0,0,0", False),
        ("5 0", False),
        ("-1 5", False),
        ("sea", False),
        ("5", True),
        ("5 2", True),
        ("5,2", True),
        ("0 2", True),
        ("5 0 2", True),
        ("10%", True),
        ("1mm, 2mm", True),
    ],
)
def test_dashes(dashes, dashed):
    drawing = read(f'<path d="M0 0L5 5" fill="none" stroke="#000" stroke-dasharray="{dashes}"/><path d="M9 9h1v1z"/>')
    assert len(drawing.markings) == dashed
    assert len(drawing.shapes) == 2 - dashed
    assert all(shape.stroked or shape.fill for shape in drawing.shapes)


def test_a_dashed_shape_that_is_filled_counts_by_its_fill():
    drawing = read('<rect width="5" height="5" fill="red" stroke="#000" stroke-dasharray="1"/>')
    (shape,) = drawing.shapes
    assert (shape.fill, shape.stroked) == ("#ff0000", False)
    assert len(drawing.markings) == 1


def test_dashes_are_inherited_and_can_be_taken_back():
    drawing = read(
        '<g stroke-dasharray="2" stroke="#000" fill="none"><path d="M0 0L5 5"/>'
        '<path d="M0 1L5 6" stroke-dasharray="none"/></g>'
    )
    assert (len(drawing.shapes), len(drawing.markings)) == (1, 1)


def fills(body):
    return [shape.fill for shape in read(body).shapes]


def rect(attributes=""):
    return f'<rect width="2" height="2" {attributes}/>'


R = rect()


def test_inheritance():
    blue, inherit = rect('fill="blue"'), rect('fill="inherit"')
    initial, unset = rect('fill="initial"'), rect('style="fill:unset"')
    current = rect('fill="currentColor"')
    assert fills(f'<g fill="red">{R}{blue}<g>{R}</g></g>') == ["#ff0000", "#0000ff", "#ff0000"]
    assert fills(f'<g fill="red"><g fill="blue">{inherit}</g></g>') == ["#0000ff"]
    assert fills(f'<g fill="red">{initial}{unset}</g>') == ["#000000", "#ff0000"]
    assert fills(f'<g color="red">{current}</g>') == ["#ff0000"]


def test_the_keyword_is_inherited_and_not_the_colour_that_it_stood_for():
    # CSS Color 4, section 6.2.
    blue = rect('color="blue"')
    assert fills(f'<g color="red" fill="currentColor">{blue}</g>') == ["#0000ff"]


def test_opacity_is_not_inherited_but_hides_what_is_inside():
    assert len(fills('<g opacity="0">' + rect('opacity="1"') + f'</g><g opacity=".95">{R}</g>')) == 1


def test_a_visible_child_of_a_hidden_group_is_visible():
    visible = rect('visibility="visible" id="seen"')
    assert [shape.name for shape in read(f'<g visibility="hidden">{R}{visible}</g>').shapes] == ["seen"]


def test_nothing_shows_in_a_group_that_is_not_displayed():
    assert len(fills('<g display="none">' + rect('display="inline" visibility="visible"') + f"</g>{R}")) == 1


@pytest.mark.parametrize(
    "holder", ["defs", "clipPath", "mask", "marker", "pattern", "symbol", "metadata", "filter", "title", "script"]
)
def test_what_is_only_a_definition_does_not_count(holder):
    assert len(fills(f"<{holder}>{R}</{holder}>{R}")) == 1


def test_markers_do_not_count():
    drawing = read(
        '<marker id="m"><path d="M0 0h9v9z"/></marker>'
        '<path d="M0 0L5 5" stroke="#000" marker-end="url(#m)" style="fill:none"/>'
    )
    assert [box(shape) for shape in drawing.shapes] == [(0, 0, 5, 5)]


def test_paint_order_is_the_order_of_the_file():
    a, b, c, d = (rect(f'id="{name}"') for name in "abcd")
    drawing = read(f"{a}<g>{b}<g>{c}</g></g>{d}")
    assert [shape.name for shape in drawing.shapes] == ["a", "b", "c", "d"]


def test_shapes_without_id_are_numbered_by_kind():
    drawing = read(f'{R}<defs>{R}</defs><circle r="1"/>{R}')
    assert [shape.name for shape in drawing.shapes] == ["rect 1", "circle 1", "rect 3"]


def test_fill_rules():
    ring = "M0 0h6v6h-6zM2 2h2v2h-2z"
    drawing = read(f'<path d="{ring}" fill-rule="evenodd"/><g style="fill-rule:evenodd"><path d="{ring}"/></g>')
    assert [shape.evenodd for shape in drawing.shapes] == [True, True]
    assert not read(f'<path d="{ring}"/>').shapes[0].evenodd


def test_a_filled_open_path_is_closed_and_a_stroked_one_is_not():
    drawing = read('<path d="M0 0h5v5"/><path d="M0 0h5v5" fill="none" stroke="#000"/>')
    assert [shape.tracks[0].closed for shape in drawing.shapes] == [True, False]


def test_a_line_has_no_fill_whatever_it_says():
    drawing = read('<line x2="5" y2="5" fill="red" stroke="#000"/><path d="M0 1L5 6" stroke="#000"/>')
    assert [(shape.fill, shape.stroked, shape.tracks[0].closed) for shape in drawing.shapes] == [
        (None, True, False)
    ] * 2


def test_a_filled_path_without_area_paints_nothing():
    assert len(fills(f'<path d="M0 0L5 5" fill="red"/><path d="M0 0L5 5L9 9z" fill="red"/>{R}')) == 1


# Style sheets ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sheet", "fill"),
    [
        ("rect{fill:red}", "#ff0000"),
        (".sea{fill:red}", "#ff0000"),
        ("#one{fill:red}", "#ff0000"),
        ("*{fill:red}", "#ff0000"),
        (".sea.deep{fill:red}", "#ff0000"),
        ("rect.sea#one{fill:red}", "#ff0000"),
        ("circle,.sea , path{fill:red}", "#ff0000"),
        ("g rect{fill:red}", "#ff0000"),
        ("svg .sea{fill:red}", "#ff0000"),
        ("svg g .layer rect{fill:red}", "#ff0000"),
        ("svg > g > g > rect{fill:red}", "#ff0000"),
        (":root rect{fill:red}", "#ff0000"),
        ("rect[id]{fill:red}", "#ff0000"),
        ("rect[id=one]{fill:red}", "#ff0000"),
        ('rect[class~="deep"]{fill:red}', "#ff0000"),
        ("@media screen{rect{fill:red}}", "#ff0000"),
        ("<!-- rect{fill:red} -->", "#ff0000"),
        ("/* a */rect/* b */{/* c */fill/* d */:/* e */red}", "#ff0000"),
        ("rect{fill:red;}rect{stroke:none}", "#ff0000"),
        ("svg > rect{fill:red}", "#0000ff"),
        ("g > .layer rect .sea{fill:red}", "#0000ff"),
        ("circle{fill:red}", "#0000ff"),
        (".Sea{fill:red}", "#0000ff"),
        ("Rect{fill:red}", "#0000ff"),
        ("#two{fill:red}", "#0000ff"),
        ("rect:hover{fill:red}", "#0000ff"),
        ("rect[id=two]{fill:red}", "#0000ff"),
        ("rect[width~=x]{fill:red}", "#0000ff"),
        ("@media print{rect{fill:red}}", "#0000ff"),
        ("@font-face{src:url(x)}", "#0000ff"),
        ("rect{fill:sea}", "#0000ff"),
        # CSS 2.1, section 6.4: weight, specificity, order.
        ("rect{fill:red}rect{fill:lime}", "#00ff00"),
        (".sea{fill:lime}rect{fill:red}", "#00ff00"),
        ("#one{fill:lime}.sea.deep{fill:red}", "#00ff00"),
        (".sea.deep{fill:lime}svg g g rect.sea{fill:red}", "#00ff00"),
        ("g rect{fill:lime}rect{fill:red}", "#00ff00"),
        ("*{fill:red}rect{fill:lime}*{fill:red}", "#00ff00"),
        ("rect{fill:lime !important}#one{fill:red}", "#00ff00"),
        ("#one{fill:red !important}#one{fill:lime !important}", "#00ff00"),
        (".sea{fill:lime}.deep{stroke:red}", "#00ff00"),
    ],
)
def test_style_sheets(sheet, fill):
    drawing = read(
        f"<style>{sheet.replace('<', '&lt;').replace('>', '&gt;')}</style>"
        '<g class="x"><g class="layer"><rect id="one" class="sea deep" fill="blue" width="2" height="2"/></g></g>'
    )
    assert drawing.shapes[0].fill == fill


def test_the_style_attribute_is_stronger_than_rules_but_for_importance():
    assert fills("<style>#a{fill:red}</style>" + rect('id="a" style="fill:lime"')) == ["#00ff00"]
    assert fills("<style>rect{fill:red!important}</style>" + rect('style="fill:lime"')) == ["#ff0000"]
    assert fills("<style>rect{fill:red!important}</style>" + rect('style="fill:lime!important"')) == ["#00ff00"]


def test_style_sheets_of_other_kinds_are_not_read():
    sheet = "rect{fill:red}"
    assert fills(f'<style type="text/less">{sheet}</style><style media="print">{sheet}</style>{R}') == ["#000000"]
    assert fills(f'<style type=" TEXT/CSS "><![CDATA[{sheet}]]></style>{R}') == ["#ff0000"]


def test_rules_for_copies_follow_the_original():
    copied = '<defs id="d">' + rect('id="a"') + '</defs><use href="#a"/>'
    assert fills("<style>#d rect{fill:red}</style>" + copied) == ["#ff0000"]


@pytest.mark.parametrize(
    "sheet",
    [
        "rect:nth-child(2){fill:red}",
        "@import 'sea.css';",
        "g + rect{fill:red}",
        "rect::before{}",
        "@import url(x) screen;",
    ],
)
def test_rules_that_are_not_understood_are_noted(sheet):
    drawing = read(f"<style>{sheet}</style>{R}")
    assert codes(drawing) == ["style-left-out"]
    assert drawing.shapes[0].fill == "#000000"


@pytest.mark.parametrize("opening", ["(", "[", "{", "rgb("])
def test_endless_brackets_do_no_harm(opening):
    deep = opening * 20_000
    assert codes(read(f"<style>rect{{fill:{deep}</style>{R}")) == ["style-left-out"]
    with pytest.raises(DrawingError, match="brackets"):
        read(rect(f'style="fill:\'{deep}"'))
    assert fills(rect(f'fill="{deep}"')) == ["#000000"]


def test_geometry_may_be_style():
    drawing = read(
        "<style>rect{x:1px;y:2px;width:3px;height:4px}</style><rect/>"
        '<circle style="cx:2px;cy:3px;r:1px" r="9"/><path style="d:path(\'M0 0h1v1z\')"/>'
        '<rect style="transform:translate(1px,1px) rotate(90deg)"/>'
    )
    assert [box(shape) for shape in drawing.shapes] == [(1, 2, 4, 6), (1, 2, 3, 4), (0, 0, 1, 1), (-5, 2, -1, 5)]
