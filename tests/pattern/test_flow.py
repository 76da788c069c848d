"""Text in columns: nothing is lost between pages."""

import io

import pypdf

from seamtree.pattern.flow import Column, Swatch
from seamtree.pattern.fonts import printable
from seamtree.pattern.paper import MARGIN, PAPERS
from seamtree.pattern.pdf import wrap, write_pages

A4 = PAPERS["a4"]


def texts(column):
    data = write_pages(column.pages("buoy"), A4, title="buoy")
    return [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]


def test_paragraphs_go_on_on_the_next_page():
    column = Column(A4)
    for n in range(150):
        column.paragraph(f"paragraph<{n}>", head="Head & tail:", number=n)
    pages = texts(column)
    assert len(pages) > 1
    assert [n for n in range(150) if f"paragraph<{n}>" not in "".join(pages)] == []
    assert "Page 2 of" in pages[1]


def test_a_long_table_repeats_its_heads():
    column = Column(A4)
    column.heading("A heading")
    column.table(("", "Fabric"), [(Swatch("#ff0000"), f"row {n}") for n in range(120)], (1, 5))
    pages = texts(column)
    assert all("Fabric" in page for page in pages)
    assert all(f"row {n}\n" in "\n".join(pages) + "\n" for n in range(120))


def test_rows_that_belong_together_stay_on_one_page():
    column = Column(A4)
    rows = [(f"group {n}", f"row {n}.{k}") for n in range(20) for k in range(7)]
    column.table(("Group", "Row"), rows, (1, 5), together=[7] * 20)
    pages = texts(column)
    assert len(pages) > 2
    for n in range(20):
        (page,) = (page for page in pages if f"row {n}." in page)
        assert all(f"row {n}.{k}" in page for k in range(7))


def test_rows_that_fill_more_than_a_page_are_not_lost():
    column = Column(A4)
    column.paragraph("before")
    column.table(("", ""), [("", f"row<{n}>") for n in range(80)], (1, 5), together=[80])
    pages = "".join(texts(column))
    assert all(f"row<{n}>" in pages for n in range(80))


def test_a_heading_is_not_left_alone():
    column = Column(A4)
    while column.left > 0.5:
        column.paragraph("line")
    column.heading("Alone")
    column.paragraph("not alone")
    pages = texts(column)
    assert "Alone" in pages[1]
    assert "Alone" not in pages[0]


def test_a_drawing_that_has_no_room_begins_a_page():
    column = Column(A4)
    seen = []
    column.paragraph("line")
    column.drawing(A4.room[1], lambda _pen, corner: seen.append(corner))
    assert len(texts(column)) == 2
    assert seen == [(MARGIN, MARGIN)]


def test_text_is_written_as_it_is_as_far_as_any_font_can():
    assert printable("č ő\n海\u202e½") == "č ő 海 ½"
    assert printable("ａ\u0e01") == "ａ□"
    assert wrap("one two three", 10, 45) == ["one two", "three"]
