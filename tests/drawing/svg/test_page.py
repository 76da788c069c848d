"""What is left out with a note: the page, layers, images; and clips, which are not applied."""

import pytest

from seamtree.block.build import build_blocks
from seamtree.drawing.svg.read import read_svg
from seamtree.errors import DrawingError, OptionError
from tests.drawing.svg.helps import ROOT, box, codes, read, svg

PAGE = '<rect width="10" height="10" fill="#fff" {0}/>'
BLOCK = '<rect id="block" x="1" y="1" width="8" height="8" fill="teal"/>'


def kept(body, root=ROOT, **options):
    drawing = read(body, root, **options)
    return [shape.name for shape in drawing.shapes], codes(drawing)


@pytest.mark.parametrize(
    "page",
    [
        '<rect width="10" height="10" fill="#fff"/>',
        '<rect width="10" height="10" fill="white"/>',
        '<rect width="100%" height="100%" fill="#fafafa"/>',
        '<rect width="10" height="10" fill="#f0f0f0"/>',
        '<rect x="-1" y="-1" width="12" height="12" fill="ivory"/>',
        '<rect x=".01" y=".01" width="9.98" height="9.98" fill="#fff"/>',
        '<path d="M0 0H10V10H0z" fill="#fff"/>',
        '<polygon points="0,0 0,10 10,10 10,0" fill="#fff"/>',
        '<g transform="rotate(90 5 5)"><rect width="10" height="10" fill="#fff"/></g>',
        '<rect width="10" height="10" fill="#fff" stroke="none"/>',
        '<rect width="10" height="10" fill="#fff" stroke="#000" stroke-width="0"/>',
        '<path d="M0 0H9" fill="none"/><rect width="10" height="10" fill="#fff"/>',
    ],
)
def test_the_page_is_left_out_with_a_note(page):
    assert kept(page + BLOCK) == (["block"], ["page-left-out"])


@pytest.mark.parametrize(
    "body",
    [
        # Not white, not a level rectangle, with a stroke, not covering the viewBox.
        '<rect width="10" height="10" fill="#efefef"/>' + BLOCK,
        '<rect width="10" height="10" fill="lightblue"/>' + BLOCK,
        '<rect width="10" height="10" rx="1" fill="#fff"/>' + BLOCK,
        '<circle cx="5" cy="5" r="8" fill="#fff"/>' + BLOCK,
        '<rect x="-10" y="-10" width="30" height="30" transform="rotate(5)" fill="#fff"/>' + BLOCK,
        PAGE.format('stroke="#000"') + BLOCK,
        PAGE.format('stroke="#000" stroke-dasharray="1"') + BLOCK,
        '<rect width="9.9" height="10" fill="#fff"/>' + BLOCK,
        # Not painted first.
        BLOCK + PAGE.format(""),
        # Another shape reaches its edge or goes beyond.
        PAGE.format("") + BLOCK + '<rect width="1" height="1"/>',
        PAGE.format("") + BLOCK + '<path d="M5 5H10" stroke="#000"/>',
        PAGE.format("") + BLOCK + '<path d="M5 5H9.99" stroke="#000"/>',
        PAGE.format("") + BLOCK + '<path d="M5 5V12" stroke="#000"/>',
    ],
)
def test_what_is_not_the_page_stays(body):
    names, notes = kept(body)
    assert len(names) == body.count("<rect") + body.count("<circle") + body.count("<path")
    assert set(notes) <= {"beyond-page"}


def test_markings_and_texts_may_reach_the_edge_of_the_page():
    body = PAGE.format("") + BLOCK + '<path d="M0 5H10" fill="none" stroke="#000" stroke-dasharray="1"/>'
    assert kept(body + '<text x="0" y="0">1</text>') == (["block"], ["page-left-out"])


def test_the_page_without_view_box_or_size():
    block = '<rect x="20" y="20" width="60" height="50"/>'
    white = '<rect width="{0}" height="{1}" fill="#fff"/>' + block
    assert kept(white.format("100%", "100%"), "")[1] == ["page-left-out", "size-assumed"]
    assert kept(white.format(200, 100), 'width="200pt" height="100pt"')[1] == []
    assert kept(white.format(200, 100), 'width="150pt" height="75pt"')[1] == ["page-left-out"]
    assert kept(white.format(200, 90), 'width="150pt" height="75pt"')[1] == []


