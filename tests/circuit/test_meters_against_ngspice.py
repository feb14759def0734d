"""Meters against ngspice: the meter written into the netlist as the part that it is.

A 10 megohm voltmeter and the 1 mA source of an ohmmeter on random pairs of places of faulty vehicles. What runs is
taken from the condition
without the meter, as the instrument does not decide it.

Left out: vehicles with a source that has nothing to feed, such as a charger whose output fuse is blown. It can give but
not take, so whether a meter sees its few milliohms or an open depends on which way the meter's microampere would flow;
the solver always sees the milliohms. Its volts against its own negative are tested in `test_never_crashes`. For the
same reason a pair is left out of which one place hangs on a diode alone, as a panel in the dark does: through the diode
a meter finds what is behind it one way round and nothing the other; the solver always finds nothing.
"""

from __future__ import annotations

import zlib
from dataclasses import replace

import numpy as np
import pytest

from diagnose.circuit.modes import solve_state
from diagnose.circuit.readout import ohms, volts
from diagnose.circuit.tangent import tangent_at
from diagnose.model.states import OPERATING_STATES
from diagnose.store.installations import layout_ids
from tests.circuit.ngspice_oracle import answer_all, solve_with, unloaded
from tests.circuit.operating import Vehicle
from tests.circuit.random_faults import FaultyVehicle, faulty_vehicle

METER = 1e7
FEED = 1e-3
#: pairs of places to a vehicle
PAIRS = 4
#: share of netlists that ngspice may leave without a solution
LOST = 0.01


def _vehicles(layout: str, state: str, count: int) -> list[FaultyVehicle]:
    start = zlib.crc32(f"meter {layout} {state}".encode()) % 1_000_000
    return [faulty_vehicle(layout, start + k, 1 + k % 2) for k in range(count)]


def _pairs(one: FaultyVehicle, seed: int) -> list[tuple[int, int]]:
    random = np.random.default_rng(seed)
    return [tuple(sorted(random.choice(len(one.wiring.nodes), 2, replace=False).tolist())) for _ in range(PAIRS)]


def _wrong_volts(chosen: list[tuple[FaultyVehicle, str]]) -> list[str]:
    vehicles = [Vehicle.of(one.wiring, one.parameters, state) for one, state in chosen]
    answers = answer_all(vehicles)
    jobs, asked = [], []
    for k, (one, _) in enumerate(chosen):
        answer = answers[k]
        if answer is None or answer.high.idle:
            continue
        hints = dict(enumerate(answer.high.volts))
        for a, b in _pairs(one, k):
            if answer.high.tied and answer.high.group[a] != answer.high.group[b]:
                continue
            metered = replace(vehicles[k], meters=((a, b, METER),), hints=hints)
            jobs.append((metered, unloaded(answer.doing)))
            asked.append((k, a, b))
    assert len(asked) >= 0.6 * PAIRS * len(chosen), "too many vehicles are left out"
    wrong = []
    found = solve_with(jobs)
    assert sum(solved is None for solved in found) <= LOST * len(found), "ngspice finds no solution for too many"
    for (k, a, b), solved in zip(asked, found, strict=True):
        if solved is None:
            continue
        one, state = chosen[k]
        solution = solve_state(one.wiring, one.parameters, state)
        tangent = tangent_at(one.wiring, solution)
        names = one.wiring.nodes
        here = float(volts(one.wiring, solution, tangent, names[a], names[b], METER)[0][0])
        there = solved.volts[a] - solved.volts[b]
        if not abs(here - there) <= max(1e-6, 1e-6 * abs(there)):
            wrong.append(f"{state} with {one.faults}: {names[a]} to {names[b]} {here!r} V, the oracle says {there!r} V")
    return wrong


def _wrong_ohms(chosen: list[FaultyVehicle]) -> list[str]:
    vehicles = [Vehicle.of(one.wiring, one.parameters, "isolated") for one in chosen]
    answers = dict(enumerate(answer_all(vehicles)))
    lost = [k for k, answer in answers.items() if answer is None]
    assert len(lost) <= LOST * len(chosen), "ngspice finds no solution for too many"
    asked = [(k, a, b) for k, one in enumerate(chosen) if k not in lost for a, b in _pairs(one, k)]
    joined = [answers[k].high.group[a] == answers[k].high.group[b] for k, a, b in asked]
    fed = [(k, a, b) for (k, a, b), one in zip(asked, joined, strict=True) if one]
    jobs = [(replace(vehicles[k], feeds=((b, a, FEED),)), answers[k].doing) for k, a, b in fed]
    found = {at: (s.volts[at[1]] - s.volts[at[2]]) / FEED for at, s in zip(fed, solve_with(jobs), strict=True) if s}
    asked = [at for at, one in zip(asked, joined, strict=True) if not one or at in found]
    assert len(found) >= (1 - LOST) * len(fed), "ngspice finds no solution for too many"
    wrong = []
    for k, a, b in asked:
        wiring = chosen[k].wiring
        tangent = tangent_at(wiring, solve_state(wiring, chosen[k].parameters, "isolated"))
        here, there = float(ohms(wiring, tangent, wiring.nodes[a], wiring.nodes[b])[0]), found.get((k, a, b), np.inf)
        if not (here == there or abs(here - there) <= 1e-6 * abs(there)):
            wrong.append(f"{chosen[k].faults}: {wiring.nodes[a]} to {wiring.nodes[b]} {here!r} ohm, not {there!r}")
    return wrong


@pytest.mark.parametrize(
    "layout", [pytest.param(name, marks=pytest.mark.slow) if n % 2 else name for n, name in enumerate(layout_ids())]
)
def test_voltmeter(layout: str) -> None:
    states = [state for state in OPERATING_STATES if state != "isolated"][zlib.crc32(layout.encode()) % 2 :: 2]
    chosen = [(one, state) for state in states for one in _vehicles(layout, state, 1)]
    assert _wrong_volts(chosen) == []


def test_ohmmeter() -> None:
    chosen = [one for layout in layout_ids() for one in _vehicles(layout, "isolated", 4)]
    assert _wrong_ohms(chosen) == []


@pytest.mark.slow
@pytest.mark.parametrize("layout", layout_ids())
def test_many_meters(layout: str) -> None:
    states = [state for state in OPERATING_STATES if state != "isolated"]
    assert _wrong_volts([(one, state) for state in states for one in _vehicles(layout, state, 20)]) == []
    assert _wrong_ohms(_vehicles(layout, "isolated", 100)) == []
