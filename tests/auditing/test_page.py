"""The page of an audit, as text and in a real browser.

The browser is Chromium with its driver, as Debian packages them. Where they are missing the tests are skipped, unless
the environment variable SEAMTREE_NEEDS_BROWSER says that they must not be.
"""

from __future__ import annotations

import os
import re
import shutil
from dataclasses import replace
from html.parser import HTMLParser
from urllib.parse import unquote
from xml.etree import ElementTree as ET

import pytest

from seamtree.auditing import Record, Settings, parse_rules
from seamtree.auditing.page import render_page
from seamtree.auditing.work import Job, audit_drawing, code_version
from seamtree.errors import Finding
from tests.auditing.test_store import COUNTS
from tests.support.wkt import RING

WITH_12 = sum("12" in str(k) for k in range(500))
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
        source = f"catalogue/drawing {k}.wkt"
        if k % 10 == 9:
            found.append(Record(source, "faulty", (Finding("gap", f"There is a gap at ({k}.00, 1.00) in."),)))
            continue
        (block,) = ring.named(source).blocks
        counts = COUNTS | {"patches": 5 + k % 7, "units": 1 + k * 37 % 101, "partial": int(k % 3 == 2)}
        found.append(Record(source, "audited", blocks=(replace(block, verdict=VERDICTS[k % 3], counts=counts),)))
    return found


class Reader(HTMLParser):
    """Collects the elements of a page, and checks that they are closed in turn."""

    VOID = frozenset({"meta", "link", "img", "input", "br"})

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
    page = Reader(render_page([ring.named('a "boat" & <b>.wkt')]))
    picture = page.all("img")[-1]
    assert picture["alt"] == 'Block a "boat" & <b>, 6.00 by 6.00 inches: 2 units, 1 hard corner'
    svg = ET.fromstring(unquote(picture["src"].removeprefix("data:image/svg+xml,")))  # noqa: S314
    assert "boat" in svg.find("{http://www.w3.org/2000/svg}title").text
    fills = {path.get("fill") for path in svg.iter("{http://www.w3.org/2000/svg}path")} - {"none", None}
    marks = svg.find("{http://www.w3.org/2000/svg}g[@class='marks']")
    assert len(fills) >= 2  # a tint for each unit
    assert len(marks) > 0  # the hard corner


def test_text_of_drawings_stays_text(ring):
    evil = "</td><script>alert(1)</script>"
    (block,) = ring.named("a.wkt").blocks
    warned = replace(block, name=evil, warnings=(Finding("note", evil),))
    text = render_page([Record(evil, "audited", blocks=(warned,)), Record(evil, "faulty", (Finding("gap", evil),))])
    Reader(text)
    assert text.count("<script>") == 1


def test_what_is_not_known_has_no_column(ring):
    text = render_page([ring.named("a.wkt")])
    assert 'data-name="level"' not in text
    assert 'data-name="numbers"' not in text
    text = render_page([ring.named("a.wkt")], proofread=True, rate=True)
    assert '<td data-value="none">none</td>' in text
    assert re.search(r"<td data-value=\"[\d.]+\">\d, \w", text)


def test_an_empty_audit_is_a_page():
    Reader(render_page([]))


# -- in a browser -----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    """A browser without a window."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if not (chromium and driver):
        if os.environ.get("SEAMTREE_NEEDS_BROWSER"):
            pytest.fail("chromium and chromedriver are missing: apt-get install chromium chromium-driver")
        pytest.skip("chromium and chromedriver are not installed")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in (
        "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
        "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--window-size=1300,900",
        f"--user-data-dir={tmp_path_factory.mktemp('profile')}",
    ):  # fmt: skip
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    yield driver
    driver.quit()


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
    """Return the texts of a column in the rows that are shown."""
    return page.execute_script(
        "const heads = [...document.querySelectorAll('thead th')];"
        "const at = heads.findIndex((head) => head.dataset.name === arguments[0]);"
        "return [...document.querySelectorAll('tbody tr')].filter((row) => row.offsetParent !== null)"
        ".map((row) => row.cells[at].innerText.trim());",
        column,
    )


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
    assert names == [*range(9, 500, 10), *(k for k in range(500) if k % 10 != 9)]
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
    failing = page.find_elements("css selector", "tbody tr[data-fails=yes]")
    assert len(shown(page, "verdict")) == len(failing) < 500
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
    assert {"search", "faulty", "hard corners", "failing", "Show all", "Table of blocks", "Block", "Units"} <= {*seen}
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
            "region",
        ):
            assert name.strip(), role
    pictures = small_page.find_elements("css selector", "td.picture img")
    assert len(pictures) == 27
    assert all(picture.get_attribute("alt").startswith("Block drawing") for picture in pictures[:5])


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


def test_all_text_stands_out(small_page):
    """Contrast of at least 4.5 to 1 (WCAG 2.1, success criterion 1.4.3)."""
    found = small_page.execute_script(CONTRAST)
    assert len(found) > 30
    assert {text: ratio for text, ratio in found.items() if ratio < 4.5} == {}


def test_it_prints(small_page):
    small_page.find_element("id", "search").send_keys("gap")
    small_page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert not small_page.find_element("css selector", "form").is_displayed()
        assert len(shown(small_page, "block")) == 3
        assert small_page.execute_script(
            "return getComputedStyle(document.querySelector('thead')).display === 'table-header-group' &&"
            "getComputedStyle(document.querySelector('tbody tr')).breakInside === 'avoid'"
        )
    finally:
        small_page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    pdf = small_page.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    assert pdf["data"].startswith("JVBER")  # %PDF in base64


def test_without_its_script_it_shows_everything(browser, records, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(re.sub(r"(?s)<script>.*?</script>", "", render_page(records)), encoding="utf-8")
    browser.get(path.as_uri())
    assert len(shown(browser, "block")) == 500
    assert not browser.find_element("css selector", "form").is_displayed()
