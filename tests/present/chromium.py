"""A headless browser, as small as a telephone, for the tests and the bench of pages."""

from __future__ import annotations

import base64
import shutil
import time
from typing import Any

__all__ = ["browser_path", "chromium", "printed"]

#: how often a page is sent to the printer: the browser refuses one time in thirty while it still lays the page out
TRIES = 6
WORDS = ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage")


def browser_path() -> tuple[str, str] | None:
    """Return the programs of the browser and of its driver, or None where they are not installed."""
    program, driver = shutil.which("chromium"), shutil.which("chromedriver")
    return None if program is None or driver is None else (program, driver)


def chromium(size: str = "360,800", scripts: bool = True, logs: bool = False) -> Any:
    """Return a browser whose window has a size, with scripts or without; with `logs` it keeps what it loads and says.

    Raises: FileNotFoundError where no browser is installed.
    """
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    found = browser_path()
    if found is None:
        raise FileNotFoundError("no browser is installed: apt-get install chromium chromium-driver")
    options = webdriver.ChromeOptions()
    options.binary_location = found[0]
    for word in (*WORDS, f"--window-size={size}"):
        options.add_argument(word)
    if not scripts:
        options.add_experimental_option("prefs", {"profile.managed_default_content_settings.javascript": 2})
    if logs:
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    return webdriver.Chrome(options=options, service=Service(found[1]))


def printed(browser: Any) -> bytes:
    """Return the page that is open as a document of sheets.

    Raises: WebDriverException where it cannot be printed again and again.
    """
    from selenium.common.exceptions import WebDriverException

    for _ in range(TRIES - 1):
        try:
            return _sheets(browser)
        except WebDriverException:
            time.sleep(0.2)
    return _sheets(browser)


def _sheets(browser: Any) -> bytes:
    return base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})["data"])
