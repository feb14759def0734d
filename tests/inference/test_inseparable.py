"""Faults that no test tells apart: known pairs, and what another tool changes."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.inseparable import groups_of, inseparable
from diagnose.inference.ranking import Question
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Ranking
from diagnose.model.reading import Reading
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from tests.inference.engines import engine, rule_base

LAYOUT = "relay_pair"


def labels(*tools: str) -> list[set[str]]:
    return [{each.label for each in group} for group in inseparable(load_layout(LAYOUT), *rule_base(), tools)]


@pytest.mark.slow
def test_eyes_tell_a_wrong_fuse_from_none_wrong() -> None:
    by_meter = labels("multimeter", "clamp")
    (group,) = [group for group in by_meter if "nothing wrong" in group]
    assert any(each.startswith("wrong_rating") for each in group)
    assert not any("nothing wrong" in group for group in labels("multimeter", "clamp", "eyes"))


def test_without_tools_all_faults_are_one_group() -> None:
    (group,) = labels()
    assert "nothing wrong" in group
    assert len(group) > 50


@pytest.mark.parametrize("seed", range(5))
def test_groups_hang_together(seed: int) -> None:
    chance = np.random.default_rng(seed)
    alike = chance.random((12, 12)) < 0.08
    alike |= alike.T | np.eye(12, dtype=bool)
    reach = np.linalg.matrix_power(alike.astype(int), 12) > 0
    expected = {tuple(np.flatnonzero(row).tolist()) for row in reach if row.sum() > 1}
    assert set(groups_of(alike)) == expected


def ended(tools: tuple[str, ...]) -> Ranking:
    """Play a crew-cab whose input lug is open to the end with some tools."""
    fault = FaultAt("open_circuit", "input_cable", "charger_in")
    rules, tables = rule_base()
    hidden = Hypothesis(fault, rules.faults[fault.fault], 1.0)
    vehicle = SimulatedVehicle(load_layout("crew_cab_tray"), rules, tables, hidden, 5)
    asked, readings = engine("crew_cab_tray"), []
    for _ in range(40):
        ranking = asked.rank(Question(tuple(readings), None, tools))
        if ranking.stop is not None or not ranking.next:
            break
        take = ranking.next[0].take
        readings.append(Reading(take, vehicle.answer(take)))
    return ranking


@pytest.mark.slow
def test_a_clamp_alone_leaves_a_group_that_holds_the_truth_and_a_meter_does_not() -> None:
    by_clamp, by_meter = ended(("clamp",)), ended(("multimeter",))
    first = by_clamp.faults[0]
    assert by_clamp.stop is not None
    assert by_clamp.stop.because == "inseparable"
    assert FaultAt("open_circuit", "input_cable", "charger_in") in (first.fault, *first.alternatives)
    assert len({(f.part, f.at) for f in (first.fault, *first.alternatives)}) > 3
    assert sum(e.probability for e in by_clamp.faults) + by_clamp.no_fault + by_clamp.unlisted == pytest.approx(1.0)
    assert by_meter.faults[0].fault[:3] == ("open_circuit", "input_cable", "charger_in")
    assert by_meter.faults[0].alternatives == ()
