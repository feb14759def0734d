"""The report and the pictures in a headless browser: no error, no request, small screens, real sizes of letters."""

import re
from pathlib import Path

import pytest
from selenium import webdriver

from diagnose.cli.main import run
from diagnose.drawing.placing import picture_of
from diagnose.present.svg import svg_text
from diagnose.store.installations import layout_ids, load_layout

pytestmark = pytest.mark.slow
JOB = "cases/examples/crew_cab_tray_job.jsonl"

#: every pair of texts that meets by the browser's own boxes, and every text wider than its picture
MEETING = """
const t = [...document.querySelectorAll('text')].map(e => [e.textContent, e.getBBox()]), bad = [];
t.forEach(([n, a], i) => { if (a.x + a.width > 360) bad.push(n); t.slice(i + 1).forEach(([m, b]) => {
 if (a.x < b.x + b.width && b.x < a.x + a.width && a.y + 1.5 < b.y + b.height - 1.5 && b.y + 1.5 < a.y + a.height - 1.5)
 bad.push(n + ' / ' + m); }); }); return [t.length, bad];
"""


@pytest.mark.parametrize("layout", layout_ids())
def test_real_letters_of_a_picture_keep_apart(layout: str, browser: webdriver.Chrome, tmp_path: Path) -> None:
    file = tmp_path / "a.svg"
    file.write_text(svg_text(picture_of(load_layout(layout))), encoding="utf-8")
    browser.get(file.as_uri())
    count, bad = browser.execute_script(MEETING)
    assert count > 20
    assert bad == []


@pytest.mark.parametrize("extra", [[], ["--statement"], ["--card"]])
def test_page_of_a_job(extra: list[str], browser: webdriver.Chrome, tmp_path: Path) -> None:
    file = tmp_path / "a.html"
    assert run(["report", JOB, "--html", str(file), *extra]) == 0
    assert file.stat().st_size < 300_000
    browser.get_log("browser")
    browser.get_log("performance")
    browser.get(file.as_uri())
    assert browser.get_log("browser") == []
    asked = re.findall(r'"url\\?":\\?"([a-z]+:[^"\\]*)', str(browser.get_log("performance")))
    assert asked
    assert {url for url in asked if not url.startswith(("file:", "about:", "data:"))} == set()
    width = browser.execute_script("return [document.documentElement.scrollWidth, window.innerWidth]")
    assert width[1] == 360
    assert width[0] <= 360
    assert browser.execute_script("return getComputedStyle(document.body).color") == "rgb(17, 17, 17)"
    assert "not a certificate" in browser.execute_script("return document.body.innerText")
    # The policy holds: a script put in later is refused.
    browser.execute_script("const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
                           "document.body.append(s)")  # fmt: skip
    assert browser.execute_script("return window.ran") is None
