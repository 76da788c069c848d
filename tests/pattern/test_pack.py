"""The pack read back: page sizes, test squares, foundations, texts, fonts."""

from __future__ import annotations

import io
import re
from collections import Counter

import pdfplumber
import pypdf
import pytest
import shapely

import seamtree
from seamtree.block.build import block_from_polygons
from seamtree.errors import SeamtreeError
from seamtree.pattern.fabrics import fabrics_of_blocks
from seamtree.pattern.fonts import text_width
from seamtree.pattern.foundation import build_foundations
from seamtree.pattern.keys import Key
from seamtree.pattern.pack import Options, make_pack, render_foundations, render_pack
from seamtree.pattern.paper import PAPERS
from seamtree.pattern.pdf import Page, Pen, write_pages
from seamtree.pattern.work import BlockWork, build_work
from tests.pattern.printed import INCH, Document, read_document
from tests.search.straight.test_parts import squares
from tests.support import layouts
from tests.support.samples import packed, planned, printed

CLOSE = 0.1
"""Points."""

SIZES = {
    "a4": (210 * INCH / 25.4, 297 * INCH / 25.4),  # ISO 216
    "letter": (8.5 * INCH, 11 * INCH),  # US Letter
}

WHOLE = [
    ("lighthouse.svg", "a4", 0.25),
    ("compass.svg", "letter", 0.25),
    ("net-shed.svg", "a4", 0.25),
    ("rope-coil.svg", "letter", 0.3),
    ("beach-huts.svg", "a4", 0.25),
]
"""Drawings whose foundations need no tiles."""

SHEETS = ("foundations",)


def solid_outlines(document: Document, page: int):
    return [o.points for o in document.outlines if o.page == page and not o.dashed]


def squares_on(document: Document, page: int):
    """Return the bounds of the test squares: the words inside them tell them."""
    found = []
    for words in ("1 in", "3 cm"):
        for said in document.said:
            if said.page == page and said.text == words:
                around = [
                    p for p in solid_outlines(document, page) if shapely.Polygon(p).contains(shapely.Point(said.at))
                ]
                found += [shapely.Polygon(p).bounds for p in around if len(p) == 4]
    return found


@pytest.mark.parametrize("pages", [("foundations",), None])
@pytest.mark.parametrize("paper", list(SIZES))
def test_every_page_has_its_size_and_its_margins_and_one_the_test_squares(paper, pages):
    document = printed("tide-pool.svg", paper=paper, pages=pages)
    assert len(document.sizes) >= 3
    squared = [page for page in range(len(document.sizes)) if squares_on(document, page)]
    sheets = [page for page, text in enumerate(document.texts) if "Foundations, sheet" in text]
    assert squared == sheets[:1]
    for page, size in enumerate(document.sizes):
        assert size == pytest.approx(SIZES[paper], abs=0.01)
        left, top, right, bottom = document.boxes[page]
        margin = 0.375 * INCH - 0.01
        assert left >= margin
        assert top >= margin
        assert right <= size[0] - margin
        assert bottom <= size[1] - margin
    for (left, top, right, bottom), side in zip(squares_on(document, squared[0]), (72, 85.04), strict=True):
        assert (right - left, bottom - top) == pytest.approx((side, side), abs=0.01)


def labels(document: Document, letters: set[str]):
    """Return the printed numbers: page, number, place; and what is said after each."""
    number = re.compile(rf"({'|'.join(sorted(letters, key=len, reverse=True))})[0-9]+")
    found = []
    for said in document.said:
        if number.fullmatch(said.text):
            found.append([said, []])
        elif found and said.page == found[-1][0].page:
            found[-1][1].append(said.text)
    return found


def motion(source, target):
    """Return the turn and the shift that lead from one ring to another, and how far off they are at most."""
    a, b = ([complex(x, y) for x, y in ring] for ring in (source, target))
    middle_a, middle_b = sum(a) / len(a), sum(b) / len(b)
    turn = sum((q - middle_b) * (p - middle_a).conjugate() for p, q in zip(a, b, strict=True))
    turn /= abs(turn)
    shift = middle_b - turn * middle_a
    return turn, shift, max(abs(turn * p + shift - q) for p, q in zip(a, b, strict=True))