def test_the_view_box_is_what_the_page_must_cover():
    body = '<rect width="10" height="10" fill="#fff"/>' + BLOCK
    assert kept(body, 'width="20in" height="10in" viewBox="0 0 10 10"')[1] == ["page-left-out"]
    assert kept(body, 'width="10in" height="10in" viewBox="0 0 11 10"')[1] == []


def test_the_edge_of_the_page_is_judged_at_finished_size():
    body = PAGE.format("") + '<rect id="block" x=".1" y=".1" width="9.8" height="9.8"/>'
    assert kept(body)[1] == ["page-left-out"]
    assert kept(body, width=0.98)[1] == []


# Layers ---------------------------------------------------------------------------------------------------------

LAYERS = (
    '<g inkscape:label="Cutting notes" id="layer2" class="hint extra"><rect width="1" height="1"/><text>x</text>'
    '<g><path d="M0 0h1v1z"/></g></g>'
    '<g id="gulls" data-name="Sea birds"><rect width="2" height="2" class="hint"/></g>'
)


@pytest.mark.parametrize(
    ("names", "left", "counts"),
    [
        (["Cutting notes"], ["rect 2 in Sea birds", "block"], ["3"]),
        (["layer2"], ["rect 2 in Sea birds", "block"], ["3"]),
        (["extra"], ["rect 2 in Sea birds", "block"], ["3"]),
        (["hint"], ["block"], ["4"]),
        (["Sea birds"], ["rect 1 in Cutting notes", "path 1 in Cutting notes", "block"], ["1"]),
        (["gulls", "layer2"], ["block"], ["1", "3"]),
        (["layer2", "Cutting notes"], ["rect 2 in Sea birds", "block"], ["0", "3"]),
    ],
)
def test_layers_are_left_out_by_label_id_or_class(names, left, counts):
    drawing = read(LAYERS + BLOCK, skip_layers=names)
    assert [shape.name for shape in drawing.shapes] == left
    assert codes(drawing) == ["layer-left-out"] * len(counts)
    assert sorted(note.message.split(": ")[1].split()[0] for note in drawing.notes) == counts


def test_a_layer_name_that_does_not_exist_is_an_error_that_names_those_that_do():
    with pytest.raises(OptionError, match=r"'seagulls'.*'Cutting notes'") as caught:
        read(LAYERS + BLOCK, skip_layers=["gulls", "seagulls"])
    assert "'gulls'," in str(caught.value)


def test_a_copy_is_left_out_by_the_name_of_the_use_or_of_what_it_shows():
    body = '<defs><path id="a" d="M0 0h1v1z"/><g id="b"><use href="#a"/></g></defs><use id="c" href="#b"/>' + BLOCK
    for name in "abc":
        assert kept(body, skip_layers=[name])[0] == ["block"]


def test_faults_in_a_left_out_layer_do_not_matter():
    body = '<g id="x"><path d="M0 0L"/><rect width="nan"/><use href="#nothing"/><g transform="spin(1)"/></g>' + BLOCK
    assert kept(body, skip_layers=["x"])[0] == ["block"]
    with pytest.raises(DrawingError):
        read(body)


def test_faults_of_what_is_not_painted_do_not_matter():
    assert kept('<path d="M0 0L" fill="none"/><g display="none"><rect width="nan"/></g>' + BLOCK)[0] == ["block"]


# Images ---------------------------------------------------------------------------------------------------------


def test_images_are_left_out_with_a_note():
    drawing = read('<image id="photo" href="data:image/png;base64,AA"/><image href="x.png"/>' + BLOCK)
    (note,) = drawing.notes
    assert note.code == "image-left-out"
    assert "2 images" in note.message
    assert "photo" in note.message


def test_foreign_objects_and_unknown_elements_are_noted():
    drawing = read('<foreignObject width="5" height="5"/><flowRoot><flowPara>x</flowPara></flowRoot>' + BLOCK)
    assert codes(drawing) == ["image-left-out", "element-left-out"]


def test_hidden_images_are_not_worth_a_note():
    assert kept('<image display="none"/><image visibility="hidden"/>' + BLOCK)[1] == []


