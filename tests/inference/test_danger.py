"""Every danger that ends a walk, with what to do; and what is evidence only."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.cli import main
from diagnose.inference.danger import dangers
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Reading, Take
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base, volts, word

#: voltage never to be passed while charging [V], by chemistry (IEEE 1361 and the like, from memory)
NEVER_ABOVE = {"flooded": 15.5, "calcium": 16.0, "agm": 15.0, "gel": 14.4, "lfp": 14.6}


def fitted(**battery: object) -> Installation:
    installation = load_layout("crew_cab_tray")
    house = installation.parts["house_battery"].model_copy(update={"max_charge": None, **battery})
    return installation.model_copy(update={"parts": {**installation.parts, "house_battery": house}})


def found(*readings: Reading, **battery: object) -> tuple[str, ...]:
    return dangers(readings, fitted(**battery), rule_base()[1])


def posts(value: float, when: str = "engine_running") -> Reading:
    return volts("house_pos", "house_neg", value, when)


def celsius(part: str, value: float, when: str = "engine_running") -> Reading:
    return Reading(Take("celsius", (part,), when), Read("number", f"{value} degC", value))


@pytest.mark.parametrize("chemistry", sorted(NEVER_ABOVE))
def test_charging_above_the_limit_of_the_chemistry(chemistry: str) -> None:
    most = NEVER_ABOVE[chemistry]
    assert found(posts(most - 0.02), chemistry=chemistry) == ()
    (said,) = found(posts(most + 0.02), chemistry=chemistry)
    assert said.startswith("reading 1: house_battery is charged at")
    assert "stop the engine or the source" in said


def test_charging_above_the_greatest_charge_of_this_battery() -> None:
    installation = load_layout("crew_cab_tray")  # its house battery: 14.7 V
    tables = rule_base()[1]
    assert dangers([posts(14.8)], installation, tables) == ()
    assert len(dangers([posts(14.9)], installation, tables)) == 1


@pytest.mark.parametrize("when", ["engine_running", "engine_idle", "mains_on", "sun_only", "engine_and_sun"])
def test_overcharge_is_a_danger_wherever_it_comes_from(when: str) -> None:
    assert len(found(posts(15.3, when))) == 1


def test_volts_elsewhere_or_without_charge_are_evidence_only() -> None:
    assert found(volts("charger_out", "charger_neg", 15.6)) == ()
    assert found(posts(12.9, "at_rest")) == ()


def test_reversed_polarity_is_seen_through_reversed_probes() -> None:
    assert "polarity is reversed" in found(posts(-12.4, "at_rest"))[0]
    assert found(volts("house_neg", "house_pos", -12.4, "at_rest")) == ()
    assert "polarity is reversed" in found(volts("house_neg", "house_pos", 12.4, "at_rest"))[0]


def test_overcharge_is_seen_through_reversed_probes() -> None:
    assert len(found(volts("house_neg", "house_pos", -15.3))) == 1


@pytest.mark.parametrize(("value", "danger"), [(0.3, False), (0.6, True), (6.0, True), (9.9, True), (10.5, False)])
def test_a_low_lithium_battery_without_protection(value: float, danger: bool) -> None:
    assert bool(found(posts(value, "at_rest"), chemistry="lfp", protection=False)) == danger
    assert found(posts(value, "at_rest"), chemistry="lfp", protection=True) == ()


@pytest.mark.parametrize(("value", "danger"), [(-4.0, True), (2.0, False)])
def test_a_lithium_battery_on_charge_below_freezing(value: float, danger: bool) -> None:
    assert bool(found(celsius("house_battery", value), chemistry="lfp")) == danger
    assert found(celsius("house_battery", value, "at_rest"), chemistry="lfp") == ()
    assert found(celsius("house_battery", value), chemistry="agm") == ()


@pytest.mark.parametrize(("part", "value", "danger"), [
    ("house_battery", 53.0, True), ("house_battery", 51.0, False), ("input_fuse", 80.0, False),
])  # fmt: skip
def test_a_hot_battery_case(part: str, value: float, danger: bool) -> None:
    for when in ("engine_running", "at_rest"):
        assert bool(found(celsius(part, value, when))) == danger


@pytest.mark.parametrize(("quantity", "part", "said"), [
    ("look", "house_battery", "swollen"), ("look", "input_fuse", "smoking"), ("look", "charger", "smoking"),
    ("smell", "house_battery", "acid"),
])  # fmt: skip
def test_what_eyes_and_nose_find(quantity: str, part: str, said: str) -> None:
    (text,) = found(word(quantity, part, said))
    assert text.startswith(f"reading 1: {part}: ")


@pytest.mark.parametrize("reading", [
    word("look", "house_battery", "corroded"), word("look", "input_fuse", "melted"), word("smell", "charger", "burnt"),
    Reading(Take("volts", ("house_pos", "house_neg"), "engine_running"), Read("skipped", "skipped")),
    Reading(Take("volts", ("house_pos", "house_neg"), "engine_running"), Read("unsteady", "unsteady")),
])  # fmt: skip
def test_evidence_of_faults_is_no_danger(reading: Reading) -> None:
    assert found(reading) == ()


def test_an_unsteady_reading_counts_by_its_higher_end() -> None:
    take = Take("volts", ("house_pos", "house_neg"), "engine_running")
    assert len(found(Reading(take, Read("unsteady", "unsteady 13.9 to 15.6 V", 13.9, 15.6)))) == 1


def test_every_danger_is_named_with_its_reading() -> None:
    said = found(posts(13.0), word("look", "house_battery", "swollen"), posts(15.4))
    assert [text.split(":")[0] for text in said] == ["reading 2", "reading 3"]


def test_a_danger_stops_the_ranking_and_ends_with_status_3(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "readings.yaml"
    file.write_text("readings:\n  - {volts: [house_pos, house_neg], when: sun_only, read: 15.60 V}\n")
    assert main.run(["rank", "solar_only_van", "--readings", str(file), "--json"]) == 3
    form = json.loads(capsys.readouterr().out)
    assert form["stop"]["because"] == "danger"
    assert "house_battery" in form["stop"]["says"]
    assert form["next"] == []
    assert sum(f["probability"] for f in form["faults"]) + form["no_fault"] + form["unlisted"] == pytest.approx(1.0)


def test_a_repair_is_no_danger() -> None:
    assert found(Reading(None, None, FaultAt("blown", "input_fuse")), volts("house_pos", "house_neg", 12.7)) == ()


def test_a_test_without_a_reading_is_no_danger() -> None:
    assert found(Reading(Take("volts", ("house_pos", "house_neg"), "at_rest"), None)) == ()
