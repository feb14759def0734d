"""The next tests: only what the tools allow and has not been taken, best first by bits per minute, with cautions."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import pytest

from diagnose.inference.candidates import ALL_TOOLS
from diagnose.inference.next_tests import HANDLING
from diagnose.model.ranking import NextTest
from diagnose.model.reading import Read, Reading
from tests.inference.engines import engine, rank, rule_base, volts, word

LAYOUT = "crew_cab_tray"
#: quantity -> (tool, minutes), as the readings form has them
FORM = {
    "volts": ("multimeter", 1.0), "ohms": ("multimeter", 4.0), "ripple": ("multimeter", 1.0), "amps": ("clamp", 1.0),
    "celsius": ("thermometer", 0.5), "lamp": ("eyes", 0.5), "look": ("eyes", 0.5), "smell": ("eyes", 1.0),
    "works": ("eyes", 0.5), "tug": ("hands", 0.5), "wiggle": ("hands", 1.0), "load_test": ("load_tester", 3.0),
    "gravity": ("hydrometer", 6.0),
}  # fmt: skip
READINGS = (word("lamp", "charging", "off", "engine_running"), volts("charger_in", "charger_neg", 0.0))


@cache
def proposed(*readings: Reading, tools: tuple[str, ...] = ALL_TOOLS) -> tuple[NextTest, ...]:
    return rank(LAYOUT, *readings, tools=tools).next


@pytest.mark.parametrize("tools", [*((t,) for t in ALL_TOOLS), ("multimeter", "clamp"), ALL_TOOLS], ids="+".join)
def test_nothing_is_asked_that_the_tools_cannot_do(tools: tuple[str, ...]) -> None:
    tests = proposed(*READINGS, tools=tools)
    for test in tests:
        needed = "test_lamp" if test.take.meter == "test_lamp" else FORM[test.take.quantity][0]
        assert needed in tools
    if tools[0] in ("multimeter", "eyes"):
        assert tests


def test_minutes_are_those_of_the_readings_form_with_state_and_access() -> None:
    points = engine(LAYOUT).installation.points
    for readings in ((), READINGS):
        state = readings[-1].take.when if readings and readings[-1].take else None
        been = {p for r in readings if r.take for p in r.take.where}
        zones = {points[p].zone or p for p in been if p in points}
        for test in proposed(*readings):
            due = FORM[test.take.quantity][1] + (1.0 if test.take.when != state else 0.0)
            opened: set[str] = set()
            for place in test.take.where:
                point = points.get(place.partition("@")[2] or place)
                if point is not None and point.access.mid > 0:
                    zone = point.zone or place
                    due += point.access.mid if zone not in zones | opened else 0.0
                    opened.add(zone)
            assert test.minutes == pytest.approx(due)


def test_a_test_taken_is_not_asked_again_even_if_it_was_skipped() -> None:
    readings = list(READINGS)
    for _ in range(4):
        (take, *_rest) = (t.take for t in proposed(*readings))
        assert take not in [r.take for r in readings]
        readings.append(Reading(take, Read("skipped", "skipped")))


def test_the_best_comes_first_and_every_test_tells_something() -> None:
    asked = [proposed(), proposed(*READINGS), proposed(*READINGS, word("look", "charger_earth", "good"))]
    for tests in asked:
        rates = [t.information_bits / (FORM[t.take.quantity][1] + HANDLING) for t in tests]
        for state in {t.take.when for t in tests}:  # within one state the order is that of the tests alone
            here = [rate for rate, t in zip(rates, tests, strict=True) if t.take.when == state]
            assert here == sorted(here, reverse=True)
        assert 1 <= len(rates) <= 5
        assert all(t.information_bits >= 0.01 for t in tests)
    # minutes count: somewhere a test that tells more stands behind one that takes less
    assert any(one.information_bits < two.information_bits for tests in asked for one, two in pairwise(tests))


def test_each_test_says_what_its_suspects_would_read_and_why_it_is_asked() -> None:
    for test in proposed(*READINGS):
        labels = [label for label, _ in test.expect]
        assert len(labels) == len(set(labels)) >= 2
        assert all(text for _, text in test.expect)
        assert labels[0] in test.why
        assert "bits a minute" in test.why


def test_a_useful_test_tells_leading_suspects_apart() -> None:
    """With no volts at the charger the feed is asked for, not the house side."""
    first = proposed(*READINGS, tools=("multimeter",))[0].take
    assert first.quantity == "volts"
    feed = {"start_pos", "input_fuse_load", "charger_in", "input_fuse@start_pos", "input_fuse@input_fuse_load",
            "input_cable@input_fuse_load", "input_cable@charger_in", "start_neg", "charger_neg", "chassis",
            "tray"}  # fmt: skip
    assert set(first.where) & feed


def test_cautions_bound_to_state_and_test_come_with_it() -> None:
    rules = rule_base()[0]
    running = {c.says for c in rules.cautions.values() if "engine_running" in c.states and c.where is None}
    isolated = {c.says for c in rules.cautions.values() if "isolated" in c.states and c.where is None}
    assert running
    assert isolated
    met = set()
    for tools in (ALL_TOOLS, ("multimeter",), ("clamp",)):
        for test in (*proposed(tools=tools), *proposed(*READINGS, tools=tools)):
            met.add(test.take.when)
            if test.take.when == "engine_running":
                assert running <= set(test.cautions)
            if test.take.when == "isolated":
                assert isolated <= set(test.cautions)
    assert "engine_running" in met


def test_after_a_danger_nothing_is_asked() -> None:
    assert proposed(*READINGS, word("look", "house_battery", "swollen")) == ()


def test_without_tools_nothing_is_asked() -> None:
    assert proposed(*READINGS, tools=()) == ()


def test_ohms_are_asked_isolated_only() -> None:
    for readings in ((), READINGS):
        for test in proposed(*readings, tools=("multimeter",)):
            assert (test.take.quantity == "ohms") == (test.take.when == "isolated")



def test_in_danger_nothing_more_is_asked_for() -> None:
    """Not even a test straight at what is nearly sure."""
    sure = rank(LAYOUT, *READINGS, volts("tray", "chassis", 0.9), word("look", "tray_strap", "corroded"))
    assert sure.next
    ended = rank(
        LAYOUT, *READINGS, volts("tray", "chassis", 0.9), word("look", "tray_strap", "corroded"),
        word("look", "start_battery", "smoking"),
    )  # fmt: skip
    assert ended.stop is not None
    assert ended.stop.because == "danger"
    assert ended.next == ()