# Clips ----------------------------------------------------------------------------------------------------------


def clip_notes(clip, body, attributes='clip-path="url(#c)"'):
    drawing = read(f'<clipPath id="c">{clip}</clipPath><g {attributes}>{body}</g>')
    assert all(note.code == "clip-ignored" for note in drawing.notes)
    return [note.message.split(" at ")[0].rsplit(" of ", 1)[1] for note in drawing.notes]


@pytest.mark.parametrize(
    "clip",
    [
        '<rect width="10" height="10"/>',
        '<rect x="1" y="1" width="8" height="8"/>',
        '<rect x="1.01" y="1.01" width="7.98" height="7.98"/>',
        '<circle cx="5" cy="5" r="5.7"/>',
        '<path d="M1 1H9V9H1z"/>',
        '<rect x="1" y="1" width="4" height="8"/><rect x="5" y="1" width="4" height="8"/>',
        '<use href="#block"/>',
        '<use href="#block" x="1" transform="translate(-1)"/>',
        '<g/><rect width="1" height="1"/><rect width="10" height="10"/>'.replace("<g/>", "<title>t</title>"),
        '<path d="M0 0H10V10H0zM4 4H6V6H4z"/>',  # nonzero, both the same way round: no hole
    ],
)
def test_a_clip_around_the_shape_is_not_worth_a_note(clip):
    assert clip_notes(clip, BLOCK) == []


@pytest.mark.parametrize(
    "clip",
    [
        '<rect width="5" height="10"/>',
        '<circle cx="5" cy="5" r="5.6"/>',
        "",
        '<rect width="10" height="10" display="none"/>',
        '<rect width="10" height="10" visibility="hidden"/>',
        '<rect width="10" height="10" transform="translate(5)"/>',
        '<path d="M0 0H10V10H0zM4 4H6V6H4z" clip-rule="evenodd"/>',
        '<path d="M0 0H10V10H0zM4 4V6H6V4z"/>',
        "<text>A</text>",
        '<use href="#nothing"/>',
    ],
)
def test_a_clip_that_cuts_is_noted(clip):
    assert clip_notes(clip, BLOCK) == ["block"]


def test_only_the_shapes_that_reach_out_are_noted_with_their_place():
    body = BLOCK + '<path id="rope" d="M0 5H20" stroke="#000"/>'
    drawing = read(f'<clipPath id="c"><rect width="10" height="10"/></clipPath><g clip-path="url(#c)">{body}</g>')
    # Inside of the page nothing is cut off, so only the page is worth a word.
    (note,) = drawing.notes
    assert note.code == "beyond-page"
    assert note.at == pytest.approx((10, 5))
    assert "rope" in note.message
    assert [box(shape)[2] for shape in drawing.shapes] == [9, 20]


PAGE_CLIP = '<clipPath id="c"><rect width="10" height="10"/></clipPath>'
BLEED = '<path id="sea" d="M-1 6C2 4 8 4 11 6V11H-1z" fill="navy" clip-path="url(#c)"/>'


@pytest.mark.parametrize(
    "clip",
    [
        PAGE_CLIP,
        '<clipPath id="c"><rect x="-.5" y="-.5" width="11" height="11"/></clipPath>',
        '<clipPath id="c"><path d="M-5 -5H15V15H-5z"/><circle r="1"/></clipPath>',
        '<clipPath id="c"><circle cx="5" cy="5" r="7.1"/></clipPath>',
    ],
)
def test_a_clip_that_cuts_nothing_inside_the_page_counts_as_the_page(clip):
    # The viewport of the outermost svg clips as well (SVG 2, section 3.3.3 and the style sheet of user agents).
    notes = read(clip + BLOCK + BLEED).notes
    assert [note.code for note in notes] == ["beyond-page"]
    assert "A part of sea at (5.00, " in notes[0].message


def test_a_clip_that_cuts_inside_the_page_is_told():
    clip = '<clipPath id="c"><rect width="9" height="10"/></clipPath>'
    assert set(codes(read(clip + BLOCK + BLEED))) == {"beyond-page", "clip-ignored"}


