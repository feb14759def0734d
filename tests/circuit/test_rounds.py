"""Where Newton's method begins, and that it needs few rounds from there: an answer it found late would be no other."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.circuit import newton
from diagnose.circuit.branches import rows_of
from diagnose.circuit.conditions import Modes, branches_in, switched
from diagnose.circuit.modes import solve_state
from diagnose.circuit.wiring import build_wiring
from diagnose.model.states import OPERATING_STATES
from tests.circuit.random_faults import faulty_vehicle
from tests.circuit.vehicles import full_vehicle, numbers_for


@pytest.mark.parametrize("seed", [9000, 9001, 9002, 9003])
def test_a_condition_near_the_one_before_is_found_in_few_rounds(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    """Several solves to the settled condition, each of which begins where the last ended."""
    rounds, whole = [], newton._round

    def counted(*given: object) -> object:
        rounds.append(1)
        return whole(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(newton, "_round", counted)
    one = faulty_vehicle("canopy", seed, seed % 3)
    assert solve_state(one.wiring, one.parameters, "engine_running_loaded").settled.all()
    assert len(rounds) <= 20


@pytest.mark.parametrize(
    ("state", "fed"), [("at_rest", False), ("engine_running", True), ("engine_idle", True), ("mains_on", True)]
)
def test_a_battery_begins_charged_where_anything_may_feed_it_and_at_rest_elsewhere(state: str, fed: bool) -> None:
    wiring = build_wiring(full_vehicle())
    numbers, rows = numbers_for(wiring, 3), rows_of(wiring)
    numbers["battery.sign"][1] = -1.0
    counts = (1, 1, 1, 1, 1, 1, 1, 1, 2)
    off = Modes(*(np.zeros((n, 1), dtype=float if 4 <= k < 6 else bool) for k, n in enumerate(counts)))
    branches = branches_in(wiring, numbers, switched([OPERATING_STATES[state]], 1), off, rows)
    voltage, current, _ = newton._start(branches, rows, 1)
    rest = numbers["battery.sign"] * numbers["battery.rest"]
    for ramp in (rows.give, rows.take):
        # 14 V: what a charging source holds a 12 V battery at (common practice); a reversed one is its mirror image
        assert voltage[ramp] == pytest.approx(14.0 * np.sign(rest) if fed else rest)
    assert (current[rows.give] == 0.0).all()
    assert (voltage[rows.diode] == 0.0).all()
