"""The page of an audit, as text and in a real browser."""

from __future__ import annotations

import base64
import contextlib
import io
import json
import re
from collections import Counter
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pypdf
import pytest
from benchmarks.catalogue import svg
from benchmarks.families import straight_cuts

from seamtree.auditing import Record, Settings, parse_rules
from seamtree.auditing.page import render_page
from seamtree.auditing.work import Job, audit_drawing, code_version
from seamtree.errors import Finding
from tests.auditing.test_store import COUNTS
from tests.support.browser import media
from tests.support.wkt import RING

WITH_12 = sum("12" in str(k) for k in range(500))
FAILING = sum(k % 10 == 9 or k % 3 == 2 for k in range(500))
VERDICTS = ("single unit", "joined units", "hard corners")


@pytest.fixture(scope="module")
def ring():
    """A record with a picture: four planks round a square."""
    settings = Settings(pictures=True, rate=True, proofread=True)
    return audit_drawing(Job(RING.encode(), ".wkt", settings, code_version()))


@pytest.fixture(scope="module")
def records(ring):
    """500 drawings: of all verdicts, with figures in an order of their own, every tenth faulty."""
    found = []
    for k in range(500):
        source = f"catalogue/shelf {k % 7}/drawing {k}.wkt"
        if k % 10 == 9:
            found.append(Record(source, "faulty", (Finding("gap", f"There is a gap at ({k}.00, 1.00) in."),)))
            continue
        (block,) = ring.named(source).blocks
        counts = COUNTS | {"patches": 5 + k % 7, "units": 1 + k * 37 % 101, "partial": int(k % 3 == 2)}
        told = (Finding("healed", "An end was closed up."),)
        block = replace(block, verdict=VERDICTS[k % 3], counts=counts, warnings=told)
        found.append(Record(source, "audited", blocks=(block,)))
    return found


class Reader(HTMLParser):
    """Collects the elements of a page, and checks that they are closed in turn."""

    VOID = frozenset({"meta", "link", "img", "input", "br", "col"})

    def __init__(self, text):
        super().__init__()
        self.elements, self.open = [], []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def all(self, tag):
        return [attributes for name, attributes in self.elements if name == tag]


def test_the_page_is_whole_and_needs_nothing_else(records):
    page = Reader(render_page(records, parse_rules(["hard-corners"]), proofread=True, rate=True))
    assert len(page.all("tr")) == 501
    for _, attributes in page.elements:
        for name in ("src", "href"):
            assert attributes.get(name, "data:").startswith(("data:", "#"))
        assert not any(name.startswith("on") for name in attributes)
    assert page.all("html") == [{"lang": "en"}]


def test_pictures_are_whole_and_have_words(ring):
    text = render_page([ring.named('a "boat" & <b>.wkt')])
    page = Reader(text)
    words = [svg["aria-label"] for svg in page.all("svg")]
    assert words == ['Block a "boat" & <b>, 6.00 by 6.00 inches: 2 units, 1 hard corner']
    fills = {path["fill"] for path in page.all("path")} - {"none"}
    assert len(fills) >= 2  # a tint for each unit
    assert text.count(ring.blocks[0].picture.removeprefix("<svg")) == 1


def test_text_of_drawings_stays_text(ring):
    evil = "</td><script>alert(1)</script>"
    (block,) = ring.named("a.wkt").blocks
    warned = replace(block, name=evil, warnings=(Finding("note", evil),))
    text = render_page([Record(evil, "audited", blocks=(warned,)), Record(evil, "faulty", (Finding("gap", evil),))])
    Reader(text)
    assert text.count("<script>") == 1
    assert text.count("</script>") == 2  # the other one is the index


def test_what_is_not_known_has_no_column_and_no_filter(ring):
    (block,) = ring.named("a.wkt").blocks
    text = render_page([Record("a.wkt", "audited", blocks=(replace(block, rating=None, proof=None, warnings=()),))])
    for name in ("level", "numbers"):
        assert f'data-name="{name}"' not in text
    for name in ("level", "rule", "fault", "folder"):
        assert f'id="{name}"' not in text
    text = render_page([ring.named("a.wkt")], proofread=True, rate=True)
    assert '<td class="word">none</td>' in text
    assert re.search(r'<td class="word">\d, \w', text)
    assert 'id="level"' in text


