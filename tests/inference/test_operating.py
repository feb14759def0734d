"""Why nothing may be wrong: each operating state where it holds, and not where it does not."""

from __future__ import annotations

import pytest

from diagnose.basics.quantities import Span
from diagnose.inference.complaints import match_complaint
from diagnose.inference.operating import STATES_KNOWN, explained, why_sound
from diagnose.inference.ranking import Engine, Question
from diagnose.model.reading import Read, Reading, Take
from diagnose.store.installations import load_layout
from tests.inference.engines import TOOLS, engine, rank, rule_base, volts, word

STATES = rule_base()[0].operating_states


def amps(part: str, value: float, when: str = "engine_running") -> Reading:
    return Reading(Take("amps", (part,), when), Read("number", f"{value} A", value))


def told(engine: Engine, readings: tuple[Reading, ...], complaint: str | None = None) -> dict[str, float]:
    belief = engine.believe(Question(readings, complaint, TOOLS))
    said = match_complaint(complaint, engine.rules)
    return dict(why_sound(belief, engine.predictor, readings, said, STATES))


def states(layout: str, *readings: Reading, complaint: str | None = None) -> dict[str, float]:
    return told(engine(layout), readings, complaint)


def test_every_state_that_can_be_told_has_a_file_and_no_other() -> None:
    assert set(STATES) == set(STATES_KNOWN)


def test_a_full_battery_is_told_from_one_that_fills() -> None:
    rested = volts("house_pos", "house_neg", 12.73, "at_rest")
    full = states("engine_bay_pair", rested, amps("output_cable", 3.9))
    empty = states("engine_bay_pair", volts("house_pos", "house_neg", 12.1, "at_rest"), amps("output_cable", 25.0))
    assert full["battery_full"] > 0.9
    assert empty.get("battery_full", 0.0) < 0.1


def test_idle_is_named_where_a_reading_was_taken_at_idle() -> None:
    idle = volts("charger_in", "charger_neg", 13.9, "engine_idle")
    assert states("engine_bay_pair", idle)["engine_idle"] == 1.0
    assert "engine_idle" not in states("engine_bay_pair", volts("charger_in", "charger_neg", 14.0))


@pytest.mark.slow
def test_a_resting_alternator_is_named_only_where_it_varies() -> None:
    low = states("motorhome_variable", volts("start_pos", "start_neg", 12.5))
    high = states("motorhome_variable", volts("start_pos", "start_neg", 14.6))
    assert low["alternator_resting"] > 0.9
    assert low["alternator_resting"] > high.get("alternator_resting", 0.0) + 0.3
    assert "alternator_resting" not in states("engine_bay_pair", volts("start_pos", "start_neg", 12.5))


def test_a_lamp_that_is_off_on_a_sound_charger_is_one_that_waits() -> None:
    installation = load_layout("engine_bay_pair")
    shy = {"starts_above": Span(14.25, 14.25), "stops_below": Span(13.9, 13.9)}
    parts = dict(installation.parts) | {"charger": installation.parts["charger"].model_copy(update=shy)}
    shy_engine = Engine(installation.model_copy(update={"parts": parts}), *rule_base(), 1)
    off, on = (word("lamp", "charging", said, "engine_running") for said in ("off", "on"))
    assert told(shy_engine, (off,))["waiting_for_start_voltage"] > 0.9
    assert "waiting_for_start_voltage" not in told(shy_engine, (on,))
    assert "waiting_for_start_voltage" not in states("engine_bay_pair", on)


def test_a_flashing_lamp_stands_by_where_the_charger_does_not_run() -> None:
    flashing = word("lamp", "charging", "flashing", "at_rest")
    assert states("van_lfp_seat", flashing)["standby_lamp"] > 0.5
    assert "standby_lamp" not in states("van_lfp_seat", word("lamp", "charging", "off", "at_rest"))


def test_one_source_at_a_time_is_named_where_the_charger_does_not_share() -> None:
    assert states("motorhome_variable", complaint="solar_stops_with_engine")["solar_priority"] >= 0.5
    assert "solar_priority" not in states("canopy", complaint="solar_stops_with_engine")


def test_cold_lithium_is_named_where_people_say_so_and_lead_never() -> None:
    assert states("van_lfp_seat", complaint="no_charge_in_cold")["lfp_cold"] >= 0.5
    assert "lfp_cold" not in states("van_lfp_seat", complaint="never_full")
    assert "lfp_cold" not in states("engine_bay_pair", complaint="no_charge_in_cold")


@pytest.mark.parametrize("name", STATES_KNOWN)
def test_a_state_is_explained_in_words(name: str) -> None:
    (text,) = explained([(name, 0.5)], STATES)
    assert STATES[name].right in text
    assert text.startswith(STATES[name].name)


def test_nothing_is_explained_where_a_fault_is_certain() -> None:
    found = rank("crew_cab_tray", volts("tray", "chassis", 13.9), volts("charger_in", "charger_neg", 0.02))
    assert (found.no_fault_because, found.no_fault_says) == ((), ())
