"""Pictures of plans on pages, and what they show."""

import io
from pathlib import Path

import pdfplumber
import pypdf

import seamtree
from seamtree.block.model import Block
from seamtree.pattern.cutting import build_cutting_list
from seamtree.pattern.directions import write_tasks
from seamtree.pattern.joining_pages import joining_pages
from seamtree.pattern.lengths import Lengths
from seamtree.pattern.pack import Options, render_pack
from seamtree.pattern.paper import PAPERS
from seamtree.pattern.pdf import write_pages
from seamtree.pattern.text_pages import cutting_pages
from seamtree.rating import rate
from tests.search.test_parts import squares

SAMPLES = Path(__file__).parents[2] / "samples"
A4 = PAPERS["a4"]


def colours(page):
    found = set()
    for shape in (*page.rects, *page.curves):
        if shape["fill"] and shape["non_stroking_color"]:
            found.add("#" + "".join(f"{round(255 * float(c)):02x}" for c in shape["non_stroking_color"]))
    return found


def test_the_first_page_shows_every_fabric():
    (block,) = seamtree.read(SAMPLES / "dinghy.svg")
    data = render_pack([seamtree.plan(block)], Options(), title="dinghy")
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        assert {patch.fabric for patch in block.patches} <= colours(page)
        text = page.extract_text()
    assert "6 × 6 in finished, 6 1/2 × 6 1/2 in with the seam allowance of 1/4 in" in text
    assert "15 patches, 1 unit." in text
    rating = rate(seamtree.plan(block))
    assert f"Level: {rating.level} of 5, {rating.word}." in text
    assert "1/8 yd, 5 cm or a fat eighth" in text


def test_a_fabric_of_many_sizes_is_named_again_as_more_of_it():
    strips = [[(0, k), (1 + k, k), (1 + k, k + 1), (0, k + 1)] for k in range(13)]
    cuts = build_cutting_list(seamtree.plan(Block.from_polygons(strips, fabrics=["#335577"] * 13)))
    pages = cutting_pages(cuts, "steps", paper=A4, lengths=Lengths(), margin=0.5, step=0.25, fabric_width=40.0)
    with pdfplumber.open(io.BytesIO(write_pages(pages, A4, title="steps"))) as pdf:
        lines = pdf.pages[0].extract_text().splitlines()
    (again,) = (line for line in lines if ", more" in line)
    assert again.startswith(f"{cuts[0].word}, more 1 2 × 2 in A")


def test_every_join_has_its_picture_and_its_words():
    plan = seamtree.plan(squares(4, 4))
    tasks = write_tasks(plan, lengths=Lengths())
    pages = joining_pages(plan, tasks, paper=A4, lengths=Lengths())
    with pdfplumber.open(io.BytesIO(write_pages(pages, A4, title="block"))) as pdf:
        text = " ".join((page.extract_text() or "") for page in pdf.pages)
    assert all(f"Join {join.step}" in text for join in plan.joins())
    assert "hard corners" not in text


def test_one_unit_has_no_joining_diagram():
    plan = seamtree.plan(squares(1, 3))
    assert joining_pages(plan, write_tasks(plan, lengths=Lengths()), paper=A4, lengths=Lengths()) == []


def test_hard_corners_are_told_on_the_first_page_and_at_their_join():
    (block,) = seamtree.read(SAMPLES / "net-shed.svg")
    data = render_pack([seamtree.plan(block)], Options(), title="net-shed")
    texts = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    assert "Join 3 has a set-in corner at 3.00, 7.60" in texts[0]
    diagram = next(text for text in texts if "Joining diagram" in text)
    assert "needle" in diagram
    assert "triangle for a set-in" in diagram