def test_the_index_says_what_the_rows_say(records):
    text = render_page(records, parse_rules(["hard-corners"]), rate=True)
    index = json.loads(re.search(r'<script type="application/json" id="index">(.*)</script>', text)[1])
    rows = [line for line in text.splitlines() if line.startswith("<tr ")]
    assert len(index) == len(rows) == 500
    for k, (entry, row) in enumerate(zip(index, rows, strict=True)):
        assert f'data-verdict="{entry["verdict"]}"' in row
        assert f"drawing {k}.wkt" in row
        assert f"drawing {k}.wkt" in entry["text"]
        assert entry["folder"] == f"catalogue/shelf {k % 7}"
        assert row.isascii()
    assert [entry["rules"] for entry in index[:3]] == [[], [], ["hard-corners"]]
    assert index[9]["faults"] == ["gap"]


def test_an_empty_audit_is_a_page():
    Reader(render_page([]))


# -- in a browser -----------------------------------------------------------------------------------------------


@pytest.fixture
def page(browser, records, tmp_path):
    """The page of 500 drawings, opened from a file."""
    yield from opened(browser, records, tmp_path)


@pytest.fixture
def small_page(browser, records, tmp_path):
    """The page of 30 of them."""
    yield from opened(browser, records[:30], tmp_path)


def opened(browser, records, folder):
    path = folder / "page.html"
    text = render_page(records, parse_rules(["hard-corners"]), proofread=True, rate=True)
    path.write_text(text, encoding="utf-8")
    browser.get(path.as_uri())
    yield browser
    assert browser.get_log("browser") == []  # no error, nothing refused by the policy


def shown(page, column):
    """Return the texts of a column in the rows that are shown; all are made for that, as they are for print."""
    return page.execute_script(
        "dispatchEvent(new Event('beforeprint'));"
        "const heads = [...document.querySelectorAll('thead th')];"
        "const at = heads.findIndex((head) => head.dataset.name === arguments[0]);"
        "const rows = [...document.querySelectorAll('tbody tr:not(.gap)')];"
        "const found = rows.map((row) => row.cells[at].innerText.trim());"
        "dispatchEvent(new Event('afterprint'));"
        "return found;",
        column,
    )


def choose(page, name, value):
    """Choose in one of the lists above the table."""
    from selenium.webdriver.support.select import Select

    Select(page.find_element("id", name)).select_by_value(value)


def heading(page, column):
    return page.find_element("css selector", f"th[data-name='{column}'] button")


def status(page):
    return page.find_element("id", "shown").text


def test_sorting(page):
    assert len(shown(page, "units")) == 500
    heading(page, "units").click()
    units = shown(page, "units")
    numbers = [int(text) for text in units if text]
    assert len(numbers) == 450
    assert numbers == sorted(numbers)
    assert units[450:] == [""] * 50  # what could not be audited comes last
    assert heading(page, "units").find_element("xpath", "..").get_attribute("aria-sort") == "ascending"
    heading(page, "units").click()
    units = shown(page, "units")
    assert [int(text) for text in units if text] == numbers[::-1]
    assert units[450:] == [""] * 50
    assert status(page) == "500 of 500 rows are shown, sorted by units (descending)."
    heading(page, "block").click()
    names = [int(re.search(r"drawing (\d+)", text)[1]) for text in shown(page, "block")]
    # Numbers within names count as numbers. Faulty drawings come first, as they go by their path: 'catalogue/…'.
    assert names == [*sorted(range(9, 500, 10), key=lambda k: (k % 7, k)), *(k for k in range(500) if k % 10 != 9)]
    assert page.find_elements("css selector", "th[aria-sort]") == [heading(page, "block").find_element("xpath", "..")]
    heading(page, "verdict").click()
    verdicts = shown(page, "verdict")
    assert list(dict.fromkeys(verdicts)) == [*VERDICTS, "faulty"]


