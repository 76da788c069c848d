"""Which names of classes, layers and labels are names of fabrics."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seamtree.block.build import build_blocks
from seamtree.drawing.fabric_names import Called, fabric_names, in_words
from tests.drawing.svg.helps import read


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("harbour blue", "harbour blue"),
        ("harbour-blue", "harbour blue"),
        ("sail_cloth", "sail cloth"),
        ("sail_x20_cloth", "sail cloth"),
        ("  Night\n sky ", "Night sky"),
        ("Fisherman's net & rope", "Fisherman's net & rope"),
        ("tan", "tan"),
        ("海", "海"),
        ("sjø", "sjø"),
        ("st0", None),
        ("cls-1", None),
        ("Layer 1", None),
        ("path1234", None),
        ("A", None),
        ("bg", None),
        ("", None),
        ("Compound_Path", None),
        ("Patches", None),
        ("#1f3a5f", None),
        ("x" * 41, None),
        ("sky " * 100_000, None),
    ],
)
def test_words(name, words):
    assert in_words(name) == words


def called(classes="", layers="", labels=""):
    return Called(*(frozenset(names.split()) for names in (classes, layers, labels)))


@pytest.mark.parametrize(
    ("painted", "names"),
    [
        ([("a", called("sky")), ("b", called("sea"))], {"a": "sky", "b": "sea"}),
        ([("a", called("cloth sky")), ("b", called("cloth sea"))], {"a": "sky", "b": "sea"}),
        # a name on several colours, a colour with several names, a colour that bears the name in part
        ([("a", called("sky")), ("b", called("sky"))], {}),
        ([("a", called("sky")), ("a", called("sea"))], {}),
        ([("a", called("sky")), ("a", called())], {}),
        ([("a", called("sky air"))], {}),
        # classes before layers before labels
        ([("a", called("sky", "air", "top"))], {"a": "sky"}),
        ([("a", called("", "air", "top")), ("a", called("", "air", "side"))], {"a": "air"}),
        ([("a", called("x y", "", "top"))], {"a": "top"}),
        # two colours that get one name in different ways, be it in capitals
        ([("a", called("sky")), ("b", called("", "sky"))], {}),
        ([("a", called("Sky")), ("b", called("sky"))], {}),
        ([], {}),
    ],
)
def test_a_name_goes_with_one_paint(painted, names):
    assert dict(fabric_names(painted)) == names


@given(
    st.lists(st.tuples(st.sampled_from("abc"), *3 * [st.sets(st.sampled_from(["sky", "Sky", "sea", "net"]))])),
    st.integers(0, 10**6),
)
def test_names_and_paints_are_one_to_one_in_any_order(shapes, order):
    painted = [(fabric, Called(*map(frozenset, kinds))) for fabric, *kinds in shapes]
    named = fabric_names(painted)
    assert len({name.casefold() for _, name in named}) == len({fabric for fabric, _ in named}) == len(named)
    for fabric, name in named:
        assert all(any(name in kind for kind in its) for paint, its in painted if paint == fabric)
    random.Random(order).shuffle(painted)
    assert fabric_names(painted) == named


HALVES = """<g inkscape:groupmode="layer" inkscape:label="Block">
<g inkscape:groupmode="layer" inkscape:label="Night sky"><path d="M0 0H4V8H0z" fill="#1f3a5f"/></g>
<path class="st1 beach-sand" d="M4 0H8V4H4z" fill="#ddcc99"/><rect class="st1 beach-sand" x="4" y="4" width="2"
height="4" fill="#ddcc99"/><rect x="6" y="4" width="2" height="4" fill="#aa3333"><title>buoy red</title></rect></g>"""


def test_names_reach_the_block_by_class_layer_and_title():
    (block,) = build_blocks(read(HALVES))
    assert dict(block.fabric_names) == {"#1f3a5f": "Night sky", "#ddcc99": "beach sand", "#aa3333": "buoy red"}
    assert block.fabric_words() == dict(block.fabric_names)


def test_what_is_no_cloth_names_none():
    lines = '<path class="stitches" d="M1 1H3" stroke="#1f3a5f" stroke-dasharray="1"/>'
    veil = '<path class="shade" d="M1 1H3V3z" fill="#1f3a5f" opacity=".3"/>'
    (block,) = build_blocks(read(HALVES + lines + veil))
    assert dict(block.fabric_names)["#1f3a5f"] == "Night sky"


@pytest.mark.parametrize(
    ("shape", "name"),
    [
        ('<path inkscape:label="left sail" id="path12" {}/>', "left sail"),
        ('<path data-name="left sail" id="left_sail" {}/>', "left sail"),
        ('<path id="path12" {}><title>left sail</title></path>', "left sail"),
        ('<path id="left_x20_sail" {}/>', "left sail"),
        ('<g inkscape:label="Sails" id="g1"><g id="g2"><path {}/></g></g>', "path 1 in Sails"),
        ('<g id="sails"><path {}/></g>', "path 1 in sails"),
        ("<path {}/>", "path 1"),
    ],
)
def test_shapes_are_called_as_editors_list_them(shape, name):
    drawing = read(shape.format('d="M0 0H8V8z" fill="#000"'))
    assert [each.name for each in drawing.shapes] == [name]
