"""A headless Chromium for tests: a page is opened from a file, and every request that it makes is noted."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from selenium import webdriver

from tests.documents.recalculate import program

QUIET = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
LEFT_OUT = "the phone page is not opened in a browser"


@contextmanager
def chromium(profile: Path, *, width: int = 360, height: int = 740) -> Iterator[webdriver.Chrome]:
    """Give a browser of a phone's size with a profile of its own."""
    options = webdriver.ChromeOptions()
    options.binary_location = program("chromium", LEFT_OUT)
    driver = program("chromedriver", LEFT_OUT)
    for argument in (*QUIET, f"--user-data-dir={profile}"):
        options.add_argument(argument)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    browser = webdriver.Chrome(options=options, service=webdriver.ChromeService(driver))
    try:
        size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": True}
        browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
        yield browser
    finally:
        browser.quit()


def saves_to(browser: webdriver.Chrome, folder: Path) -> None:
    """Let what the page saves go to a folder."""
    browser.execute_cdp_cmd("Browser.setDownloadBehavior", {"behavior": "allow", "downloadPath": str(folder)})


def requests(browser: webdriver.Chrome) -> list[str]:
    """Return the address of every request since the last call."""
    events = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    return [one["params"]["request"]["url"] for one in events if one["method"] == "Network.requestWillBeSent"]


def complaints(browser: webdriver.Chrome) -> list[str]:
    """Return what the page's console says since the last call."""
    return [entry["message"] for entry in browser.get_log("browser")]
