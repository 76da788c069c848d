from __future__ import annotations

import contextlib
import re
import shutil
import time
from pathlib import Path

import pytest

from seamtree_cli import page_server
from tests.cli.running import run
from tests.support.wkt import ONE_UNIT, RING

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.mark.parametrize(("sample", "status"), [("dinghy.svg", 0), ("mackerel.wkt", 0), ("tide-pool.svg", 1)])
def test_a_page_is_written(tmp_path, sample, status):
    target = tmp_path / "out.html"
    done = run("follow", SAMPLES / sample, "-o", target)
    assert done.exit_code == status
    assert done.stderr == ""
    assert " ".join(done.stdout.split()).startswith("written:")
    assert f"<h1>{Path(sample).stem}</h1>" in target.read_text()
    assert [path.name for path in tmp_path.iterdir()] == ["out.html"]


@pytest.mark.parametrize("sample", ["faulty-gap.svg", "nowhere.svg"])
def test_a_faulty_drawing_makes_no_page(tmp_path, sample):
    target = tmp_path / "out.html"
    target.write_text("from before")
    done = run("follow", SAMPLES / sample, "-o", target)
    assert done.exit_code == 2
    assert len(done.stderr.splitlines()) == 1
    assert target.read_text() == "from before"


def test_lengths_and_allowances(tmp_path):
    target = tmp_path / "out.html"
    run("follow", SAMPLES / "dinghy.svg", "-o", target, "--metric", "--allowance", "6mm", "--width", "20cm")
    text = target.read_text()
    assert "20 × 20 cm finished" in text
    assert "0.6 cm beyond it" in text
    done = run("follow", SAMPLES / "dinghy.svg", "-o", target, "--allowance", "2in", "--margin", "0.5in")
    assert done.exit_code == 2


def test_a_pattern_file_makes_one_page_of_all_its_blocks(tmp_path, drawing):
    drawing(ONE_UNIT, "buoy.wkt")
    drawing(RING, "ring.wkt")
    pattern = drawing(
        '[pattern]\ntitle = "Quay"\nlengths = "cm"\nnotes = "Take <care>."\n'
        '[[block]]\ndrawing = "buoy.wkt"\ntitle = "Float"\ncopies = 4\n[[block]]\ndrawing = "ring.wkt"\n',
        "quay.toml",
    )
    target = tmp_path / "out.html"
    assert run("follow", pattern, "-o", target).exit_code == 1
    text = target.read_text()
    assert "<h1>Quay</h1>" in text
    assert "Take &lt;care&gt;." in text
    assert "Float, 15.2 × 15.2 cm finished" in text
    assert "ring: before you start" in text
    assert run("follow", pattern, "-o", target, "--width", "8").exit_code == 2


def test_standard_input(tmp_path):
    target = tmp_path / "out.html"
    assert run("follow", "-", "-o", target, input=ONE_UNIT).exit_code == 0
    assert target.exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "say where to write"),
        (("-o", "out.pdf"), "has to end in .html"),
        (("-o", "nowhere/out.html"), "there is no folder"),
        (("-o", "out.html", "--allowance", "wide"), "is no length"),
    ],
)
def test_what_is_wrong_with_the_command_is_one_line(arguments, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    shutil.copy(SAMPLES / "dinghy.svg", "dinghy.svg")
    done = run("follow", "dinghy.svg", *arguments)
    assert done.exit_code == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.mark.parametrize(
    ("source", "words"), [("-", "standard input"), (".", "is a folder"), ("a.svg", "no such file")]
)
def test_what_cannot_be_watched_is_one_line(source, words, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = run("follow", source, "--watch", input="")
    assert done.exit_code == 2
    assert words in done.stderr
    assert len(done.stderr.splitlines()) == 1


@pytest.fixture
def staged(monkeypatch):
    """Let some actions come one by one while the command waits; after the last one comes Ctrl-C."""

    def stage(*actions):
        servers = []
        enter = page_server.PageServer.__enter__
        monkeypatch.setattr(page_server.PageServer, "__enter__", lambda self: servers.append(self) or enter(self))

        def watch(files):
            for action in actions:
                action(servers[0])
                yield frozenset(files())
            raise KeyboardInterrupt

        monkeypatch.setattr("seamtree_cli.watched_files.watch_files", watch)

    return stage


def test_the_page_is_served_and_shows_what_has_changed(drawing, staged, tmp_path):
    path, target = drawing(RING), tmp_path / "out.html"
    pages, faults = [], []

    def note(server):
        pages.append(server.page.decode())
        faults.append(server.faults)

    staged(
        lambda server: (note(server), drawing(ONE_UNIT)),
        lambda server: (note(server), drawing("POLYGON ((")),
        lambda server: (note(server), drawing(ONE_UNIT)),
        note,
    )
    done = run("follow", path, "--watch", "-o", target)
    assert done.exit_code == 130
    assert re.search(r"open in a browser on this machine: http://127\.0\.0\.1:\d+/[\w-]{30,}/", done.stdout)
    assert "The drawing has changed" not in pages[0]
    assert "<li>1 unit, were 2</li>" in pages[1]
    assert pages[2] == pages[1]
    assert len(faults[2]) == 1
    assert faults[2][0].startswith("drawing.wkt: ")
    assert "the fault is gone" in pages[3]
    assert "waiting until it is saved again" in done.stderr
    assert '"events":null' in target.read_text()
    assert "1 unit, were 2" in done.stdout


def test_until_there_is_a_plan_it_says_that_it_waits(drawing, staged):
    path = drawing("[[block]", "pattern.toml")
    pages = []
    staged(lambda server: pages.append(server.page.decode()))
    assert run("follow", path, "--watch").exit_code == 130
    assert "<h1>Waiting</h1>" in pages[0]


def test_a_wrong_option_ends_it(drawing, staged):
    staged()
    assert run("follow", drawing(ONE_UNIT), "--watch", "--width", "-1").exit_code == 2


def test_a_browser_shows_the_new_state_by_itself(browser, drawing, staged):
    from selenium.common.exceptions import WebDriverException

    path = drawing(RING)
    seen = []

    def until(words):
        end, text = time.monotonic() + 20, ""
        while time.monotonic() < end:
            with contextlib.suppress(WebDriverException):  # between two pages there is none
                text = browser.execute_script("return document.body.innerText")
                if words in text:
                    return text
            time.sleep(0.02)
        raise AssertionError(text)

    staged(
        lambda server: (
            browser.get(server.address),
            browser.find_element("id", "next").click(),
            seen.append(browser.find_element("id", "where").text),
            drawing(ONE_UNIT),
        ),
        lambda server: (seen.append(until("1 unit, were 2")), drawing("POLYGON ((")),
        lambda server: (seen.append(until("cannot be used as it is now")), drawing(ONE_UNIT)),
        lambda server: seen.append(until("the fault is gone")),
    )
    assert run("follow", path, "--watch").exit_code == 130
    assert seen[0] == "Step 2 of 9: Unit A, piece 1 of 4"
    assert "Step 2 of 6: Unit A, piece 1 of 3" in seen[1]  # where one was
    assert "drawing.wkt: " in seen[2]
    until("no longer watched")
    assert [entry for entry in browser.get_log("browser") if "Content Security Policy" in entry["message"]] == []