@pytest.mark.parametrize(("name", "paper", "allowance"), WHOLE)
def test_every_patch_is_printed_mirrored_at_true_scale_with_its_number_and_fabric(name, paper, allowance):
    document = printed(name, paper=paper, allowance=allowance, pages=SHEETS)
    plans = planned(name)
    told = labels(document, {unit.name for plan in plans for unit in plan.units()})
    wanted = [(plan, patch, number) for plan in plans for patch, number in plan.patch_ids().items()]
    assert Counter(said.text for said, _ in told) == Counter(number for _, _, number in wanted)
    fabrics = fabrics_of_blocks(plan.block for plan in plans)
    texts = " ".join(said.text for said in document.said)
    for plan in plans:
        for unit in plan.units():
            moves = []
            for patch in unit.patches:
                number = plan.patch_ids()[patch]
                mirrored = [(-x * INCH, y * INCH) for x, y in plan.block.polygon(patch)]
                candidates = [entry for entry in told if entry[0].text == number]
                fits = []
                for said, after in candidates:
                    around = [
                        ring
                        for ring in solid_outlines(document, said.page)
                        if len(ring) == len(mirrored) and shapely.Polygon(ring).contains(shapely.Point(said.at))
                    ]
                    fits += [(*motion(mirrored, ring), said, after) for ring in around]
                turn, shift, off, said, after = min(fits, key=lambda fit: fit[2])
                assert off < CLOSE
                moves.append((turn, shift))
                code = fabrics.of(plan.block.patches[patch].fabric).code
                follows = " ".join(after).startswith(code)
                assert follows or f"{number.removeprefix(unit.name)} {code}" in texts
            # All patches of a unit lie as they do in the block: one motion for all of them.
            assert max(abs(turn - moves[0][0]) for turn, _ in moves) < 1e-3
            area = shapely.union_all([shapely.Polygon(plan.block.polygon(p)) for p in unit.patches])
            # GEOS has its own way to offset; it leaves out bends of less than a hundredth of the distance.
            trim = area.buffer(allowance, join_style="mitre", mitre_limit=4.0)
            turn, shift = moves[0]
            ring = [turn * complex(-x * INCH, y * INCH) + shift for x, y in trim.exterior.coords]
            meant = shapely.LinearRing([(z.real, z.imag) for z in ring])
            dashed = [shapely.LinearRing(o.points) for o in document.outlines if o.dashed and o.page == said.page]
            assert min(line.hausdorff_distance(meant) for line in dashed) < CLOSE


@pytest.mark.parametrize(("name", "paper", "allowance"), WHOLE)
def test_foundations_do_not_overlap(name, paper, allowance):
    document = printed(name, paper=paper, allowance=allowance, pages=SHEETS)
    for page in range(len(document.sizes)):
        areas = [shapely.Polygon(o.points) for o in document.outlines if o.dashed and o.page == page]
        assert areas or "Key to the foundations" in document.texts[page]
        areas += [shapely.box(*square) for square in squares_on(document, page)]
        assert shapely.union_all(areas).area == pytest.approx(sum(area.area for area in areas))


def test_a_foundation_larger_than_a_page_comes_in_tiles_that_overlap():
    document = printed("dinghy.svg", width=24.0, pages=SHEETS)
    (plan,) = planned("dinghy.svg", 24.0)
    told = labels(document, {"A"})
    assert Counter(said.text for said, _ in told) == Counter(plan.patch_ids().values())
    known = fabrics_of_blocks([plan.block])
    fabrics = {number: known.of(plan.block.patches[p].fabric).code for p, number in plan.patch_ids().items()}
    assert all(" ".join(after).startswith(fabrics[said.text]) for said, after in told)
    captions = [s.text for s in document.said if s.text.startswith("Unit A, tile ")]
    assert captions == [f"Unit A, tile {n} of {len(captions)}" for n in range(1, len(captions) + 1)]
    assert len(captions) == len(document.sizes) == 12
    # Every alignment mark is on two tiles or, where four tiles meet, on more.
    marks = Counter(s.text for s in document.said if re.fullmatch("[a-z]{1,2}", s.text) and s.text != "up")
    assert len(marks) == 2 * (3 * 3 + 4 * 2)
    assert min(marks.values()) == 2
    assert all(s.text not in marks for s in document.said if s.text in fabrics)


