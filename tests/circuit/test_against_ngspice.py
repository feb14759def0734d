"""The solver against ngspice: every layout in every state, sound and with one and two random faults.

The oracle finds by itself what is off, on or hunting (`ngspice_oracle`). Agreed means: the same modes; within each
group of nodes that
hang together voltages within 1e-6 relative or 1 microvolt; currents of devices within 1e-6 relative or 1 microampere.
No case is left out.
"""

from __future__ import annotations

import zlib

import pytest

from diagnose.circuit.modes import solve_state
from diagnose.model.states import OPERATING_STATES
from diagnose.store.installations import layout_ids
from tests.circuit.agreement import differences
from tests.circuit.ngspice_batch import available
from tests.circuit.ngspice_oracle import answer_all
from tests.circuit.operating import Vehicle
from tests.circuit.random_faults import FaultyVehicle, faulty_vehicle

STATES = tuple(OPERATING_STATES)
#: single and as many double faults by layout and state, beside the sound vehicle
QUICK, SLOW = 2, 4


def _disagreements(jobs: list[tuple[FaultyVehicle, str]]) -> list[str]:
    """Return, for all vehicles and states, what differs."""
    answers = answer_all([Vehicle.of(one.wiring, one.parameters, state) for one, state in jobs])
    found = []
    assert sum(answer is None for answer in answers) <= 0.01 * len(jobs), "ngspice finds no solution for too many"
    for (one, state), answer in zip(jobs, answers, strict=True):
        if answer is None:
            continue
        solution = solve_state(one.wiring, one.parameters, state)
        wrong = differences(one.wiring, solution, 0, answer)
        found += [f"{state} with {' and '.join(one.faults) or 'no fault'}: {text}" for text in wrong[:3]]
    return found


def _jobs(layout: str, state: str, each: int) -> list[tuple[FaultyVehicle, str]]:
    start = zlib.crc32(f"{layout} {state}".encode()) % 1_000_000
    counts = [0] + [1] * each + [2] * each
    return [(faulty_vehicle(layout, start + k, count), state) for k, count in enumerate(counts)]


def test_ngspice_is_there() -> None:
    assert available(), "ngspice is a test dependency: apt-get install ngspice"


@pytest.mark.parametrize("layout", layout_ids())
def test_every_state_with_random_faults(layout: str) -> None:
    jobs = [job for state in STATES for job in _jobs(layout, state, QUICK)]
    assert _disagreements(jobs) == []


@pytest.mark.slow
@pytest.mark.parametrize("layout", layout_ids())
def test_many_random_faults(layout: str) -> None:
    jobs = [job for state in STATES for job in _jobs(layout, state, SLOW)]
    assert _disagreements(jobs) == []
