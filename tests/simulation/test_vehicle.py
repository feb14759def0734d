"""A simulated vehicle answers like one real vehicle: always the same, within its instruments, with its fault in it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Take
from diagnose.model.words import words_for
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base

LAYOUT = "engine_bay_pair"
INPUT = Take("volts", ("charger_in", "charger_neg"), "engine_running")
REST = Take("volts", ("house_pos", "house_neg"), "at_rest")


@cache
def kept(fault: FaultAt | None, seed: int) -> SimulatedVehicle:
    return vehicle(fault, seed)


def vehicle(fault: FaultAt | None = None, seed: int = 1, stretch: float = 1.0) -> SimulatedVehicle:
    rules, tables = rule_base()
    hidden = SOUND if fault is None else Hypothesis(fault, rules.faults[fault.fault], 1.0)
    return SimulatedVehicle(load_layout(LAYOUT), rules, tables, hidden, seed, stretch)


def test_the_same_test_gives_the_same_answer_whatever_was_asked_before() -> None:
    first, second = vehicle(), vehicle()
    takes = [INPUT, REST, Take("look", ("input_fuse",), "at_rest"), Take("lamp", ("charging",), "engine_running")]
    answers = {take: first.answer(take) for take in takes}
    for take in reversed(takes):
        again = take._replace(when=f" {take.when}".strip())
        assert second.answer(again) == answers[take] == first.answer(again)


def test_other_seeds_are_other_vehicles() -> None:
    found = {kept(None, seed).answer(REST).value for seed in range(8)}
    assert len(found) > 5


@pytest.mark.parametrize("take", [INPUT, REST, Take("amps", ("house_battery",), "engine_running")],
                         ids=lambda take: f"{take.quantity} {take.when}")  # fmt: skip
def test_sound_vehicles_read_in_the_expected_band(take: Take) -> None:
    """Of 40 at least 32 lie in the band of 95 %: a binomial count falls below that once in 2,000 runs."""
    rules, tables = rule_base()
    band = expected_readings(load_layout(LAYOUT), rules, tables, [take], SOUND, 3)[0]
    assert band.low is not None
    assert band.high is not None
    answers = [kept(None, seed).answer(take) for seed in range(40)]
    inside = sum(r.value is not None and band.low <= r.value <= band.high for r in answers)
    assert inside >= 32
    assert len({r.value for r in answers}) > 10


def test_stretched_vehicles_spread_wider() -> None:
    usual, wide = (
        np.std([vehicle(seed=seed, stretch=stretch).answer(REST).value or 0.0 for seed in range(20)])
        for stretch in (1.0, 2.0)
    )
    assert wide > 1.4 * usual


def test_volts_are_shown_to_the_digits_of_the_display() -> None:
    for take in (INPUT, REST, Take("volts", ("start_pos", "input_fuse_load"), "engine_running")):
        value = vehicle().answer(take).value
        assert value is not None
        step = 0.0001 if abs(value) < 0.6 else 0.001 if abs(value) < 6.0 else 0.01
        assert value / step == pytest.approx(round(value / step), abs=1e-4)


@pytest.mark.parametrize(
    ("fault", "take", "kind", "low", "high"),
    [
        (FaultAt("blown", "input_fuse"), INPUT, "number", -0.01, 0.01),
        (FaultAt("discharged", "house_battery", size=11.2), REST, "number", 11.0, 11.4),
        (FaultAt("open_circuit", "body_steel"), Take("amps", ("body_steel",), "engine_running"), "number", -0.6, 0.6),
        (FaultAt("high_resistance", "charger_earth", "charger_neg", size=2.0),
         Take("ohms", ("charger_neg", "charger_earth@charger_neg"), "isolated"), "number", 2.0, 2.5),
    ],
    ids=lambda each: each.fault if isinstance(each, FaultAt) else None,
)  # fmt: skip
def test_its_fault_shows(fault: FaultAt, take: Take, kind: str, low: float, high: float) -> None:
    read = vehicle(fault).answer(take)
    assert read.kind == kind
    assert read.value is not None
    assert low <= read.value <= high


def test_an_open_joint_reads_over_range() -> None:
    fault = FaultAt("open_circuit", "input_cable", "charger_in")
    read = vehicle(fault).answer(Take("ohms", ("charger_in", "input_cable@charger_in"), "isolated"))
    assert read == Read("over_range", "OL") or (read.value or 0.0) > 1000.0


def test_words_are_those_of_the_form_and_follow_the_fault() -> None:
    blown, look = FaultAt("blown", "input_fuse"), Take("look", ("input_fuse",), "at_rest")
    seen = [kept(blown, seed).answer(look) for seed in range(40)]
    assert {r.kind for r in seen} == {"word"}
    assert {r.word for r in seen} <= set(words_for("look", "multimeter"))
    assert sum(r.word == "blown" for r in seen) > 20
    assert sum(kept(None, seed).answer(look).word == "good" for seed in range(40)) > 28
    lamp = Take("lamp", ("charging",), "engine_running")
    assert sum(kept(blown, seed).answer(lamp).word == "off" for seed in range(20)) >= 18
    assert sum(kept(None, seed).answer(lamp).word == "on" for seed in range(20)) >= 18


def test_a_hunting_charger_is_read_as_unsteady_between_its_two_ends() -> None:
    """A large resistance in the charger's feed makes it start and stop."""
    fault = FaultAt("high_resistance", "input_cable", "charger_in", size=0.15)
    found = [vehicle(fault, seed).answer(INPUT) for seed in range(12)]
    unsteady = [r for r in found if r.kind == "unsteady"]
    assert len(unsteady) >= 8
    for read in unsteady:
        assert read.value is not None
        assert read.high is not None
        assert read.high - read.value > 0.5


def test_a_test_lamp_is_read_by_its_brightness_and_mistaken_now_and_then() -> None:
    lamp = REST._replace(meter="test_lamp")
    rules, tables = rule_base()
    careless = [
        SimulatedVehicle(load_layout(LAYOUT), rules, tables, SOUND, seed, wrong=1.0).answer(lamp) for seed in range(4)
    ]
    assert {kept(None, seed).answer(lamp).word for seed in range(8)} == {"on"}
    assert all(read.kind == "word" and read.word in ("dim", "off") for read in careless)
