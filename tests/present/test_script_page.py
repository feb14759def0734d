"""The page of a phone script in a browser: with scripts on and off, typed numbers, a reload, print, no network."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.action_chains import ActionChains

from diagnose.model.reading import Take
from diagnose.model.script import Answer, Costs, End, Question, Script
from diagnose.present.script_page import script_page
from diagnose.present.script_text import script_lines, script_markdown
from tests.present.chromium import browser_path, chromium

LOOK, VOLTS = Take("look", ("b",), "at_rest"), Take("volts", ("p", "n"), "at_rest")
ENDS = {
    name: End(
        "tests_spent", (), 0.5, 0.1, "Nothing is sure.", send, "Come" if send else "Stay",
        ("a fuse",) if send else (), ("a light",), ("We know.", "We come.", "Keep away."),
        Costs(90.0, 80.0, "90 or 80 min"), 20.0, ("the box",), ("No flame.",), ("Stop at smoke.",),
        ("Cover the eyes.",),
    )
    for name, send in (("e1", True), ("e2", False))
}  # fmt: skip
BANDS = (
    Answer("below 12 V", "e1", None, None, 12.0, "V"), Answer("12 V or more", "e2", None, 12.0, None, "V"),
    Answer("Not sure", "e1", "skipped"),
)  # fmt: skip
SCRIPT = Script(
    "Van <1>", "no light", True, ("eyes",), (), "q1", ("People away first.", "Look at the dial."),
    {
        "q1": Question("Look at it. What is there?", "From afar.", LOOK, ("Keep away.",), (
            Answer("Nothing", "q2", "good"), Answer("Not sure", "e2", "skipped")), 1.0, 2.0, True),
        "q2": Question("Measure it. Read every mark.", "Red on plus.", VOLTS, (), BANDS, 1.0, 1.0),
        **ENDS,
    },
    opening=1,
)  # fmt: skip
PAGE = script_page(SCRIPT)


def test_the_page_stands_alone() -> None:
    assert "default-src 'none'" in PAGE
    assert not re.search(r"https?://|src=|url\(|fetch\(|XMLHttp|sendBeacon|WebSocket", PAGE.replace("script-src", ""))
    assert "Van &lt;1&gt;" in PAGE
    assert "<1>" not in PAGE
    links = set(re.findall(r'href="#([^"]+)"', PAGE))
    assert links == {"q1", "q2", "e1", "e2"}
    assert links <= set(re.findall(r'<section id="([^"]+)"', PAGE))


def test_cautions_stand_before_what_is_done() -> None:
    card = PAGE[PAGE.index('<section id="q1"') : PAGE.index('<section id="q2"')]
    assert card.index("Keep away.") < card.index("From afar.") < card.index("Look at it.")


def test_a_page_opens_with_few_words_and_then_all_that_cards_remind_of() -> None:
    start = PAGE[PAGE.index('<section id="start"') :]
    assert start.index("People away first.") < start.index(">Begin<") < start.index("Look at the dial.")


def test_text_and_markdown_have_every_step_and_way() -> None:
    lines, marked = script_lines(SCRIPT, 60), script_markdown(SCRIPT)
    assert all(len(line) <= 60 for line in lines)
    for name in SCRIPT.steps:
        assert f"{name}." in lines
        assert f'<a id="{name}"></a>' in marked
    assert "  12 V or more: go to e2" in lines
    assert "- 12 V or more: [e2](#e2)" in marked


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[..., Any]]:
    """Yield what opens the page in a browser, with scripts or without."""
    if browser_path() is None:
        pytest.skip("no browser is installed")
    file = tmp_path_factory.mktemp("page") / "script.html"
    file.write_text(PAGE, encoding="utf-8")
    opened: list[Any] = []

    def opens(scripts: bool = True) -> Any:
        driver = chromium(scripts=scripts)
        opened.append(driver)
        driver.get(Path(file).as_uri())
        return driver

    yield opens
    for driver in opened:
        driver.quit()


def shown(driver: Any) -> list[str]:
    """Return the ids of the sections that are seen."""
    return [s.get_attribute("id") for s in driver.find_elements("css selector", "section") if s.is_displayed()]


@pytest.mark.slow
def test_a_call_with_scripts_on(browser: Callable[..., Any]) -> None:
    driver = browser()
    assert shown(driver) == ["start"]
    driver.find_element("css selector", "#start .answers a").click()
    assert shown(driver) == ["q1"]
    assert "about 2 more questions" in driver.find_element("id", "more").text
    assert driver.switch_to.active_element.tag_name == "h2"
    assert driver.find_element("css selector", "#q1 .answers a").rect["height"] >= 48
    before = time.perf_counter()
    driver.execute_script("document.querySelector('#q1 .answers a').click()")
    assert time.perf_counter() - before < 1.0
    assert shown(driver) == ["q2"]
    assert not driver.find_element("css selector", "#q2 .band").is_displayed()
    field = driver.find_element("css selector", "#q2 input")
    field.send_keys("twelve")
    driver.find_element("css selector", "#q2 .say").click()
    assert "Type the number" in driver.find_element("css selector", "#q2 .back").text
    field.clear()
    field.send_keys("12,0\n")
    assert "1 2 point 0" in driver.find_element("css selector", "#q2 .back").text
    driver.find_element("id", "notes").send_keys("a red van")
    driver.find_element("css selector", "#q2 .back button").click()
    assert shown(driver) == ["e2"]
    assert not driver.find_element("id", "number").is_displayed()
    summary = driver.find_element("id", "summary").get_attribute("value")
    assert "What is there? -> Nothing" in summary
    assert "12,0 (read back)" in summary
    assert "Notes: a red van" in summary
    driver.refresh()
    assert shown(driver) == ["e2"]
    assert driver.find_element("id", "notes").get_attribute("value") == "a red van"
    driver.find_element("id", "back").click()
    assert shown(driver) == ["q2"]
    field = driver.find_element("css selector", "#q2 input")
    assert field.get_attribute("value") == "", "a number told is not told again"
    assert "(V)" in driver.find_element("css selector", "#q2 label").text
    driver.find_element("css selector", "#q2 .sign").click()
    assert driver.find_element("css selector", "#q2 input").get_attribute("value").startswith("-")
    driver.find_element("id", "restart").click()
    assert shown(driver) == ["start"]


@pytest.mark.slow
def test_no_answer_looks_chosen_before_it_is(browser: Callable[..., Any]) -> None:
    """A finger leaves a pointer where it tapped, and there the next card has an answer of its own."""
    driver = browser()
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [{"name": "hover", "value": "none"}]})
    driver.find_element("css selector", "#start .answers a").click()
    colours = set()
    for step in ("q1", "q2"):
        answers = driver.find_elements("css selector", f"#{step} .answers li:not(.band) a")
        for answer in answers:
            ActionChains(driver).move_to_element(answer).perform()
            colours.add(answer.value_of_css_property("background-color"))
        answers[0].click()
    assert colours == {"rgba(255, 255, 255, 1)"}


@pytest.mark.slow
def test_a_call_with_scripts_off(browser: Callable[..., Any]) -> None:
    driver = browser(scripts=False)
    assert not driver.find_element("id", "notes").is_displayed()
    for step, following in (("start", "q1"), ("q1", "q2"), ("q2", "e1")):
        assert shown(driver) == [step]
        driver.find_element("css selector", f"#{step} .answers a").click()
        assert shown(driver) == [following]


@pytest.mark.slow
def test_print_shows_every_step(browser: Callable[..., Any]) -> None:
    driver = browser()
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    assert shown(driver) == ["q1", "q2", "e1", "e2", "start"]
    assert driver.find_element("css selector", "#q2 .band").is_displayed()
    assert not driver.find_element("id", "back").is_displayed()
