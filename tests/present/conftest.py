"""A headless browser for the tests of pages, as small as a phone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.present.chromium import chromium


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    found = chromium("520,800", logs=True)
    found.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                          {"width": 360, "height": 800, "deviceScaleFactor": 1, "mobile": False})  # fmt: skip
    yield found
    found.quit()
