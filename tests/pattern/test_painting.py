"""Pictures of plans on pages, and what they show."""

import io

import pdfplumber
import pypdf

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.pattern.cutting import build_cloths, build_cutting_list
from seamtree.pattern.directions import write_tasks
from seamtree.pattern.flow import Column
from seamtree.pattern.joining_pages import add_joins
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.pack import Options, render_pack
from seamtree.pattern.paper import PAPERS
from seamtree.pattern.pdf import write_pages
from seamtree.pattern.text_pages import add_cutting
from seamtree.pattern.work import BlockWork, build_work
from seamtree.rating import rate
from tests.search.straight.test_parts import squares
from tests.support.samples import packed, plan_of

A4 = PAPERS["a4"]


def colours(page):
    found = set()
    for shape in (*page.rects, *page.curves):
        if shape["fill"] and shape["non_stroking_color"]:
            found.add("#" + "".join(f"{round(255 * float(c)):02x}" for c in shape["non_stroking_color"]))
    return found


def test_the_first_page_shows_every_fabric():
    plan = plan_of("dinghy.svg")
    with pdfplumber.open(io.BytesIO(packed("dinghy.svg").pdf)) as pdf:
        page = pdf.pages[0]
        assert {patch.fabric for patch in plan.block.patches} <= colours(page)
        text = page.extract_text()
    assert "6 × 6 in finished, 6 1/2 × 6 1/2 in with the seam allowance of 1/4 in" in text
    assert "15 patches, 1 unit." in text
    rating = rate(plan)
    assert f"Level: {rating.level} of 5, {rating.word}; all seams straight." in text
    assert "1/8 yd, 10 cm, fat eighth" in text


def test_a_fabric_of_many_sizes_is_named_again_as_more_of_it():
    strips = [[(0, k), (1 + k, k), (1 + k, k + 1), (0, k + 1)] for k in range(13)]
    plan = seamtree.plan(block_from_polygons(strips, fabrics=["#335577"] * 13))
    work = build_work([BlockWork(plan, "steps")], title="steps")
    cuts = build_cutting_list(build_cloths([(plan, 1)], work.fabrics))
    column = Column(A4)
    add_cutting(column, work, cuts, lengths=Lengths(), margin=0.5, step=0.25, fabric_width=40.0)
    with pdfplumber.open(io.BytesIO(write_pages(column.pages("steps"), A4, title="steps"))) as pdf:
        lines = pdf.pages[0].extract_text().splitlines()
    (again,) = (line for line in lines if ", more" in line)
    assert again.startswith(f"{cuts[0].fabric.words}, more 1 2 × 2 in A")


def joins_of(plan):
    column = Column(A4)
    add_joins(column, plan, write_tasks(plan, lengths=Lengths()), paper=A4, lengths=Lengths())
    return column.pages("block")


def test_every_join_has_its_picture_and_its_words():
    plan = seamtree.plan(squares(4, 4))
    with pdfplumber.open(io.BytesIO(write_pages(joins_of(plan), A4, title="block"))) as pdf:
        text = " ".join((page.extract_text() or "") for page in pdf.pages)
    assert all(f"Join {join.step}" in text for join in plan.joins())
    assert "hard corners" not in text


def test_one_unit_has_no_pictures_of_joins():
    assert joins_of(seamtree.plan(squares(1, 3))) == []


def test_hard_corners_are_told_on_the_first_page_and_at_their_join():
    made = packed("net-shed.svg", pages=("first", "directions", "joins"))
    texts = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(made.pdf)).pages]
    assert "Join 3 has a set-in corner at 3.00, 7.60" in texts[0]
    assert any("Order of work" in text and "pivot" in text for text in texts)
    assert any("triangle for a set-in" in text for text in texts)


MARKED = """<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="4in" viewBox="0 0 6 4">
<path d="M0 0H6V2H0Z" fill="#a9cfe3"/><path d="M0 2H6V4H0Z" fill="#1f3a5f"/>
<path d="M1 1L5 3" stroke="#c02020" stroke-width=".05" stroke-dasharray=".1 .1" fill="none"/>
<circle cx="3" cy="0.8" r="0.3" fill="#ff9f1c"/></svg>"""


def test_markings_have_their_colours_on_the_first_page_and_are_listed(tmp_path):
    path = tmp_path / "buoy.svg"
    path.write_text(MARKED)
    plan = seamtree.plan(*seamtree.read(path))
    data = render_pack([plan], Options(pages=("first", "directions")), title="buoy")
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        assert "#ff9f1c" in colours(page)
        drawn = {tuple(round(255 * c) for c in thing["stroking_color"]) for thing in (*page.lines, *page.curves)}
        assert (0xC0, 0x20, 0x20) in drawn
        told = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    assert "1 line in brick red, 4 1/2 in together, on A1 and A2." in told
    assert "1 closed shape in orange, at most 5/8 in across, on A1." in told
    assert "1 line for embroidery and 1 closed shape for buttons or appliqué" in told
