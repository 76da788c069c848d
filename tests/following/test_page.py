"""The page to sew by, as text and in a real browser."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from functools import cache
from html.parser import HTMLParser

import pypdf
import pytest
from benchmarks.families import straight_cuts

import seamtree
from seamtree.following import render_follow_page
from seamtree.following.page import Live, page_policy
from seamtree.pattern import BlockWork, build_work
from seamtree.pattern.steps import UnitStep, build_steps
from tests.support.browser import media, violations, wide
from tests.support.samples import plan_of

THREE = ("dinghy.svg", "gull.svg", "tide-pool.svg")
EVIL = "</script></title></h1><script>document.title='caught'</script><img src=x onerror=\"document.title='caught'\">"


def work_of(plan, title="", **more):
    return build_work([BlockWork(plan, title or plan.block.name)], title=title or plan.block.name, **more)


@cache
def page_of(name):
    return render_follow_page(work_of(plan_of(name)))


def hostile():
    drawn = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"fabric": f"{EVIL} {y}", "label": EVIL},
                "geometry": {"type": "Polygon", "coordinates": [[[0, y], [4, y], [4, y + 1], [0, y + 1], [0, y]]]},
            }
            for y in range(3)
        ],
    }
    (block,) = seamtree.read(json.dumps(drawn).encode(), name=f"{EVIL}.geojson")
    return render_follow_page(work_of(seamtree.plan(block), EVIL, by=EVIL, notes=EVIL), live=None)


class Reader(HTMLParser):
    """Collects the elements of a page, and checks that they are closed in turn."""

    VOID = frozenset({"meta", "link", "rect", "path", "use"})

    def __init__(self, text):
        super().__init__()
        self.elements, self.open = [], []
        self.feed(text)
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.mark.parametrize("text", [page_of("gull.svg"), hostile()], ids=["gull", "hostile"])
def test_the_page_is_whole_and_needs_nothing_else(text):
    page = Reader(text)
    for _, attributes in page.elements:
        for name in ("src", "href"):
            assert attributes.get(name, "data:").startswith(("data:", "#"))
        assert not any(name.startswith("on") or name == "style" for name in attributes)
    assert sum(tag == "script" for tag, _ in page.elements) == 2
    assert not any(tag == "img" for tag, _ in page.elements)
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))


def test_the_policy_names_what_is_in_the_page_and_nothing_else():
    text = page_of("gull.svg")
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    assert policy == page_policy(live=False)
    for tag, body in (("style", "<style>"), ("script", "<script>")):
        inside = text.split(body)[1].split(f"</{tag}>")[0]
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}';" in policy
    assert "unsafe" not in policy
    assert "connect-src 'none'" in policy
    assert "connect-src 'self'" in page_policy(live=True)


def test_equal_patterns_give_equal_pages():
    assert render_follow_page(work_of(plan_of("gull.svg"))) == page_of("gull.svg")


def test_sixty_patches_take_less_than_300_kilobytes():
    plan = seamtree.plan(seamtree.block_from_polygons(straight_cuts(60, 1)))
    assert plan.counts.patches == 60
    assert len(render_follow_page(work_of(plan, "sixty")).encode()) < 300_000


def test_news_stand_in_a_page_that_follows_a_drawing():
    text = render_follow_page(work_of(plan_of("dinghy.svg")), live=Live("events?2", ("5 units, were 6", "<b>")))
    assert "<li>5 units, were 6</li><li>&lt;b&gt;</li>" in text
    assert '"events":"events?2"' in text
    assert '"events":null' in page_of("dinghy.svg")


def test_several_blocks_follow_each_other():
    blocks = [BlockWork(plan_of("dinghy.svg"), "Dinghy", 2), BlockWork(plan_of("tide-pool.svg"), "Pool")]
    text = render_follow_page(build_work(blocks, title="Harbour"))
    Reader(text)
    assert text.index("Dinghy: before you start") < text.index("Pool: before you start")
    assert '<optgroup label="Pool">' in text
    assert "Make 2." in text


# -- in a browser -----------------------------------------------------------------------------------------------


@pytest.fixture
def opened(browser, tmp_path):
    """Open a page from a file; what the browser complains of at the end is a fault."""

    def opened(text, name="page.html", after=""):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        browser.get("about:blank")
        browser.get(path.as_uri() + after)
        return browser

    yield opened
    browser.execute_script("try { localStorage.clear(); } catch { }")
    assert browser.get_log("browser") == []


def where(page):
    return page.find_element("id", "where").text


STATE = """
const now = document.querySelector(".step.now");
const text = (selector) => [...now.querySelectorAll(selector)].map((e) => e.innerText);
const shown = [...now.querySelectorAll(".drawn svg")];
return { title: text("h2").at(-1), take: text(".take")[0] || "", todo: text(".todo li"),
  care: [...document.querySelectorAll("#care li")].filter((e) => e.checkVisibility()).map((e) => e.dataset.tool),
  seams: shown.flatMap((s) => [...s.querySelectorAll("path[stroke='#b00020'][fill=none]:not([stroke-dasharray])")]
    .filter((p) => p.getAttribute("stroke-width") > 1.4 * s.unit).map((p) => p.getAttribute("d"))),
  cloth: shown.map((s) => s.querySelectorAll("path.patch[stroke='#1c2429']").length),
  names: shown.map((s) => s.getAttribute("aria-label")),
  others: [...document.querySelectorAll(".step")].filter((e) => e !== now && e.checkVisibility()).length };
