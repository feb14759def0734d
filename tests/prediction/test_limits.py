"""The published limit of a test: which one applies where, from either end, and none where none is published."""

from __future__ import annotations

import pytest

from diagnose.model.expected import Limit
from diagnose.model.reading import Take
from diagnose.prediction.limits import limit_of
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base


def limit(take: Take, layout: str = "crew_cab_tray") -> Limit | None:
    return limit_of(take, load_layout(layout), rule_base()[1])


def running(a: str, b: str) -> Take:
    return Take("volts", (a, b), "engine_running")


@pytest.mark.parametrize(
    ("a", "b", "most"),
    [
        pytest.param("charger_in", "input_cable@charger_in", 0.1, id="termination of a cable"),
        pytest.param("start_pos", "input_fuse@start_pos", 0.1, id="contact of a fuse holder"),
        pytest.param("start_pos", "input_fuse_load", 0.1, id="fuse with its holder"),
        pytest.param("input_fuse_load", "charger_in", 0.2, id="cable"),
        pytest.param("tray", "chassis", 0.1, id="bond"),
        pytest.param("ignition_in", "ignition_out", 0.3, id="switch"),
    ],
)
def test_a_drop_has_the_limit_of_its_part_either_way_round(a: str, b: str, most: float) -> None:
    for take in (running(a, b), running(b, a)):
        found = limit(take)
        assert found is not None
        assert (found.low, found.high) == (-most, most)
        assert found.why


def test_the_contact_of_a_relay_is_a_switch_and_a_plug_pole_a_connection() -> None:
    relay = next(p for p in load_layout("relay_pair").parts.values() if p.kind == "relay")
    found = limit(running(*relay.ends), "relay_pair")
    assert found is not None
    assert found.high == 0.3
    pole = next(p for p in load_layout("caravan_tow_plug").parts.values() if p.kind == "contact")
    found = limit(running(*pole.ends), "caravan_tow_plug")
    assert found is not None
    assert found.high == 0.1


def test_a_charger_input_must_stay_above_its_stop_voltage() -> None:
    with_lead = limit(running("charger_in", "charger_neg"))
    assert with_lead is not None
    assert (with_lead.low, with_lead.high) == (11.7, 15.5)
    installation = load_layout("crew_cab_tray")
    bare = installation.parts["charger"].model_copy(update={"ignition": None})
    without = limit_of(
        running("charger_in", "charger_neg"),
        installation.model_copy(update={"parts": {**installation.parts, "charger": bare}}),
        rule_base()[1],
    )
    assert without is not None
    assert without.low == 12.4


def test_a_charger_output_and_a_battery_on_charge_have_a_ceiling() -> None:
    output = limit(running("charger_out", "charger_neg"))
    assert output is not None
    assert (output.low, output.high) == (None, pytest.approx(14.8))
    house, start = limit(running("house_pos", "house_neg")), limit(running("start_pos", "start_neg"))
    assert house is not None
    assert start is not None
    assert house.high == 14.7  # its own greatest charge voltage
    assert start.high == 15.5  # never above, flooded


def test_current_at_rest_ripple_and_a_hot_battery() -> None:
    standby = limit(Take("amps", ("start_battery",), "at_rest"))
    assert standby is not None
    assert (standby.low, standby.high) == (-0.1, 0.1)
    ripple = limit(Take("ripple", ("alt_pos", "engine"), "engine_running"))
    assert ripple is not None
    assert ripple.high == 0.5
    case = limit(Take("celsius", ("house_battery",), "engine_running"))
    assert case is not None
    assert case.high == 52.0


@pytest.mark.parametrize(
    "take",
    [
        Take("volts", ("house_pos", "house_neg"), "at_rest"),
        Take("volts", ("start_pos", "charger_in"), "engine_running"),
        Take("volts", ("house_pos", "house_neg"), "isolated"),
        Take("amps", ("start_battery",), "engine_running"),
        Take("amps", ("fridge",), "at_rest"),
        Take("celsius", ("input_fuse",), "engine_running"),
        Take("ohms", ("tray", "chassis"), "isolated"),
        Take("lamp", ("charging",), "engine_running"),
    ],
    ids=lambda take: f"{take.quantity} {take.where[0]} {take.when}",
)
def test_where_nothing_is_published_no_limit_is_made_up(take: Take) -> None:
    assert limit(take) is None
