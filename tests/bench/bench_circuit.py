"""Times the circuit: every single fault and state of the largest layout, ngspice on the same netlists, long chains.

Run it as `python -m tests.bench.bench_circuit` from the top of the tree. All figures come from one run, so that their
ratios mean something. The netlists hold the modes that the solver found, as ngspice cannot find them by itself: each is
one operating point there, begun at its answer, while the solver goes through two to five on its way from rest.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from rich.console import Console
from rich.table import Table

from diagnose.circuit.modes import Solution, solve_state, solve_states
from diagnose.circuit.parameters import Parameters, columns, join
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.states import OPERATING_STATES
from diagnose.prediction.fitting import Fitted
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.solving import TOLERANCE, Solver
from diagnose.prediction.streams import Streams
from diagnose.store.installations import layout_ids
from tests.circuit.netlist import Netlist
from tests.circuit.ngspice_batch import run_netlists
from tests.circuit.operating import Charging, Doing, Vehicle
from tests.circuit.random_faults import hypotheses_of, layout, tables
from tests.circuit.vehicles import chain, numbers_for

__all__ = ["figures"]

STATES = tuple(OPERATING_STATES)
SIZES = (20, 40, 80, 150, 300)
#: netlists given to ngspice in one process
SAMPLE = 300
#: one vehicle in each batch, so that faults which come to the same circuit are solved once, as predictions do it
VEHICLES = 1


def _largest() -> str:
    return max(layout_ids(), key=lambda name: (len(layout(name).parts), name))


def _fault_sets(name: str) -> list[tuple[Wiring, Parameters]]:
    """Return all single faults of a layout, one vehicle each, in the batches that predictions use."""
    solver = Solver(layout(name), tables(), (Hypothesis(None, None, 0.0), *hypotheses_of(name)), Streams(1, 1))
    numbers = list(range(len(solver.hypotheses)))
    return [(scene.wiring, scene.parameters) for _, scene in solver.scenes(Fitted("at_rest"), numbers)]


def _doing(solution: Solution, column: int) -> Doing:
    """Return the modes of one variant as the netlists take them."""
    m = solution.modes
    chargers = tuple(
        Charging(
            *(bool(rows[k, column]) for rows in (m.on, m.held, m.sun, m.backed)),
            float(m.panel_open[k, column]), float(m.stop_at[k, column]),
        )
        for k in range(len(m.on))
    )  # fmt: skip
    sets = (frozenset(np.flatnonzero(rows[:, column]).tolist()) for rows in (m.closed, m.chatter, m.tripped))
    return Doing(chargers, *sets)


def _solve_all(batches: list[tuple[Wiring, Parameters]], tolerance: float) -> float:
    """Return the seconds that all batches take in all states, the best of three."""
    best = float("inf")
    for _ in range(3):
        begun = time.perf_counter()
        for wiring, numbers in batches:
            solve_states(wiring, numbers, STATES, tolerance, VEHICLES)
        best = min(best, time.perf_counter() - begun)
    return best


def _ngspice(batches: list[tuple[Wiring, Parameters]]) -> tuple[float, int, int]:
    """Return the seconds of one ngspice process for a sample of the same netlists, their number, how many failed."""
    random = np.random.default_rng(2)
    texts = []
    for _ in range(SAMPLE):
        wiring, numbers = batches[random.integers(len(batches))]
        state = STATES[random.integers(len(STATES))]
        k = int(random.integers(numbers["resistance"].shape[1]))
        one = columns(numbers, slice(k, k + 1))
        solution = solve_state(wiring, one, state)
        vehicle = Vehicle.of(wiring, one, state)
        vehicle.hints = dict(enumerate(solution.low_voltage[:, 0].tolist()))
        texts.append(Netlist(vehicle, _doing(solution, 0), loads=True, plain=True).write())
    begun = time.perf_counter()
    found = run_netlists(texts)
    return time.perf_counter() - begun, len(texts), sum(numbers is None for numbers in found)


def _per_solve(parts: int, variants: int = 256) -> tuple[int, int, float]:
    """Return parts, nodes and seconds a solve of a long chain with one changed edge in each variant."""
    installation = chain(parts)
    wiring = build_wiring(installation)
    sound = numbers_for(wiring, 1)
    several = join([columns(sound, slice(None)) for _ in range(variants)])
    random = np.random.default_rng(1)
    for k in range(variants):
        several["resistance"][random.integers(len(wiring.edges)), k] += 0.05
    best = float("inf")
    solve_state(wiring, sound, "engine_running")  # works out the order of elimination, once for a wiring as in use
    for _ in range(3):
        begun = time.perf_counter()
        assert solve_state(wiring, several, "engine_running").settled.all()
        best = min(best, time.perf_counter() - begun)
    return len(installation.parts), len(wiring.nodes), best / variants


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield what, figure and floor, for the table of measured figures."""
    name = _largest()
    batches = _fault_sets(name)
    count = sum(numbers["resistance"].shape[1] for _, numbers in batches) * len(STATES)
    quick = _solve_all(batches, TOLERANCE)
    seconds, netlists, failed = _ngspice(batches)
    yield f"all single faults, all states of {name}: {count} solves", f"{quick:.2f} s", "under 0.5 s"
    ratio = seconds / netlists / (quick / count)
    yield f"ngspice, {netlists} of them in one process ({failed} failed)", f"{ratio:.0f} x slower a solve", "50 x"
    _, _, first = _per_solve(SIZES[0])
    parts, nodes, last = _per_solve(SIZES[-1])
    growth = f"{last / first:.1f} x for {parts / SIZES[0]:.0f} x the parts"
    yield f"one changed edge, {SIZES[0]} to {parts} parts ({nodes} nodes)", growth, "no faster than linearly"


def main() -> None:
    """Print the tables."""
    console, name = Console(), _largest()
    batches = _fault_sets(name)
    count = sum(numbers["resistance"].shape[1] for _, numbers in batches)
    wiring = batches[0][0]
    console.print(
        f"{name}: {len(layout(name).parts)} parts, {len(wiring.nodes)} nodes, {count - 1} single faults and none, "
        f"{len(STATES)} states"
    )
    exact, quick = _solve_all(batches, 1e-10), _solve_all(batches, TOLERANCE)
    seconds, netlists, failed = _ngspice(batches)
    table = Table("what", "total", "a solve", "ngspice is slower by")
    for label, total in (("solver, exact", exact), ("solver, as predictions use it", quick)):
        each = total / (count * len(STATES))
        table.add_row(label, f"{total:.3f} s", f"{each * 1e6:.0f} us", f"{seconds / netlists / each:.0f} x")
    table.add_row(
        f"ngspice, {netlists} of them ({failed} failed)", f"{seconds:.3f} s", f"{seconds / netlists * 1e6:.0f} us", ""
    )
    console.print(table)
    growth = Table("parts", "nodes", "a solve", "times", "parts times")
    first: tuple[int, float] | None = None
    for parts, nodes, each in map(_per_solve, SIZES):
        first = first or (parts, each)
        growth.add_row(
            str(parts), str(nodes), f"{each * 1e6:.0f} us", f"{each / first[1]:.1f}", f"{parts / first[0]:.1f}"
        )
    console.print(growth)


if __name__ == "__main__":
    main()
