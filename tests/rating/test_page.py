"""The page of a course, read back with a parser of the standard library."""

from __future__ import annotations

from html.parser import HTMLParser
from urllib.parse import unquote
from xml.etree import ElementTree as ET

import pytest

from seamtree.block.build import block_from_polygons
from seamtree.planning.build import plan
from seamtree.rating import Lesson, default_scale, plan_course, rate
from seamtree.rating.lessons import sections_of
from seamtree.rating.page import POLICY, fabrics_of, render_course_page
from tests.support import layouts

VOID = {"meta", "link", "img", "br", "input"}


class Reader(HTMLParser):
    """Checks that every element is closed, and keeps texts and pictures."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.found: list[tuple[str, dict]] = []
        self.words: list[tuple[str, str]] = []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if data.strip():
            self.words.append((self.open[-1], data.strip()))

    def texts(self, tag: str) -> list[str]:
        return [text for where, text in self.words if where == tag]

    def all(self, tag: str) -> list[dict]:
        return [attrs for name, attrs in self.found if name == tag]


def page(named, practice=1, **more):
    blocks = {name: block_from_polygons(polygons, fabrics=fabrics) for name, (polygons, fabrics) in named.items()}
    plans = {name: [plan(block)] for name, block in blocks.items()}
    lessons = [Lesson(name, tuple(rate(one, changes=False) for one in answers)) for name, answers in plans.items()]
    course = plan_course(lessons, prerequisites=default_scale().prerequisites())
    return render_course_page(
        sections_of(course, default_scale()), plans, title="A course", name=str, practice=practice, **more
    )


CLASS = {
    "four.svg": (layouts.squares(2, 2), ["#112233", "#ffffff"] * 2),
    "geese.svg": (layouts.flying_geese(2), ["#aa0000"] * 6),
    "nine.svg": (layouts.squares(3, 3), None),
    "spun.svg": (layouts.spun_rectangles(), ["#aa0000", *["#00aa00"] * 4]),
    "six.svg": (layouts.squares(3, 2), None),
    "raft.svg": (layouts.squares(2, 2), None),
}


def test_every_lesson_has_its_picture_skills_size_fabrics_and_time():
    read = Reader(page(CLASS))
    assert read.texts("h1") == ["A course"]
    assert read.texts("h2") == ["Level 1: beginner", "Level 2: confident beginner"]
    lessons = read.texts("h3")
    assert lessons == ["Lesson 1: four.svg", "Lesson 2: geese.svg", "Lesson 3: spun.svg"]
    for term in ("New skills", "Level", "Size", "Fabrics", "Time"):
        assert read.texts("dt").count(term) == len(lessons)
    assert "partial seam" in read.texts("li")
    assert "lesson 1" in read.texts("dd")
    assert "4 × 4 in" in read.texts("dd")
    assert any(text.startswith("About ") and "cutting" in text for text in read.texts("dd"))
    # Six and raft follow the first lesson, one of them folded; nine follows the second.
    assert len(read.all("img")) == len(lessons) + 2
    assert read.texts("summary") == ["1 more"]
    # What is folded on the screen is printed.
    printed = [text for where, text in read.words if where == "p" and text.startswith("1 more: ")]
    assert len(printed) == 1


def test_pictures_are_whole_and_in_the_fabrics():
    read = Reader(page(CLASS))
    for image in read.all("img"):
        head, _, body = image["src"].partition(",")
        assert head == "data:image/svg+xml"
        drawn = ET.fromstring(unquote(body))  # noqa: S314
        assert drawn.tag.endswith("svg")
        assert image["alt"].startswith("Block ")
    assert "112233" in unquote(read.all("img")[0]["src"])


@pytest.mark.parametrize(("practice", "shown", "folded"), [(0, 0, 2), (1, 2, 1), (5, 3, 0)])
def test_as_many_blocks_to_practise_as_wanted(practice, shown, folded):
    read = Reader(page(CLASS, practice))
    assert len(read.all("img")) == 3 + shown
    assert len(read.all("details")) == folded


def test_the_page_loads_nothing_and_runs_nothing():
    text = page(CLASS)
    read = Reader(text)
    assert any(meta.get("content") == POLICY for meta in read.all("meta"))
    assert read.all("script") == []
    values = [value for _, attrs in read.found for value in attrs.values() if value]
    assert not any(value.startswith(("http:", "https:", "//")) for value in values)


def test_names_are_text_and_nothing_else():
    evil = '"><script>alert(1)</script>&amp;\n.svg'
    read = Reader(page({evil: (layouts.squares(2, 2), ['<i>"x&', None, "#ffffff", "#000000"])}))
    assert read.all("script") == []
    assert read.texts("h3") == ['Lesson 1: "><script>alert(1)</script>&amp; .svg']
    assert '<i>"x&' in read.texts("li")


def test_the_usual_caution_stands_on_it():
    assert any("Rotary cutter" in text for text in Reader(page(CLASS)).texts("li"))


def test_fabrics_of_all_blocks_are_named_once():
    pair = layouts.squares(2, 1)
    plans = [plan(block_from_polygons(pair, fabrics=[one, "#ffffff"])) for one in ("#ff0000", "#000080")]
    assert list(fabrics_of(plans).values()) == ["navy", "red", "white"]
