"""A headless browser for the tests of pages, as small as a phone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    options = Options()
    for word in ("--headless=new", "--no-sandbox", "--disable-dev-shm-usage", "--window-size=520,800"):
        options.add_argument(word)
    options.binary_location = "/usr/bin/chromium"
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    found = webdriver.Chrome(options=options, service=Service("/usr/bin/chromedriver"))
    found.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                          {"width": 360, "height": 800, "deviceScaleFactor": 1, "mobile": False})  # fmt: skip
    yield found
    found.quit()
