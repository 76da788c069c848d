"""What is said of the size where a file states none (CSS Values and Units 4, section 6.2: 96 px are one inch)."""

import re

import pytest

from seamtree.drawing.svg.read import read_svg
from seamtree.remedies import WIDTH
from tests.drawing.svg.helps import codes, read, read_file

BLOCK = '<rect width="864" height="576" fill="teal"/>'
BOX = 'viewBox="0 0 864 576"'
INKSCAPE = 'xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape" inkscape:version="{}"'
ILLUSTRATOR = "<!-- Generator: Adobe Illustrator 27.2.0, SVG Export Plug-In . SVG Version: 6.00 Build 0)  -->"


def read_root(root, before="", **options):
    text = f'<?xml version="1.0"?>{before}<svg xmlns="http://www.w3.org/2000/svg" {root}>{BLOCK}</svg>'
    return read_svg(text.encode(), source="t.svg", **options)


def width(drawing):
    return max(x for shape in drawing.shapes for track in shape.tracks for x, _ in track.points)


@pytest.mark.parametrize(
    "root",
    [
        BOX,
        f'width="100%" height="100%" {BOX}',
        f'width="100%" {BOX}',
        f'width="auto" {BOX}',
        f'width="864" height="576" {BOX}',
        f'width="864px" height="576px" {BOX}',
        'width="864" height="576"',
        "",
        f'{BOX} xmlns:serif="http://www.serif.com/"',  # counts as the document says
        f'{BOX} xmlns:sketch="http://www.bohemiancoding.com/sketch/ns"',
    ],
)
def test_a_file_without_a_physical_size_says_so_with_the_sizes_that_it_may_have(root):
    drawing = read_root(root)
    assert width(drawing) == pytest.approx(9)
    (note,) = (note for note in drawing.notes if note.code != "beyond-page")
    assert (note.code, note.remedies) == ("size-assumed", (WIDTH,))
    assert note.message == (
        "The file states no physical size: 864 × 576 px were read as 9 × 6 in, 96 px to the inch. At 72 it is 12 × 8 "
        "in (`width` 12in), at 90 it is 9.6 × 6.4 in (`width` 9.6in) and at 300 it is 2.88 × 1.92 in (`width` 2.88in)."  # noqa: E501
    )
    for told, wide in re.findall(r"it is ([\d.]+) × .*?`width` ([\d.]+)in", note.message):
        again = read_root(root, width=float(wide))
        assert width(again) == pytest.approx(float(told))
        assert "size-assumed" not in codes(again)


@pytest.mark.parametrize(
    ("root", "inches"),
    [
        (f'width="9in" height="6in" {BOX}', 9),
        (f'width="9in" {BOX}', 9),
        (f'width="100%" height="6in" {BOX}', 9),
        (f'width="228.6mm" height="152.4mm" {BOX}', 9),
        (f'width="22.86cm" height="15.24cm" {BOX}', 9),
        (f'width="648pt" height="432pt" {BOX}', 9),
        (f'width="54pc" height="36pc" {BOX}', 9),
        (f'width="914.4Q" height="609.6Q" {BOX}', 9),
        (f'width=" 9in " height="6in" {BOX}', 9),
    ],
)
def test_a_physical_size_is_not_worth_a_word(root, inches):
    for before in ("", ILLUSTRATOR):
        drawing = read_root(root, before)
        assert (width(drawing), codes(drawing)) == (pytest.approx(inches), [])
    assert width(read_root(root + " " + INKSCAPE.format("0.48.4 r9939"))) == pytest.approx(inches)


@pytest.mark.parametrize(
    ("root", "before", "count", "code"),
    [
        (f'{INKSCAPE.format("0.48.4 r9939")} width="864" height="576"', "", 90, "size-by-editor"),
        (f"{INKSCAPE.format('0.91 r13725')} {BOX}", "", 90, "size-by-editor"),
        (f"{INKSCAPE.format('0.92.4 (5da689c313, 2019-01-14)')} {BOX}", "", 96, None),
        (f"{INKSCAPE.format('1.3.2 (091e20e, 2023-11-25)')} {BOX}", "", 96, None),
        (f"{INKSCAPE.format('my own')} {BOX}", "", 96, "size-assumed"),
        (BOX, ILLUSTRATOR, 72, "size-by-editor"),
        (f'width="864px" height="576px" {BOX}', ILLUSTRATOR, 72, "size-by-editor"),
        (f'{BOX} xmlns:i="http://ns.adobe.com/AdobeIllustrator/10.0/"', "", 72, "size-by-editor"),
        (BOX, "<!-- drawn by hand -->", 96, "size-assumed"),
        (f'{BOX} data-editor="Adobe Illustrator"', "", 96, "size-assumed"),
    ],
)
def test_an_editor_that_names_itself_decides(root, before, count, code):
    drawing = read_root(root, before)
    assert width(drawing) == pytest.approx(864 / count)
    assert codes(drawing) == ([code] if code else [])
    if code == "size-by-editor":
        assert f"{count} px to the inch, as " in drawing.notes[0].message
    wide = read_root(root, before, width=6.0)
    assert (width(wide), codes(wide)) == (pytest.approx(6), [])


def test_the_page_and_the_tolerance_are_those_of_the_finished_size():
    page = '<rect width="10" height="10" fill="#fff"/>'
    small = '<rect x=".02" y=".02" width="9.96" height="9.96"/>'
    assert codes(read(page + small, 'viewBox="0 0 10 10" width="10in"')) == []
    assert codes(read(page + '<rect x=".03" y=".03" width="9.94" height="9.94"/>')) == ["page-left-out"]


def test_files_as_editors_save_them():
    assert "size-assumed" not in codes(read_file("illustrator_lighthouse.svg"))
    assert "size-assumed" not in codes(read_file("inkscape_dinghy.svg"))