def test_without_a_stated_page_nothing_lies_beyond_it():
    assert codes(read('<rect x="-50" width="500" height="500"/>', "", width=5.0)) == []
    assert codes(read('<rect x="-50" width="500" height="500"/>', 'width="3in" height="6in"')) == ["beyond-page"]


def test_the_clip_of_one_shape_moves_with_it():
    clip = '<rect x="1" y="1" width="8" height="8"/>'
    shape = '<rect id="block" x="1" y="1" width="8" height="8" transform="translate(50,3)" clip-path="url(#c)"/>'
    assert clip_notes(clip, shape, "") == []
    outside = '<g transform="translate(50,3)">' + BLOCK + "</g>"
    assert clip_notes(clip, outside) == ["block"]


def test_clips_in_shares_of_the_bounding_box():
    whole = '<clipPath id="w" clipPathUnits="objectBoundingBox"><rect width="{0}" height="1"/></clipPath>'
    shape = '<rect id="block" x="1" y="1" width="8" height="8" clip-path="url(#w)"/>'
    assert codes(read(whole.format(1) + shape)) == []
    assert codes(read(whole.format(0.5) + shape)) == ["clip-ignored"]


def test_masks_and_clips_that_cannot_be_judged_are_noted():
    body = '<mask id="m"><rect width="5" height="10" fill="#fff"/></mask>'
    assert codes(read(body + BLOCK.replace("/>", ' mask="url(#m)"/>'))) == ["clip-ignored"]
    assert codes(read(BLOCK.replace("/>", ' style="clip-path:circle(3px)"/>'))) == ["clip-ignored"]


def test_a_clip_that_does_not_exist_does_not_clip():
    assert codes(read(BLOCK.replace("/>", ' clip-path="url(#nothing)" mask="url(#none)"/>'))) == []


def test_the_edge_of_a_nested_drawing_clips_unless_it_is_visible():
    nested = '<svg width="5" height="10" {0}>' + BLOCK + "</svg>"
    assert codes(read(nested.format(""))) == ["clip-ignored"]
    assert codes(read(nested.format('overflow="visible"'))) == []
    assert codes(read(nested.format('style="overflow:visible"'))) == []
    symbol = '<symbol id="s" viewBox="0 0 {0} 10">' + BLOCK + '</symbol><use href="#s" width="10" height="10"/>'
    assert codes(read(symbol.format(10))) == []
    # Its edge is that of the page here, which hides the same.
    assert codes(read(symbol.format(5))) == ["beyond-page"]
    assert codes(read(symbol.format(5).replace('<use href="#s" width="10"', '<use href="#s" width="5"'))) == [
        "clip-ignored"
    ]


def test_many_clips_over_one_another():
    body = BLOCK
    for _ in range(50):
        body = f'<g clip-path="url(#c)">{body}</g>'
    assert clip_notes('<circle cx="5" cy="5" r="5.7"/>', body, "") == []


def test_notes_do_not_depend_on_the_size_of_the_file():
    data = svg(f'<clipPath id="c"><rect width="10" height="10"/></clipPath><g clip-path="url(#c)">{BLOCK}</g>')
    for width in (0.5, 8.0, 5000.0):
        assert read_svg(data, source="t.svg", width=width).notes == ()


# White that is fabric ------------------------------------------------------------------------------------------

WHITE = '<rect id="white" width="10" height="10" fill="#fff"/>'
ROUND = {
    "a disc": '<circle id="buoy" cx="5" cy="5" r="3" fill="firebrick"/>',
    "an ellipse": '<ellipse cx="5" cy="5" rx="3" ry="2" fill="firebrick"/>',
    "a sail with one curved side": '<path d="M2 8V2C6 2 8 5 8 8z" fill="firebrick"/>',
    "rounded corners": '<rect x="2" y="2" width="6" height="6" rx="1" fill="firebrick"/>',
    "a line drawing": '<path d="M2 5A3 3 0 0 1 8 5Z" fill="none" stroke="#000"/>',
    "a disc of two halves": '<path d="M2 5A3 3 0 0 1 8 5z" fill="teal"/><path d="M2 5A3 3 0 0 0 8 5z" fill="tan"/>',
    "a disc beside a square": '<circle cx="3" cy="5" r="2" fill="red"/><rect x="6" y="6" width="3" height="3"/>',
}
STRAIGHT_SIDED = {
    "a square": BLOCK,
    "a hexagon": '<path d="M5 1L9 3V7L5 9L1 7V3z" fill="teal"/>',
    "a curve inside": BLOCK + '<path d="M1 1A8 8 0 0 1 9 9L1 9z" fill="tan"/>',
    "a disc inside that touches the edge": BLOCK + '<circle cx="5" cy="5" r="4" fill="tan"/>',
    "a disc in a frame of lines": '<path d="M1 1H9V9H1z" fill="none" stroke="#000"/><circle cx="5" cy="5" r="2"/>',
    "curves that are straight": '<path d="M1 1C4 1 6 1 9 1L9 9Q5 9 1 9z" fill="teal"/>',
}


