"""A second fault beside the first, and what is believed once something was mended."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from diagnose.inference.after_repairs import SECOND_AFTER, mended_numbers
from diagnose.inference.ranking import Question
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Ranking
from diagnose.model.reading import Reading, Take
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from tests.inference.engines import TOOLS, chances, engine, rank, rule_base

LAYOUT = "crew_cab_tray"
STRAP = FaultAt("high_resistance", "tray_strap", size=0.09)
LUG = FaultAt("high_resistance", "output_cable", "charger_out", size=0.06)
TAKES = (
    Take("volts", ("charger_in", "charger_neg"), "engine_running"),
    Take("volts", ("tray", "chassis"), "engine_running"),
    Take("volts", ("start_pos", "charger_in"), "engine_running"),
    Take("volts", ("charger_out", "house_pos"), "engine_running"),
    Take("amps", ("output_cable",), "engine_running"),
    Take("volts", ("charger_out", "output_cable@charger_out"), "engine_running"),
    Take("volts", ("charger_neg", "tray"), "engine_running"),
)


def vehicle(*faults: FaultAt, seed: int = 12) -> SimulatedVehicle:
    rules, tables = rule_base()
    hidden = [Hypothesis(f, rules.faults[f.fault], 1.0) for f in faults] or [SOUND]
    return SimulatedVehicle(load_layout(LAYOUT), rules, tables, hidden[0], seed, also=hidden[1:])


def read(one: SimulatedVehicle, takes: tuple[Take, ...] = TAKES) -> tuple[Reading, ...]:
    return tuple(Reading(take, one.answer(take)) for take in takes)


@cache
def mended(works: bool) -> Ranking:
    before, after = vehicle(STRAP), vehicle(*(() if works else (STRAP,)))
    repair = Reading(None, None, STRAP._replace(size=None))
    return rank(LAYOUT, *read(before), repair, *read(after))


@pytest.mark.slow
def test_readings_of_a_sound_vehicle_after_a_repair_prove_it() -> None:
    ranking = mended(True)
    assert ranking.no_fault > 1.1 * (1.0 - SECOND_AFTER), "likelier than right after the repair"
    assert ranking.no_fault > 3.0 * ranking.faults[0].probability
    assert ranking.stop is None or ranking.stop.because == "repaired"


def test_a_repair_that_changed_nothing_was_in_vain() -> None:
    ranking = mended(False)
    assert ranking.faults[0].fault[:2] == STRAP[:2]
    assert ranking.no_fault < 0.01


@pytest.mark.parametrize("works", [True, False])
def test_chances_sum_to_one_after_a_repair(works: bool) -> None:
    assert sum(chances(mended(works)).values()) == pytest.approx(1.0, abs=1e-9)


def test_what_is_left_after_a_repair_is_found() -> None:
    both, left = vehicle(STRAP, LUG), vehicle(LUG)
    repair = Reading(None, None, STRAP._replace(size=None))
    ranking = rank(LAYOUT, *read(both), repair, *read(left))
    assert ranking.faults[0].fault[:3] == LUG[:3]
    assert ranking.faults[0].probability > 0.3


def test_two_faults_that_show_are_named_together() -> None:
    ranking = rank(LAYOUT, *read(vehicle(STRAP, LUG)))
    assert sum(chances(ranking).values()) == pytest.approx(1.0, abs=1e-9)
    named = [{(f.fault, f.part) for f in (e.fault, *e.together)} for e in ranking.faults[:3]]
    assert {STRAP[:2], LUG[:2]} in named


def test_repairs_are_found_among_the_hypotheses() -> None:
    hypotheses = engine(LAYOUT).hypotheses
    known = next(n for n, h in enumerate(hypotheses) if h.fault is not None and h.fault[:3] == LUG[:3])
    readings = (Reading(None, None, LUG), *read(vehicle())[:1], Reading(None, None, FaultAt("blown", "no_such_fuse")))
    assert mended_numbers(readings, hypotheses) == (known, None)


def test_a_repair_of_something_else_leaves_the_belief_as_it_was() -> None:
    readings = read(vehicle(STRAP))
    held = engine(LAYOUT)
    before = held.believe(Question(readings, None, TOOLS)).posterior
    unknown = Reading(None, None, FaultAt("blown", "no_such_fuse"))
    after = held.believe(Question((*readings, unknown), None, TOOLS)).posterior
    assert np.abs(before - after).max() < 1e-9
