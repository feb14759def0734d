"""Compares what the solver found with what the oracle found, and says in words where they differ."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from diagnose.circuit.branches import rows_of
from diagnose.circuit.elimination import Array
from diagnose.circuit.modes import Solution
from diagnose.circuit.wiring import Wiring
from tests.circuit.ngspice_oracle import Answer, Solved

__all__ = ["differences"]

RELATIVE = 1e-6
VOLTS = 1e-6
AMPS = 1e-6


def differences(wiring: Wiring, solution: Solution, column: int, answer: Answer, trickle: float = 0.0) -> list[str]:
    """Return every difference: modes, voltages within each group of nodes that hang together, currents of devices.

    `trickle` [V] is let pass where the oracle had to tie a group behind a diode to ground.
    """
    found = list(_modes(solution, column, answer))
    if not solution.settled[column]:
        found.append("the solver says that it has not settled")
    for name, volts, amps, solved in (
        ("unloaded", solution.voltage, solution.current, answer.high),
        ("loaded", solution.low_voltage, solution.low_current, answer.low),
    ):
        found += [f"{name}: {text}" for text in _volts(wiring, volts[:, column], solved, trickle)]
        found += [f"{name}: {text}" for text in _amps(wiring, amps[:, column], solved)]
    return found


def _modes(solution: Solution, column: int, answer: Answer) -> Iterator[str]:
    modes = solution.modes
    for k, charging in enumerate(answer.doing.chargers):
        for ours, theirs in (("on", "on"), ("held", "hunts"), ("sun", "sun"), ("backed", "backed")):
            if bool(getattr(modes, ours)[k, column]) != getattr(charging, theirs):
                yield f"charger {k} {theirs}: the oracle says {getattr(charging, theirs)}"
    for name in ("closed", "chatter", "tripped"):
        ours = set(np.flatnonzero(getattr(modes, name)[:, column]).tolist())
        if ours != getattr(answer.doing, name):
            yield f"{name}: {sorted(ours)}, the oracle says {sorted(getattr(answer.doing, name))}"


def _volts(wiring: Wiring, ours: Array, solved: Solved, trickle: float) -> Iterator[str]:
    """Nodes of one group are compared with its first node: where a floating group as a whole stands means nothing."""
    least = max(VOLTS, trickle * solved.tied)
    for k, root in enumerate(solved.group):
        here, there = ours[k] - ours[root], solved.volts[k] - solved.volts[root]
        if not abs(here - there) <= max(least, RELATIVE * abs(there)):
            yield f"{wiring.nodes[k]} to {wiring.nodes[root]} {here!r} V, the oracle says {there!r} V"


def _amps(wiring: Wiring, ours: Array, solved: Solved) -> Iterator[str]:
    rows = rows_of(wiring)
    kinds = ("alternator", "supply", "starter", "diode", "panel")
    devices = [(kind, k) for kind in kinds for k in range(len(wiring.devices[kind]))]
    pairs = [(f"{kind}{k}", [getattr(rows, kind).start + k]) for kind, k in devices]
    pairs += [
        (f"battery{k}", [rows.give.start + k, rows.take.start + k]) for k in range(len(wiring.devices["battery"]))
    ]
    pairs += [(f"power_load{k}", [rows.load.start + k]) for k in range(len(wiring.devices["power_load"]))]
    for k, c in enumerate(wiring.chargers):
        pairs.append((f"output{k}", [rows.output.start + k]))
        for port, names in (("input", ("hold", "input")), ("solar", ("track", "solar"))):
            if getattr(c, port) != c.negative:
                pairs.append((f"{port}{k}", [getattr(rows, name).start + k for name in names]))
    for tag, which in pairs:
        here, there = float(ours[which].sum()), solved.amps.get(tag, 0.0)
        if not abs(here - there) <= max(AMPS, RELATIVE * abs(there)):
            yield f"{tag} {here!r} A, the oracle says {there!r} A"