def test_filtering(page):
    search = page.find_element("id", "search")
    search.send_keys("drawing 12")
    assert len(shown(page, "block")) == WITH_12
    search.clear()
    search.send_keys("gap")
    assert shown(page, "verdict") == ["faulty"] * 50
    assert status(page) == "50 of 500 rows are shown."
    page.find_element("css selector", "input[value=faulty]").click()
    assert shown(page, "verdict") == []
    page.find_element("css selector", "button[type=reset]").click()
    page.execute_async_script("setTimeout(arguments[0], 50)")
    assert len(shown(page, "block")) == 500
    page.find_element("id", "failing").click()
    assert set(shown(page, "verdict")) == {"faulty", "hard corners"}
    assert len(shown(page, "verdict")) == FAILING < 500
    page.find_element("css selector", "input[value=faulty]").click()
    assert "faulty" not in shown(page, "verdict")


def test_everything_is_reached_with_the_keyboard(page):
    from selenium.webdriver import ActionChains, Keys

    seen = []
    for _ in range(24):
        ActionChains(page).send_keys(Keys.TAB).perform()
        seen.append(page.execute_script(
            "const e = document.activeElement; return e.id || e.getAttribute('aria-label') || e.innerText || e.value;"
        ))  # fmt: skip
        if seen[-1] == "Units":
            break
    assert seen[0] == "Skip to the table"
    assert {
        "search",
        "faulty",
        "hard corners",
        "failing",
        "Show all",
        "level",
        "folder",
        "sort",
        "Block",
        "Units",
    } <= {*seen}
    outline = page.execute_script("return getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    ActionChains(page).send_keys(Keys.ENTER).perform()
    numbers = [int(text) for text in shown(page, "units") if text]
    assert numbers == sorted(numbers)
    ActionChains(page).send_keys(Keys.SPACE).perform()
    assert [int(text) for text in shown(page, "units") if text] == numbers[::-1]


def test_everything_has_a_name_for_screen_readers(small_page):
    nodes = small_page.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    named = [
        (node["role"]["value"], node.get("name", {}).get("value", ""))
        for node in nodes
        if not node["ignored"] and "role" in node
    ]
    roles = {role for role, _ in named}
    assert {"table", "columnheader", "rowheader", "button", "searchbox", "checkbox", "status", "main"} <= roles
    for role, name in named:
        if role in (
            "button",
            "searchbox",
            "checkbox",
            "link",
            "image",
            "columnheader",
            "rowheader",
            "table",
        ):
            assert name.strip(), role
    images = [name for role, name in named if role == "image"]
    assert sum(name.startswith("Block drawing") for name in images) >= 10  # those in view


CONTRAST = """
const light = (c) => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
const lum = ([r, g, b]) => 0.2126 * light(r) + 0.7152 * light(g) + 0.0722 * light(b);
const rgb = (text) => text.match(/[\\d.]+/g).map(Number);
const behind = (e) => { for (; e; e = e.parentElement) {
  const c = rgb(getComputedStyle(e).backgroundColor); if (c.length < 4 || c[3] > 0) return c; }
  return [255, 255, 255]; };
const found = {};
for (const e of document.querySelectorAll("body *")) {
  if (!e.checkVisibility()) continue;
  if (![...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim())) continue;
  const [a, b] = [lum(rgb(getComputedStyle(e).color)), lum(behind(e))].sort((x, y) => y - x);
  found[`${e.tagName} ${e.className} ${e.textContent.slice(0, 20)}`] = (a + 0.05) / (b + 0.05);
}
return found;
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_all_text_stands_out(small_page, scheme):
    """Contrast of at least 4.5 to 1 (WCAG 2.1, success criterion 1.4.3)."""
    with media(small_page, prefers_color_scheme=scheme):
        found = small_page.execute_script(CONTRAST)
        paper = small_page.execute_script("return getComputedStyle(document.body).backgroundColor")
    assert (paper == "rgb(255, 255, 255)") == (scheme == "light")
    assert len(found) > 30
    assert {text: ratio for text, ratio in found.items() if ratio < 4.5} == {}


@pytest.mark.parametrize("width", [360, 1280])
def test_all_columns_are_reached_without_scrolling_sideways(small_page, width):
    size = {"width": width, "height": 800, "deviceScaleFactor": 1, "mobile": False}
    small_page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    try:
        wide, right, hidden = small_page.execute_script(
            "const cells = [...document.querySelector('tbody tr').cells];"
            "const ends = cells.map((c) => c.getBoundingClientRect().right);"
            "return [document.documentElement.scrollWidth, Math.max(...ends),"
            "cells.filter((c) => c.innerText.trim() && !c.getClientRects().length).length];"
        )
        nodes = small_page.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
        named = small_page.execute_script(
            "const told = (c) => getComputedStyle(c, '::before').content.replaceAll('\"', '');"
            "return [...document.querySelector('tbody tr').cells].map(told);"
        )
    finally:
        small_page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert wide <= width
    assert right <= width
    assert hidden == 0
    roles = {node["role"]["value"] for node in nodes if not node["ignored"] and "role" in node}
    assert {"table", "row", "rowheader", "cell"} <= roles
    if width == 360:  # there is no head of a table, so each figure says what it is
        assert named[4:] == [
            "patches", "units", "joins", "hard corners", "matched points", "size", "proven", "level", "numbers",
        ]  # fmt: skip


def test_filters_for_level_rule_fault_and_folder(page):
    choose(page, "folder", "catalogue/shelf 3")
    assert status(page) == f"{sum(k % 7 == 3 for k in range(500))} of 500 rows are shown."
    choose(page, "rule", "hard-corners")
    both = sum(k % 7 == 3 and k % 3 == 2 and k % 10 != 9 for k in range(500))
    assert status(page) == f"{both} of 500 rows are shown."
    choose(page, "folder", "catalogue")
    assert set(shown(page, "verdict")) == {"hard corners"}
    choose(page, "rule", "")
    choose(page, "fault", "gap")
    assert shown(page, "verdict") == ["faulty"] * 50
    choose(page, "fault", "")
    levels = {text.split(",")[0] for text in shown(page, "level") if text}
    choose(page, "level", levels.pop())
    assert status(page) == "450 of 500 rows are shown."


def test_the_address_keeps_what_is_shown(page):
    page.find_element("id", "search").send_keys("drawing 1")
    choose(page, "folder", "catalogue/shelf 3")
    page.find_element("css selector", "input[value=faulty]").click()
    heading(page, "units").click()
    heading(page, "units").click()
    before, rows, address = status(page), shown(page, "block"), page.current_url
    assert "descending" in before
    page.get("about:blank")
    page.get(address)
    assert (status(page), shown(page, "block")) == (before, rows)
    page.find_element("css selector", "button[type=reset]").click()
    page.execute_async_script("setTimeout(arguments[0], 50)")
    assert page.current_url.endswith("page.html#")
    page.back()
    page.get(address.split("#")[0] + "#blocks")  # a place in the page
    assert status(page) == "500 of 500 rows are shown."
    page.get(address.split("#")[0] + "#folder=elsewhere&level=%00&sort=tide&verdict=faulty")
    assert status(page) == "50 of 500 rows are shown."


def test_it_prints(small_page):
    small_page.find_element("id", "search").send_keys("drawing 1")
    found = [k for k in range(30) if "1" in f"{k % 7} {k}" or k % 10 == 9]  # gaps are at (…, 1.00)
    with media(small_page, "print"):
        assert not small_page.find_element("css selector", "form").is_displayed()
        assert small_page.execute_script(
            "return getComputedStyle(document.querySelector('thead')).display === 'table-header-group' &&"
            "getComputedStyle(document.querySelector('tbody tr')).breakInside === 'avoid'"
        )
    pdf = small_page.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    pages = pypdf.PdfReader(io.BytesIO(base64.b64decode(pdf["data"]))).pages
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for k in range(30):  # all rows that were shown, also those that were not in view; their warnings unfolded
        assert (f"shelf {k % 7}/drawing {k}.wkt" in text) == (k in found)
    assert text.count("There is a gap") == 3
    assert text.count("An end was closed up") == len(found) - 3
    assert "Hard corners" in text or "hard corners" in text
    drawn = sum(len(page.extract_text()) > 0 and b" re" in page.get_contents().get_data() for page in pages)
    assert drawn == len(pages) > 1
    folded = small_page.find_elements("css selector", "details")
    assert folded
    assert not any(element.get_attribute("open") for element in folded)


def test_without_scripts_it_shows_everything(browser, records, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(render_page(records), encoding="utf-8")
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        browser.get(path.as_uri())
        nodes = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    roles = Counter(node["role"]["value"] for node in nodes if not node["ignored"] and "role" in node)
    assert roles["rowheader"] == 500
    assert roles["searchbox"] == 0
    assert roles["image"] == 450


@pytest.fixture(scope="module")
def great_page(browser, records, tmp_path_factory):
    """The page of 10,000 drawings with pictures of 53 patches."""
    text = svg(straight_cuts(53, 0))
    drawn = audit_drawing(Job(text, ".svg", Settings(pictures=True), code_version())).blocks[0].picture
    path = tmp_path_factory.mktemp("great") / "page.html"
    great = [
        replace(
            record,
            source=f"shelf {k % 41}/drawing {k}.wkt",
            blocks=tuple(replace(block, name=f"drawing {k}", picture=drawn) for block in record.blocks),
        )
        for k, record in enumerate(records * 20)
    ]
    path.write_text(render_page(great, parse_rules(["hard-corners"]), proofread=True, rate=True), encoding="utf-8")
    browser.get(path.as_uri())
    yield browser
    browser.get("about:blank")


def test_ten_thousand_rows_are_elements_only_where_one_looks(great_page):
    """Time and memory follow from it: what is asked of the page is counted here, never clocked."""
    made = "return document.querySelectorAll('tbody tr:not(.gap)').length"
    assert status(great_page) == "10000 of 10000 rows are shown."
    assert 0 < great_page.execute_script(made) <= 100
    for part in (0.5, 1.0, 0.2):
        great_page.execute_script("scrollTo(0, arguments[0] * document.body.scrollHeight)", part)
        great_page.execute_async_script("setTimeout(arguments[0], 300)")
        assert 0 < great_page.execute_script(made) <= 100
        assert great_page.execute_script(
            "const row = document.elementFromPoint(innerWidth / 2, innerHeight / 2).closest('tr');"
            "return row && !row.classList.contains('gap');"
        )
    great_page.execute_script("scrollTo(0, 0)")


def test_ten_thousand_rows_are_sorted_and_filtered(great_page):
    heading(great_page, "block").click()
    first = great_page.execute_script("return document.querySelector('tbody tr:not(.gap) th').innerText")
    assert first.startswith("drawing 0")
    heading(great_page, "block").click()
    first = great_page.execute_script("return document.querySelector('tbody tr:not(.gap) th').innerText")
    assert first.startswith("shelf 40/drawing")  # faulty ones go by their path
    choose(great_page, "folder", "shelf 3")
    assert status(great_page).startswith(f"{sum(k % 41 == 3 for k in range(10_000))} of 10000")
    great_page.find_element("id", "search").send_keys("gap")
    assert status(great_page).startswith(f"{sum(k % 41 == 3 and k % 10 == 9 for k in range(10_000))} of 10000")
    great_page.find_element("css selector", "button[type=reset]").click()
    great_page.execute_async_script("setTimeout(arguments[0], 50)")
    assert status(great_page) == "10000 of 10000 rows are shown."


def test_ten_thousand_rows_take_little_memory(great_page):
    """They take 200 MB beside what a browser takes by itself, some 300 MB: below 500 MB together."""
    if not Path("/proc/self/smaps_rollup").exists():
        pytest.skip("processes tell their share of memory on Linux only")
    address = great_page.current_url
    full = megabytes(great_page)
    great_page.get("about:blank")
    empty = megabytes(great_page)
    great_page.get(address)
    assert full - empty < 200


def megabytes(browser):
    """Return what all processes of a browser take together, without what they share counted twice."""
    browser.execute_cdp_cmd("HeapProfiler.collectGarbage", {})
    shares = []
    for process in Path("/proc").glob("[0-9]*"):
        with contextlib.suppress(OSError):
            if browser.profile in (process / "cmdline").read_bytes().decode(errors="replace"):
                rollup = (process / "smaps_rollup").read_text()
                shares.append(int(re.search(r"^Pss: +(\d+) kB", rollup, re.MULTILINE)[1]) / 1000)
    assert len(shares) > 2
    return sum(shares)
