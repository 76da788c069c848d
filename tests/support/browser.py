"""A real browser for tests of pages: Chromium with its driver, as Debian packages them.

Where they are missing the tests are skipped, unless the environment variable SEAMTREE_NEEDS_BROWSER says that they
must not be. SEAMTREE_AXE names the file ``axe.min.js`` of the package axe-core of npm, which looks for what shuts
people out.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from pathlib import Path

import pytest


def _miss(what, how):
    if os.environ.get("SEAMTREE_NEEDS_BROWSER"):
        pytest.fail(f"{what} missing: {how}")
    pytest.skip(f"{what} not installed: {how}")


@pytest.fixture(scope="module")
def browser(tmp_path_factory):
    """A browser without a window."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    if not (chromium and driver):
        _miss("chromium and chromedriver are", "apt-get install chromium chromium-driver")
    from selenium import webdriver

    profile = tmp_path_factory.mktemp("profile")
    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for argument in (
        "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
        "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--window-size=1300,900",
        f"--user-data-dir={profile}",
    ):  # fmt: skip
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    driver.profile = str(profile)
    yield driver
    driver.quit()


@contextlib.contextmanager
def media(page, kind="", **features):
    """Show the page as in print, or as somebody likes it who prefers something."""
    wanted = [{"name": name.replace("_", "-"), "value": value} for name, value in features.items()]
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": kind, "features": wanted})
    yield
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})


@contextlib.contextmanager
def wide(page, width, height=800):
    """Show the page on a screen of this size (CSS pixels)."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    yield
    page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


@pytest.fixture(scope="session")
def axe():
    """The text of axe-core."""
    path = os.environ.get("SEAMTREE_AXE")
    if not path:
        _miss("axe-core is", "npm install axe-core, and name its axe.min.js in SEAMTREE_AXE")
    return Path(path).read_text(encoding="utf-8")


def violations(page, axe):
    """Return what axe-core finds wrong with a page: rule and element."""
    page.execute_script(axe)
    found = page.execute_async_script(
        "const done = arguments[0];"
        "axe.run(document).then((r) => done(r.violations.map((v) => [v.id, v.nodes.map((n) => n.html)])));"
    )
    return [(rule, html[:120]) for rule, nodes in found for html in nodes]