"""


@pytest.mark.parametrize("name", THREE)
def test_every_step_shows_what_the_plan_says(opened, name):
    plan = plan_of(name)
    page = opened(page_of(name))
    step = iter(page.execute_script(
        "const go = document.getElementById('next'), found = [];"
        f"const state = () => {{ {STATE} }};"
        "for (;;) { found.push(state()); if (go.disabled) return found; go.click(); }"
    ))  # fmt: skip
    assert next(step)["care"] == ["cutter", "needle", "iron"]
    ids = plan.patch_ids()
    for part in build_steps(plan):
        if isinstance(part, UnitStep):
            for addition in part.additions:
                seen = next(step)
                assert seen["title"] == f"Unit {part.unit.name}, piece {addition.number} of {len(part.additions)}"
                assert addition.fabric.words in seen["take"]
                assert seen["cloth"][:2] == [addition.number - 1, addition.number]
                assert seen["names"][0] == f"Before {addition.name} is added, seen from the fabric side"
                assert seen["others"] == 0
                if addition.line is not None:
                    (drawn,) = seen["seams"]
                    ends = [float(v) for v in re.findall(r"-?[\d.]+", drawn)]
                    assert ends == pytest.approx([v for at in addition.line for v in at], abs=1e-3)
                    assert seen["care"] == ["cutter", "needle", "iron"]
                    assert f"the line between {addition.name} and" in seen["todo"][0]
            if not part.is_template:
                assert next(step)["title"] == f"Unit {part.unit.name}, squared up"
        else:
            seen = next(step)
            assert seen["title"] == f"Join {part.join.step}"
            assert seen["cloth"][0] == sum(len(plan.unit(unit).patches) for units in part.parts for unit in units)
            ends = [float(v) for v in re.findall(r"-?[\d.]+", seen["seams"][0])]
            assert ends == pytest.approx([v for at in part.path for v in at], abs=1e-3)
            assert seen["care"] == ["needle", "iron"]
            if part.paper_off:
                assert "may come off now" in seen["todo"][-1]
    assert next(step)["title"] == "The block is sewn"
    assert next(step, None) is None
    assert len(ids) == plan.counts.patches


def test_it_is_led_by_keyboard_alone(opened):
    from selenium.webdriver import ActionChains, Keys

    page = opened(page_of("dinghy.svg"))

    def press(*keys):
        ActionChains(page).send_keys(*keys).perform()

    def focused():
        return page.execute_script("return document.activeElement.id")

    press(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    assert where(page) == "Step 3 of 18: Unit A, piece 2 of 15"
    press(Keys.ARROW_LEFT)
    assert where(page).startswith("Step 2 of 18")
    press(Keys.END)
    assert where(page) == "Step 18 of 18: The block is sewn"
    press(Keys.HOME)
    assert where(page).startswith("Step 1 of 18")
    press(Keys.TAB)  # to Next, for there is nothing to go back to
    assert focused() == "next"
    press(Keys.ENTER)
    press(Keys.SPACE)
    assert where(page).startswith("Step 3 of 18")
    press(Keys.TAB)
    assert focused() == "part"
    press("T")  # chooses 'The block is sewn', as in any list
    assert where(page).startswith("Step 18 of 18")
    press(Keys.TAB)
    assert focused() == "side"
    press(Keys.SPACE)
    assert page.find_element("id", "side").get_attribute("aria-pressed") == "true"
    assert page.execute_script("return getComputedStyle(document.activeElement).outlineStyle") == "solid"


def test_at_either_end_the_focus_goes_to_the_button_that_is_left(opened):
    page = opened(page_of("dinghy.svg"), after="#step-17")
    page.find_element("id", "next").click()
    assert page.execute_script("return document.activeElement.id") == "back"


def test_the_printed_side_is_the_mirror_image(opened):
    page = opened(page_of("dinghy.svg"), after="#step-4")
    (before,) = page.execute_script(STATE)["seams"]
    page.find_element("id", "side").click()
    state = page.execute_script(STATE)
    (after,) = state["seams"]
    plain, mirrored = ([float(v) for v in re.findall(r"-?[\d.]+", path)] for path in (before, after))
    assert mirrored[::2] == pytest.approx([-x for x in plain[::2]])
    assert mirrored[1::2] == plain[1::2]
    assert "seen from the printed side" in state["names"][0]


def test_it_remembers_where_one_was_in_each_pattern(opened):
    page = opened(page_of("dinghy.svg"))
    page.execute_script("localStorage.clear()")
    for _ in range(4):
        page.find_element("id", "next").click()
    page = opened(page_of("tide-pool.svg"), "other.html")
    assert where(page).startswith("Step 1 of")
    page = opened(page_of("dinghy.svg"))
    assert where(page).startswith("Step 5 of")
    assert page.current_url.endswith("page.html")
    page = opened(page_of("dinghy.svg"), after="#step-999")
    assert where(page).startswith("Step 18 of 18")


def test_it_works_where_nothing_can_be_kept(opened, browser):
    refuse = (
        "Object.defineProperty(window, 'localStorage', { get() { throw new DOMException('no', 'SecurityError'); } });"
    )
    given = browser.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": refuse})
    try:
        page = opened(page_of("dinghy.svg"))
        page.find_element("id", "next").click()
        assert where(page).startswith("Step 2 of")
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", given)


def test_a_finger_turns_the_steps(opened):
    page = opened(page_of("dinghy.svg"), after="#step-5")
    stroke = """
    const touch = (x, y) => new Touch({ identifier: 1, target: document.body, clientX: x, clientY: y });
    const [ax, ay, bx, by] = arguments;
    document.body.dispatchEvent(new TouchEvent("touchstart", { touches: [touch(ax, ay)], bubbles: true }));
    document.body.dispatchEvent(new TouchEvent("touchend", { changedTouches: [touch(bx, by)], bubbles: true }));
    """
    page.execute_script(stroke, 300, 400, 100, 410)
    assert where(page).startswith("Step 6 of")
    page.execute_script(stroke, 100, 400, 300, 410)
    assert where(page).startswith("Step 5 of")
    page.execute_script(stroke, 300, 400, 200, 600)  # scrolling
    assert where(page).startswith("Step 5 of")


@pytest.mark.parametrize("width", [320, 390, 1280, 1920])
def test_nothing_is_beyond_the_edge_and_buttons_are_large(opened, width):
    page = opened(page_of("gull.svg"))
    with wide(page, width):
        for step in ("#step-1", "#step-5", "#step-19"):
            page.get(page.current_url.split("#")[0] + step)
            assert page.execute_script("return document.documentElement.scrollWidth") <= width
        for size in page.execute_script(
            "return [...document.querySelectorAll('button, select')].map((e) => e.getBoundingClientRect().height)"
        ):
            assert size >= 44


@pytest.mark.parametrize(("scheme", "width"), [("light", 1280), ("dark", 1280), ("light", 320), ("dark", 320)])
def test_nothing_shuts_people_out(opened, axe, scheme, width):
    page = opened(page_of("tide-pool.svg"))
    with media(page, prefers_color_scheme=scheme), wide(page, width):
        for step in (1, 3, 14, 19):
            page.get(page.current_url.split("#")[0] + f"#step-{step}")
            assert violations(page, axe) == []
        assert (
            page.execute_script("return getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
        ) == (scheme == "light")


def test_hostile_names_and_labels_are_text(opened):
    page = opened(hostile())
    go = "const go = document.getElementById('next'); while (!go.disabled) go.click(); return document.title"
    assert page.execute_script(go) == f"{EVIL}: step by step"
    assert page.find_elements("css selector", "img") == []
    assert EVIL[:40] in page.find_element("css selector", "h1").text


def test_nothing_moves_for_who_prefers_that(opened):
    page = opened(page_of("dinghy.svg"), after="#step-3")
    moving = "return getComputedStyle(document.querySelector('.fresh')).animationName"
    with media(page, prefers_reduced_motion="reduce"):
        assert page.execute_script(moving) == "none"
    with media(page, prefers_reduced_motion="no-preference"):
        assert page.execute_script(moving) == "fresh"


def test_without_scripts_it_is_a_list(opened, browser):
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened(page_of("dinghy.svg"))
        nodes = browser.execute_cdp_cmd("Accessibility.getFullAXTree", {})["nodes"]
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    named = [(n["role"]["value"], n.get("name", {}).get("value", "")) for n in nodes if not n["ignored"]]
    assert sum(name.startswith("Unit A, piece") for role, name in named if role == "heading") == 15
    assert ("button", "Next") not in named
    pictures = [name for role, name in named if role == "image" and name.startswith("Picture: ")]
    assert pictures == ["Picture: Before you start", "Picture: Unit A, piece 1 of 15"]


def test_it_prints_as_a_list(opened):
    page = opened(page_of("tide-pool.svg"), after="#step-4")
    pdf = page.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    text = "".join(leaf.extract_text() for leaf in pypdf.PdfReader(io.BytesIO(base64.b64decode(pdf["data"]))).pages)
    text = " ".join(text.split())
    for title in ("Unit A, piece 1 of 4", "Join 2", "Unit D, squared up", "The block is sewn", "Take care"):
        assert title in text
    assert "Printed side" not in text


def test_only_one_step_of_hundreds_is_drawn(opened):
    """Time follows from it: what is asked of the page is counted here, never clocked."""
    plan = seamtree.plan(seamtree.block_from_polygons(straight_cuts(220, 2)))
    page = opened(render_follow_page(work_of(plan, "great")))
    for _ in range(3):
        page.find_element("id", "next").click()
        drawn = page.execute_script("return document.querySelectorAll('.drawn svg *').length")
        assert 6 < drawn < 220
    assert page.execute_script("return document.querySelectorAll('.drawn svg').length") == 3
