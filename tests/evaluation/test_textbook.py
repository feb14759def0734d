"""The fixed order and plain half-splitting end at plain faults, and find nothing on sound vehicles."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.evaluation.halving import split
from diagnose.evaluation.meter import Meter
from diagnose.evaluation.telling import HealthyBands
from diagnose.evaluation.textbook import follow
from diagnose.model.fault import FaultAt
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.textbook import load_textbook
from tests.inference.engines import rule_base

PLAIN = [
    FaultAt("blown", "input_fuse"),
    FaultAt("open_circuit", "tray_strap"),
    FaultAt("open_circuit", "fridge_return", "house_neg"),
    FaultAt("high_resistance", "input_cable", "charger_in", size=0.15),
    FaultAt("high_resistance", "tray_strap", size=0.09),
    FaultAt("discharged", "house_battery", size=10.9),
    FaultAt("no_output", "charger"),
]


def meter(fault: FaultAt | None, seed: int = 4) -> Meter:
    rules, tables = rule_base()
    hidden = SOUND if fault is None else Hypothesis(fault, rules.faults[fault.fault], 1.0)
    return Meter(SimulatedVehicle(load_layout("crew_cab_tray"), rules, tables, hidden, seed))


@pytest.mark.parametrize("fault", PLAIN, ids=lambda f: f"{f.fault} {f.part}")
def test_the_order_ends_at_plain_faults(fault: FaultAt) -> None:
    hand = meter(fault)
    found = follow(load_textbook(), hand, "no_charge_driving")
    assert found is not None
    assert (found.part, found.at) == (fault.part, fault.at)
    assert 0 < hand.minutes <= 60
    assert len(hand.readings) == len({r.take for r in hand.readings})


def test_the_order_finds_nothing_on_most_sound_vehicles() -> None:
    assert sum(follow(load_textbook(), meter(None, seed)) is None for seed in range(6)) >= 4


def test_the_complaint_tells_what_comes_first() -> None:
    first = []
    for complaint in ("dead_by_morning", "no_charge_driving"):
        hand = meter(None)
        follow(load_textbook(), hand, complaint)
        assert hand.readings[0].take is not None
        first.append(hand.readings[0].take.quantity)
    assert first == ["amps", "volts"]


def test_half_splitting_halves_the_way_to_what_leaves_its_band() -> None:
    _, tables = rule_base()
    bands = HealthyBands(load_layout("crew_cab_tray"), tables, 1)
    found = [split(meter(FaultAt("open_circuit", "input_cable", "charger_in"), seed), bands) for seed in range(5)]
    assert any(f is not None and (f.part, f.at) == ("input_cable", "charger_in") for f in found)


def test_every_step_has_a_fault_of_the_rule_base_and_every_complaint_is_known() -> None:
    rules, _ = rule_base()
    order = load_textbook()
    assert {f for step in order.steps for f in step.ends.values()} <= set(rules.faults)
    assert set(order.first) <= set(rules.complaints)
    blocks = {step.block for step in order.steps}
    assert {b for first in order.first.values() for b in first} <= blocks
    assert {step.quantity for step in order.steps} <= set(rules.tests)


def test_a_step_that_leads_nowhere_is_refused_with_its_place(tmp_path: Path) -> None:
    text = (rules_folder() / "textbook_order.yaml").read_text(encoding="utf-8")
    (tmp_path / "textbook_order.yaml").write_text(text.replace("[fuse_drop, cable_look]", "[cable_lok]"))
    with pytest.raises(BadInput) as refused:
        load_textbook(tmp_path)
    (problem,) = refused.value.problems
    assert "no step `cable_lok`" in problem.what
    assert problem.line is not None
    assert "cable_look" in problem.right
