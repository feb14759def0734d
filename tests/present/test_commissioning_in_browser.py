"""The hand-over record in a headless browser: no error, no request, keyboard, contrast, small screens, sheets of A4."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from diagnose.commissioning.record import Signed, record_of
from diagnose.model.commissioning import CommissioningRecord
from diagnose.present.commissioning_page import commissioning_page
from diagnose.store.installations import load_layout
from tests.commissioning.vehicles import base, begun, played, vehicle_of
from tests.present.chromium import printed
from tests.present.commissioning_records import LONG, RECORD, hostile_record

pytestmark = pytest.mark.slow
RECORDS = {"record": RECORD, "long": LONG, "hostile": hostile_record()}
#: whole commissionings of simulated vehicles: layout, fault, seed; the largest, one with a fault, one with none begun
TYPED: dict[str, tuple[str, str, int | None]] = {
    "largest": ("motorhome_variable", "", 3), "faulty": ("caravan_tow_plug", "high_resistance", 4),
    "not begun": ("portable_panel", "", None),
}  # fmt: skip

#: of every text that is seen: what it says, and its contrast with the nearest ground that is painted (WCAG 2.2, 1.4.3)
CONTRASTS = """
const parts = c => c.match(/[0-9.]+/g).map(Number);
const light = c => { const [r, g, b] = parts(c).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 :
 ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor;
 if (parts(c).length < 4 || parts(c)[3] === 1) return c; } return 'rgb(255, 255, 255)'; };
const ratio = (one, other) => { const [a, b] = [light(one), light(other)].sort((x, y) => y - x);
 return (a + 0.05) / (b + 0.05); };