@pytest.mark.parametrize("body", ROUND.values(), ids=ROUND)
def test_white_round_a_motif_is_fabric(body):
    names, notes = kept(WHITE + body)
    assert names[0] == "white"
    assert notes == ["white-is-fabric"]
    assert kept(WHITE + body, white="fabric")[0] == names
    assert kept(WHITE + body, white="fabric")[1] == []
    assert kept(WHITE + body, white="paper") == (names[1:], ["page-left-out"])


@pytest.mark.parametrize("body", STRAIGHT_SIDED.values(), ids=STRAIGHT_SIDED)
def test_white_round_a_straight_sided_block_is_the_page(body):
    names, notes = kept(WHITE + body)
    assert "white" not in names
    assert notes == ["page-left-out"]
    names, notes = kept(WHITE + body, white="fabric")
    assert (names[0], notes) == ("white", [])


def test_white_that_is_said_to_be_paper_may_be_smaller_than_the_page_and_be_reached():
    small = '<rect x="1" y="1" width="8" height="8" fill="#fff"/><path id="a" d="M1 5H9V9H1z" fill="teal"/>'
    assert kept(small)[1] == []
    assert kept(small, white="paper") == (["a"], ["page-left-out"])
    assert kept(BLOCK, white="paper") == (["block"], [])


def test_the_width_is_that_of_what_counts():
    disc = ROUND["a disc"]
    assert box(read(WHITE + disc, width=5.0).shapes[0]) == (0, 0, 5, 5)
    assert box(read(WHITE + disc, width=3.0, white="paper").shapes[0])[2] == pytest.approx(4, abs=1e-6)


HILLS = '<path id="hills" d="M0 6C3 4 7 8 10 6V10H0z" fill="green"/>'
CUT_BY_THE_PAGE = {
    "hills up to the edges": HILLS,
    "hills that bleed": '<path id="hills" d="M-1 6C3 4 7 8 11 6V11H-1z" fill="green"/>',
    "a disc that bleeds": '<circle id="hills" cx="5" cy="5" r="6" fill="green"/>',
}


@pytest.mark.parametrize("body", CUT_BY_THE_PAGE.values(), ids=CUT_BY_THE_PAGE)
def test_white_beside_what_the_page_cuts_is_fabric(body):
    for options in ({}, {"white": "fabric"}):
        names, notes = kept(WHITE + body, **options)
        assert names == ["white", "hills"]
        assert set(notes) <= {"beyond-page"}
    names, notes = kept(WHITE + body, white="paper")
    assert names == ["hills"]
    assert notes[0] == "page-left-out"


def test_white_sky_over_hills_is_a_patch_and_no_sky_is_none():
    (block,) = build_blocks(read(WHITE + HILLS))
    assert sorted(patch.fabric for patch in block.patches) == ["#008000", "#ffffff"]
    assert (block.width, block.height) == (10, 10)
    (block,) = build_blocks(read(WHITE + HILLS, white="paper"))
    assert [patch.fabric for patch in block.patches] == ["#008000"]
    assert block.height < 5


def test_a_block_that_fills_the_page_hides_its_white():
    full = '<path d="M0 0H5V10H0z" fill="teal"/><path d="M5 0H10V10H5z" fill="tan"/>'
    for options in ({}, {"white": "paper"}, {"white": "fabric"}):
        (block,) = build_blocks(read(WHITE + full, **options))
        assert sorted(patch.fabric for patch in block.patches) == ["#008080", "#d2b48c"]