def test_an_absurd_size_is_refused():
    with pytest.raises(SeamtreeError, match="is the width of the drawing right"):
        render_pack(planned("dinghy.svg", 600.0), Options(pages=("foundations",)), title="dinghy")


def test_fonts_are_embedded_and_texts_can_be_copied():
    reader = pypdf.PdfReader(io.BytesIO(packed("gull.svg").pdf))
    embedded = set()
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object()["/FontDescriptor"]
            assert "/FontFile2" in descriptor
            embedded.add(descriptor["/FontName"])
        assert " of 7" in page.extract_text()
        assert not page.images
    assert embedded
    assert reader.metadata.title == "gull"
    assert not reader.metadata.author


def test_the_same_plan_gives_the_same_bytes():
    assert render_pack(planned("gull.svg"), Options(), title="gull") == packed("gull.svg").pdf


@pytest.mark.parametrize(
    "name",
    [
        "Þorskur, ørn, łódź, ştiucă, hajó ő ű, čáp, ģints, žirgas, kızıl",
        "Φάρος και γλάρος",
        "Маяк и чайка, ґанок, ђ",
        "灯台とカモメ、潮だまり",
    ],
)
def test_names_of_every_script_are_printed_as_they_are(name):
    block = block_from_polygons(
        [[(0, 0), (2, 0), (2, 2), (0, 2)], [(2, 0), (4, 0), (4, 2), (2, 2)]],
        fabrics=[name[:20], "#205070"],
        name=name,
    )
    data = render_pack([seamtree.plan(block)], Options(), title=block.name)
    text = "".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    plain = re.sub(r"\s", "", text)
    assert re.sub(r"\s", "", name) in plain
    assert re.sub(r"\s", "", name[:20]) in plain
    assert "?" not in text
    assert "□" not in text
    assert len(data) < 400_000  # subsets, not whole fonts


def test_mark_up_in_names_is_printed_as_it_is():
    block = block_from_polygons(
        [[(0, 0), (2, 0), (2, 2), (0, 2)], [(2, 0), (4, 0), (4, 2), (2, 2)]],
        fabrics=["<b>&amp; 海", "ő " * 60],
        name="<i>灯台</i> & \u202e",
    )
    document = read_document(render_pack([seamtree.plan(block)], Options(), title=block.name))
    assert any("<i>灯台</i> &" in text for text in document.texts)
    assert any("<b>&amp; 海" in text for text in document.texts)


def test_foundation_files_are_named_by_block_and_unit():
    files = render_foundations([seamtree.plan(squares(3, 3))], Options())
    assert list(files) == ["block-A.svg", "block-B.svg", "block-C.svg"]


def test_nothing_however_long_leaves_the_page():
    block = block_from_polygons(
        [[(0, 0), (0.2, 0), (0.2, 2), (0, 2)], [(0.2, 0), (4, 0), (4, 2), (0.2, 2)]],
        fabrics=["x" * 300, "word " * 200],
        name="n" * 300,
    )
    document = read_document(render_pack([seamtree.plan(block)], Options(), title=block.name))
    for (left, top, right, bottom), (width, height) in zip(document.boxes, document.sizes, strict=True):
        margin = 0.375 * INCH - 0.01
        assert left >= margin
        assert top >= margin
        assert right <= width - margin
        assert bottom <= height - margin


def test_a_honeycomb_is_packed_with_all_its_corners():
    plan = seamtree.plan(block_from_polygons(layouts.hexagon_flower()))
    assert plan.counts.hard_corners
    document = read_document(render_pack([plan], Options(), title="flower"))
    assert any("stop exactly at" in " ".join(text.split()) for text in document.texts)


def test_the_samples_take_few_pages():
    assert packed("gull.svg").pages <= 7
    assert packed("tide-pool.svg").pages <= 6