const found = [];
for (const e of document.querySelectorAll('body *')) {
 const own = [...e.childNodes].filter(n => n.nodeType === 3 && n.textContent.trim()), style = getComputedStyle(e);
 if (style.visibility !== 'visible' || !e.getClientRects().length || style.opacity !== '1') continue;
 if (own.length) found.push([own[0].textContent.trim(), ratio(e instanceof SVGElement ? style.fill : style.color,
  e instanceof SVGElement ? 'rgb(255, 255, 255)' : ground(e))]);
 const before = getComputedStyle(e, '::before');
 if (before.content.startsWith('"')) found.push([before.content, ratio(before.color, ground(e))]);
} return found;
"""
BEYOND = """return [...document.querySelectorAll('main *')].filter(e => !e.closest('svg, thead') &&
 e.getBoundingClientRect().right > innerWidth + 1).map(e => e.textContent)"""
#: every cell whose words begin before the label at its side ends
LABELS = """return [...document.querySelectorAll('td[data-label]')].filter(e => e.getClientRects().length &&
 parseFloat(getComputedStyle(e).paddingLeft) < parseFloat(getComputedStyle(e, '::before').width) + 4)
 .map(e => e.textContent)"""
REACHABLE = "return [...document.querySelectorAll('a[href],button,input,select,textarea,summary,[tabindex]')].length"
FOCUSED = """const e = document.activeElement, style = getComputedStyle(e), box = e.getBoundingClientRect();
return e === document.body ? null : [e.textContent, style.outlineStyle, box.height];"""


def typed_record(layout: str, label: str, seed: int | None) -> CommissioningRecord:
    """Return the record of a commissioning that a simulated vehicle answered, or of one that was not begun."""
    job = begun(layout) if seed is None else played(layout, vehicle_of(layout, label, seed))
    signed = Signed("A. Trainee", "2026-03-02", ("multimeter and clamp",), "0.1.0", "a" * 16, "b" * 16)
    rules, tables = base()
    return record_of(job.installation, job.results(), tables, rules, signed)


@pytest.fixture(params=RECORDS)
def page(request: pytest.FixtureRequest, browser: webdriver.Chrome, tmp_path: Path) -> webdriver.Chrome:
    """Return the browser with a record in it, as small as a phone."""
    opened(RECORDS[request.param], browser, tmp_path)
    return browser


def opened(
    record: CommissioningRecord, browser: webdriver.Chrome, folder: Path, layout: str = "crew_cab_tray"
) -> None:
    file = folder / "a.html"
    file.write_text(commissioning_page(record, load_layout(layout)), encoding="utf-8")
    browser.get_log("browser")
    browser.get_log("performance")
    browser.get(file.as_uri())


def test_no_error_and_no_request(page: webdriver.Chrome) -> None:
    assert page.get_log("browser") == []
    asked = re.findall(r'"url\\?":\\?"([a-z]+:[^"\\]*)', str(page.get_log("performance")))
    assert asked
    assert {url for url in asked if not url.startswith(("file:", "about:", "data:"))} == set()


def test_policy_holds(page: webdriver.Chrome) -> None:
    assert page.execute_script("return getComputedStyle(document.body).color") == "rgb(17, 17, 17)"
    page.execute_script("const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
                        "document.body.append(s); document.body.setAttribute('style', 'color:red')")  # fmt: skip
    assert page.execute_script("return window.ran") is None
    assert page.execute_script("return getComputedStyle(document.body).color") == "rgb(17, 17, 17)"


def test_phone_needs_no_sideways_scrolling_and_cuts_nothing_off(page: webdriver.Chrome) -> None:
    width, inner = page.execute_script("return [document.documentElement.scrollWidth, window.innerWidth]")
    assert inner == 360
    assert width <= 360
    assert page.execute_script(BEYOND) == []
    assert page.execute_script(LABELS) == []


def test_every_control_is_reached_by_keyboard_seen_and_large_enough(page: webdriver.Chrome) -> None:
    met = []
    for _ in range(page.execute_script(REACHABLE)):
        ActionChains(page).send_keys(Keys.TAB).perform()
        met.append(page.execute_script(FOCUSED))
    assert len({name for name, _, _ in met}) == len(met) == 5
    assert all(outline == "solid" and height >= 48 for _, outline, height in met)
    ActionChains(page).send_keys(Keys.ENTER).perform()
    assert page.execute_script("return location.hash") == "#again"
    assert page.execute_script("return document.querySelectorAll(location.hash).length") == 1
    assert page.execute_script("return new Set([...document.querySelectorAll('[id]')].map(e => e.id)).size ==="
                               "document.querySelectorAll('[id]').length")  # fmt: skip


@pytest.mark.parametrize("media", ["screen", "print"])
def test_contrast_of_every_text(page: webdriver.Chrome, media: str) -> None:
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media})
    try:
        found = page.execute_script(CONTRASTS)
    finally:
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert len(found) > 100
    assert [(text, ratio) for text, ratio in found if ratio < 4.5] == []
    assert min(ratio for _, ratio in found) < 20  # the measure tells greys from black


def test_scripts_off_shows_everything(browser: webdriver.Chrome, tmp_path: Path) -> None:
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    try:
        opened(RECORD, browser, tmp_path)
        text = browser.find_element(By.TAG_NAME, "main").text
        last = browser.find_element(By.CSS_SELECTOR, "ul.again li:last-child").rect
        drawn = [picture.rect["height"] for picture in browser.find_elements(By.TAG_NAME, "svg")]
    finally:
        browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    assert all(row.step.title in text for row in RECORD.rows)
    assert last["height"] > 10
    assert len(drawn) == 5
    assert max(drawn) > 900


@pytest.mark.parametrize("name", ["record", "long", *TYPED])
def test_two_sheets_of_a4_in_print(name: str, browser: webdriver.Chrome, tmp_path: Path) -> None:
    if name in TYPED:
        opened(typed_record(*TYPED[name]), browser, tmp_path, TYPED[name][0])
    else:
        opened(RECORDS[name], browser, tmp_path)
    pdf = printed(browser)
    sheets = len(re.findall(rb"/Type\s*/Page\b", pdf))
    assert re.findall(rb"/Count (\d+)", pdf)[-1] == str(sheets).encode()
    size = re.findall(rb"/MediaBox\s*\[\s*0 0 ([0-9.]+) ([0-9.]+)", pdf)
    assert {(round(float(wide)), round(float(high))) for wide, high in size} == {(595, 842)}
    assert 1 <= sheets <= 2
    assert (tmp_path / "a.html").stat().st_size < 300_000
