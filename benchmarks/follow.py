"""How soon the page to sew by opens and turns: ``python -m benchmarks.follow``; it needs Chromium and its driver.

Opening is from the beginning of the navigation to the end of loading, script and first picture included; a step is
from the click to the end of layout.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from benchmarks.measure import RESULTS, about_line, today
from seamtree import plan, read
from seamtree.following import render_follow_page
from seamtree.pattern import BlockWork, build_work

SAMPLES = Path(__file__).parents[1] / "samples"

DRAWINGS = ("tide-pool.svg", "heron.svg", "harbour.svg")

STEPS = """
const go = document.getElementById("next"), taken = [];
while (!go.disabled) {
  const begin = performance.now();
  go.click();
  document.body.getBoundingClientRect();
  taken.push(performance.now() - begin);
}
return taken;
"""


def start_browser() -> Any:
    """Start a browser without a window."""
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium")
    for argument in ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-dev-shm-usage"):
        options.add_argument(argument)
    return webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))


def measure(browser: Any, name: str, folder: Path, times: int) -> list[str]:
    """Return the cells of a drawing."""
    (block,) = read(SAMPLES / name)
    found = plan(block)
    work = build_work([BlockWork(found, block.name)], title=block.name)
    begin = time.perf_counter()
    text = render_follow_page(work)
    written = time.perf_counter() - begin
    path = folder / f"{name}.html"
    path.write_text(text, encoding="utf-8")
    opened, turned = [], []
    for _ in range(times):
        browser.get("about:blank")
        browser.get(path.as_uri() + "#step-1")
        opened.append(browser.execute_script("return performance.getEntriesByType('navigation')[0].loadEventEnd"))
        turned += browser.execute_script(STEPS)
    return [
        name,
        str(found.counts.patches),
        f"{len(text.encode()) / 1000:.0f} kB",
        f"{1e3 * written:.0f} ms",
        f"{statistics.median(opened):.0f} ms",
        f"{max(opened):.0f} ms",
        f"{statistics.median(turned):.1f} ms",
        f"{max(turned):.1f} ms",
    ]


def main() -> None:
    """Measure, print the table, and write it."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.follow", description=__doc__)
    parser.add_argument("--times", type=int, default=5, help="how often each page is opened")
    options = parser.parse_args()
    lines = [
        f"# The page to sew by, {today()}",
        "",
        about_line(),
        "",
        "| drawing | patches | page | written in | opens in | slowest | a step | slowest |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    browser = start_browser()
    try:
        with tempfile.TemporaryDirectory() as folder:
            rows = [measure(browser, name, Path(folder), options.times) for name in DRAWINGS]
    finally:
        browser.quit()
    lines += ["| " + " | ".join(row) + " |" for row in rows]
    text = "\n".join([*lines, ""])
    print(text)
    (RESULTS / f"{today()}-follow.md").write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