@pytest.mark.parametrize("name", ["gull.svg", "tide-pool.svg", "net-shed.svg", "beach-huts.svg"])
def test_key_and_names_stand_on_every_sheet(name):
    document = printed(name, pages=None if name == "gull.svg" else SHEETS)
    fabrics = fabrics_of_blocks(plan.block for plan in planned(name))
    apart = any("Key to the foundations" in text for text in document.texts)
    for page, text in enumerate(document.texts):
        if "oundations" not in text.splitlines()[-1]:
            continue
        if apart and "Key to the foundations" not in text:
            continue
        said = {entry.text for entry in document.said if entry.page == page}
        (block,) = [p.block for p in planned(name) if f"{p.block.name} · " in text]
        used = fabrics.used(patch.fabric for patch in block.patches)
        assert {fabric.code for fabric in used} <= said
        assert {fabric.name for fabric in used} <= said
        assert apart or "up" in said
    units = [u.name for plan in planned(name) for u in plan.units()]
    texts = [entry.text for entry in document.said]
    assert all(f"Unit {unit}" in texts or unit in texts for unit in units)


def test_a_unit_that_touches_itself_is_drawn_with_its_opening():
    left = [(0, 0), (3, 0), (1.5, 3), (3, 3), (3, 6), (0, 6)]
    right = [(3, 0), (6, 0), (6, 6), (3, 6), (3, 3), (4.5, 3)]
    middle = [(3, 0), (4.5, 3), (3, 3), (1.5, 3)]
    plan = seamtree.plan(block_from_polygons([left, right, middle]))
    document = read_document(render_pack([plan], Options(pages=("foundations",)), title="x"))
    texts = [entry.text for entry in document.said]
    assert set(plan.patch_ids().values()) <= set(texts)
    foundations = build_foundations(plan)
    whole = [f for f in foundations if f.openings]
    for foundation in foundations:
        area = shapely.union_all([shapely.Polygon(p.polygon) for p in foundation.patches])
        holes = [shapely.Polygon(ring) for ring, _ in foundation.openings]
        assert shapely.Polygon(foundation.outline).area - sum(h.area for h in holes) == pytest.approx(area.area)
    assert whole
    assert "open" in texts


def test_many_copies_of_a_small_block_share_a_sheet():
    plan = seamtree.plan(squares(2, 2))
    work = build_work([BlockWork(plan, "four", 12, mirrored=4)], title="four")
    made = make_pack(work, Options())
    plain, twins = made.printed
    assert (plain.twin, twins.twin) == (False, True)
    assert plain.at_once * plain.times >= 8
    assert plain.at_once > 1
    assert len(plain.sheets) * plain.times < 8
    document = read_document(made.pdf)
    assert any("mirrored" in text for text in document.texts)


def test_json_says_what_was_packed():
    (plan,) = planned("dinghy.svg")
    made = make_pack([plan])
    told = made.to_json()
    assert told["schema"] == "seamtree-pack/1"
    assert told["pages"] == len(pypdf.PdfReader(io.BytesIO(made.pdf)).pages)
    assert {piece["patch"] for piece in told["pieces"]} == set(plan.patch_ids().values())
    assert {fabric["code"] for fabric in told["fabrics"]} == {piece["fabric"] for piece in told["pieces"]}
    assert [unit["name"] for unit in told["units"]] == [unit.name for unit in plan.units()]


def test_a_page_to_colour_in_has_every_patch_and_no_word_in_it():
    (plan,) = planned("dinghy.svg")
    document = printed("dinghy.svg", pages=("lines", "colouring"))
    assert len(document.texts) == 2
    for page, text in enumerate(document.texts):
        found = [shapely.Polygon(points) for points in solid_outlines(document, page)]
        whole = shapely.union_all(found)
        left, top, right, _ = whole.bounds
        scale = (right - left) / plan.block.width
        for p in range(len(plan.block.patches)):
            patch = shapely.Polygon([(left + scale * x, top + scale * y) for x, y in plan.block.polygon(p)])
            assert any(patch.symmetric_difference(area).area < 1e-3 * patch.area for area in found)
        said = {
            entry.text for entry in document.said if entry.page == page and whole.contains(shapely.Point(entry.at))
        }
        assert said == (set(plan.patch_ids().values()) if "Line drawing" in text else set())
    with pdfplumber.open(io.BytesIO(packed("dinghy.svg", pages=("colouring",)).pdf)) as pdf:
        assert not any(shape["fill"] for shape in (*pdf.pages[0].rects, *pdf.pages[0].curves))


