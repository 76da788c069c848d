"""The pack read back: page sizes, test squares, foundations, texts, fonts."""

from __future__ import annotations

import io
import re
from collections import Counter
from functools import cache
from pathlib import Path

import pypdf
import pytest
import shapely

import seamtree
from seamtree.block.model import Block
from seamtree.errors import SeamtreeError
from seamtree.fabric import fabric_words
from seamtree.pattern.pack import Options, render_foundations, render_pack
from seamtree.pattern.paper import PAPERS
from tests.pattern.printed import INCH, Document, read_document
from tests.search.test_parts import squares
from tests.support import layouts

SAMPLES = Path(__file__).parents[2] / "samples"

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
"""Drawings whose foundations need not be parted."""


@cache
def planned(name: str, width: float | None = None):
    return tuple(seamtree.plan(block) for block in seamtree.read(SAMPLES / name, width=width))


@cache
def printed(name: str, paper: str, allowance: float = 0.25, width: float | None = None, sheets_only: bool = True):
    options = Options(paper=PAPERS[paper], allowance=allowance, sheets_only=sheets_only)
    return read_document(render_pack(planned(name, width), options, title=name))


def solid_outlines(document: Document, page: int):
    return [o.points for o in document.outlines if o.page == page and not o.dashed]


def square_bounds(document: Document, page: int):
    """Return the bounds of the test squares: the words inside them tell them."""
    found = []
    for words in ("1 in", "3 cm"):
        (said,) = [s for s in document.said if s.page == page and s.text == words]
        around = [p for p in solid_outlines(document, page) if shapely.Polygon(p).contains(shapely.Point(said.at))]
        (square,) = [p for p in around if len(p) == 4]
        found.append(shapely.Polygon(square).bounds)
    return found


@pytest.mark.parametrize("sheets_only", [True, False])
@pytest.mark.parametrize("paper", list(SIZES))
def test_every_page_has_its_size_its_test_squares_and_its_margins(paper, sheets_only):
    document = printed("tide-pool.svg", paper, sheets_only=sheets_only)
    assert len(document.sizes) > 3
    for page, size in enumerate(document.sizes):
        assert size == pytest.approx(SIZES[paper], abs=0.01)
        for (left, top, right, bottom), side in zip(square_bounds(document, page), (72, 85.04), strict=True):
            assert (right - left, bottom - top) == pytest.approx((side, side), abs=0.01)
        left, top, right, bottom = document.boxes[page]
        margin = 0.375 * INCH - 0.01
        assert left >= margin
        assert top >= margin
        assert right <= size[0] - margin
        assert bottom <= size[1] - margin


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
    document = printed(name, paper, allowance)
    plans = planned(name)
    told = labels(document, {unit.name for plan in plans for unit in plan.units()})
    wanted = [(plan, patch, number) for plan in plans for patch, number in plan.patch_ids().items()]
    assert Counter(said.text for said, _ in told) == Counter(number for _, _, number in wanted)
    blocks = {id(plan): fabric_words(p.fabric for p in plan.block.patches) for plan in plans}
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
                word = blocks[id(plan)][plan.block.patches[patch].fabric]
                follows = " ".join(after).startswith(word)
                assert follows or f"{number.removeprefix(unit.name)} {word}" in texts
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
    document = printed(name, paper, allowance)
    for page in range(len(document.sizes)):
        areas = [shapely.Polygon(o.points) for o in document.outlines if o.dashed and o.page == page]
        assert areas
        areas += [shapely.box(*square) for square in square_bounds(document, page)]
        assert shapely.union_all(areas).area == pytest.approx(sum(area.area for area in areas))


def test_a_foundation_larger_than_a_page_comes_in_parts_that_overlap():
    document = printed("dinghy.svg", "a4", 0.25, 24.0)
    (plan,) = planned("dinghy.svg", 24.0)
    told = labels(document, {"A"})
    assert Counter(said.text for said, _ in told) == Counter(plan.patch_ids().values())
    words = fabric_words(p.fabric for p in plan.block.patches)
    fabrics = {number: words[plan.block.patches[p].fabric] for p, number in plan.patch_ids().items()}
    assert all(" ".join(after).startswith(fabrics[said.text]) for said, after in told)
    captions = [s.text for s in document.said if s.text.startswith("Unit A, part ")]
    assert captions == [f"Unit A, part {n} of {len(captions)}" for n in range(1, len(captions) + 1)]
    assert len(captions) == len(document.sizes) == 12
    # Every alignment mark is on two parts or, where four parts meet, on more.
    marks = Counter(s.text for s in document.said if re.fullmatch("[a-z]{1,2}", s.text))
    assert len(marks) == 2 * (3 * 3 + 4 * 2)
    assert min(marks.values()) == 2
    assert all(s.text not in marks for s in document.said if s.text in fabrics)


def test_an_absurd_size_is_refused():
    with pytest.raises(SeamtreeError, match="is the width of the drawing right"):
        render_pack(planned("dinghy.svg", 600.0), Options(sheets_only=True), title="dinghy")


def test_fonts_are_embedded_and_texts_can_be_copied():
    data = render_pack(planned("gull.svg"), Options(), title="gull")
    reader = pypdf.PdfReader(io.BytesIO(data))
    embedded = set()
    for page in reader.pages:
        for font in page["/Resources"]["/Font"].values():
            descriptor = font.get_object()["/FontDescriptor"]
            assert "/FontFile2" in descriptor
            embedded.add(descriptor["/FontName"])
        assert "Print at actual size" in page.extract_text()
        assert not page.images
    assert embedded
    assert reader.metadata.title == "gull"
    assert not reader.metadata.author


def test_the_same_plan_gives_the_same_bytes():
    first, second = (render_pack(planned("gull.svg"), Options(), title="gull") for _ in range(2))
    assert first == second


def test_names_and_fabrics_of_any_script_are_printed():
    block = Block.from_polygons(
        [[(0, 0), (2, 0), (2, 2), (0, 2)], [(2, 0), (4, 0), (4, 2), (2, 2)]],
        fabrics=["<b>&amp; 海", "ő " * 60],
        name="<i>灯台</i> & \u202e",
    )
    document = read_document(render_pack([seamtree.plan(block)], Options(), title=block.name))
    assert any("<i>??</i> &" in text for text in document.texts)
    assert any("<b>&amp; ?" in text for text in document.texts)


def test_foundation_files_are_named_by_block_and_unit():
    files = render_foundations([seamtree.plan(squares(3, 3))], Options())
    assert list(files) == ["block-A.svg", "block-B.svg", "block-C.svg"]


def test_nothing_however_long_leaves_the_page():
    block = Block.from_polygons(
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
    plan = seamtree.plan(Block.from_polygons(layouts.hexagon_flower()))
    assert plan.counts.hard_corners
    document = read_document(render_pack([plan], Options(), title="flower"))
    assert any("stop exactly at" in text for text in document.texts)