@pytest.mark.parametrize(("paper", "lines"), [("a4", (12, 13, 14)), ("letter", (9, 10, 11))])
def test_no_page_of_text_holds_a_single_leftover_line(paper, lines):
    # Notes so long that without more ado one or two lines of the cutting list would go on on a page of their own.
    plan = seamtree.plan(squares(2, 2))
    counts = set()
    for number in lines:
        work = build_work([BlockWork(plan, "four")], title="four", notes="\n\n".join(["Mind the gulls."] * number))
        made = make_pack(work, Options(paper=PAPERS[paper], pages=("first", "cutting")))
        texts = [page.extract_text().strip() for page in pypdf.PdfReader(io.BytesIO(made.pdf)).pages]
        counts.add(len(texts))
        assert all(len(text.splitlines()) > 2 + 5 for text in texts), texts[-1]  # the foot is two lines
    assert counts == {1, 2}


def test_spaces_between_scripts_are_kept_in_lines_drawn_by_the_pen():
    def draw(pen: Pen) -> None:
        pen.text((1.0, 1.0), "gull чайка 海鴎 x", 9.0)

    (page,) = pypdf.PdfReader(io.BytesIO(write_pages([Page(draw, "", "")], PAPERS["a4"], title="x"))).pages
    starts: list[float] = []
    page.extract_text(visitor_operand_before=lambda op, args, cm, tm: starts.append(tm[4]) if op == b"Tj" else None)
    _, cyrillic, *_ = starts
    assert cyrillic == pytest.approx(
        text_width("gull", 9.0) + text_width("a a", 9.0) - text_width("aa", 9.0), abs=0.01
    )


def test_headings_stand_with_what_they_head():
    plans = [*planned("dinghy.svg"), *planned("beach-huts.svg")]
    options = Options(pages=("first", "contents", "cutting", "directions"))
    document = pypdf.PdfReader(io.BytesIO(render_pack(plans, options, title="Four blocks")))
    texts = [page.extract_text().splitlines() for page in document.pages]
    heads = {"Contents": "Cutting list"} | {plan.block.name: "As it is finished" for plan in plans}
    for head, follows in heads.items():
        pages = [lines for lines in texts if head in lines and follows in "\n".join(lines[lines.index(head) :])]
        assert pages, head


def test_contents_name_the_pictures_at_the_end():
    pages = ("first", "contents", "foundations", "lines", "colouring")
    pack = make_pack(planned("dinghy.svg"), Options(pages=pages))
    first = pypdf.PdfReader(io.BytesIO(pack.pdf)).pages[0].extract_text().splitlines()
    numbers = {name: first[first.index(name) + 1] for name in ("Line drawings", "Pages to colour in")}
    assert numbers == {"Line drawings": str(pack.pages - 1), "Pages to colour in": str(pack.pages)}


def test_one_sheet_printed_twice_is_better_than_two_sheets():
    """Two blocks fill a sheet up to the key, which stands on a page of its own, printed once."""
    block = block_from_polygons([shapely.box(0, y, 4, y + 2) for y in (0, 2, 4)])
    pack = make_pack(build_work([BlockWork(seamtree.plan(block), "strips", copies=4)], title="strips"))
    (units,) = pack.printed
    assert (len(units.sheets), units.at_once, units.times) == (1, 2, 2)
    text = pypdf.PdfReader(io.BytesIO(pack.pdf)).pages[-1].extract_text()
    assert "print 2 times, 2 blocks on it" in text


def test_the_line_to_write_a_fabric_on_keeps_off_the_test_squares():
    block = block_from_polygons([shapely.box(0, 0, 4, 2), shapely.box(0, 2, 4, 4)])
    key = Key(seamtree.plan(block), fabrics_of_blocks([block]))
    boxes = [key.box(number, first=True) for number in range(len(key.boxes.first))]
    (beside,) = (box for box in boxes if box.beside)

    def draw(pen: Pen) -> None:
        key.draw(pen, beside, (1.0, 1.0), ("A",))

    with pdfplumber.open(io.BytesIO(write_pages([Page(draw, "", "")], PAPERS["a4"], title="key"))) as document:
        page = document.pages[0]
        squares = [r for r in page.rects if abs(r["width"] - 72) < 0.01 or abs(r["width"] - 72 * 3 / 2.54) < 0.01]
        (blank,) = (line for line in page.lines if line["top"] == line["bottom"] and abs(line["width"] - 72) < 0.01)
    assert len(squares) == 2
    for square in squares:
        assert square["top"] < blank["top"] < square["bottom"]
        assert blank["x1"] < square["x0"]
