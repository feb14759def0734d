"""From rest to the settled condition: which chargers run, which relays close, which loads cut out.

Everything starts off. Then relays close and chargers start; a charger that pulls its own input under its stop voltage
is found to hunt (and a relay that drops out again to chatter); a charger that cannot use all the sun backs off; last,
a load without enough voltage cuts out. After each change the circuit is solved again. A hunting device leaves two
conditions: unloaded, and at its stop threshold. The order is part of the model: it picks the one solution that is
reached from rest where several exist.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from diagnose.circuit.branches import Rows, rows_of
from diagnose.circuit.conditions import Mask, Modes, branches_in, closed_edges, edges_in, loads_on
from diagnose.circuit.elimination import Array
from diagnose.circuit.newton import Point, solve_branches
from diagnose.circuit.parameters import Parameters, columns, width
from diagnose.circuit.wiring import Wiring
from diagnose.model.states import OPERATING_STATES, OperatingState

__all__ = ["Solution", "solve_state"]

ROUNDS = 16
#: tolerance of branch currents [A]
EXACT = 1e-10
#: volts across two nodes of a charger's port, by port
PORTS = ("input", "output", "solar", "ignition")


class Solution(NamedTuple):
    """The settled condition of every variant in one state.

    `voltage` [V] (nodes, variants) and `current` [A] (branches, variants) hold while hunting devices are unloaded,
    `low_voltage` and `low_current` while they are at their stop threshold; both are the same where nothing hunts.
    `slope` [S] is that of each branch where it stands. `resistance` [ohm] is that of every edge in this state,
    `modes` what the devices do, `settled` whether a solution was found.
    """

    voltage: Array
    current: Array
    low_voltage: Array
    low_current: Array
    slope: Array
    resistance: Array
    modes: Modes
    settled: Mask


class _Case(NamedTuple):
    """All that a solve needs beside the modes."""

    wiring: Wiring
    parameters: Parameters
    state: OperatingState
    resistance: Array
    rows: Rows
    tolerance: float


def solve_state(wiring: Wiring, parameters: Parameters, state: str, tolerance: float = EXACT) -> Solution:
    """Solve every variant of a vehicle in one operating state, starting from rest.

    Parameters: `parameters`, the numbers of the variants; `state`, a name in `model.states.OPERATING_STATES`;
    `tolerance` [A] of branch currents.
    Returns: the settled conditions.
    """
    operating = OPERATING_STATES[state]
    case = _Case(wiring, parameters, operating, edges_in(wiring, parameters, operating), rows_of(wiring), tolerance)
    modes = _at_rest(wiring, width(parameters))
    point = _solve(case, modes)
    for _ in range(ROUNDS):
        changed, modes = _transitions(case, modes, point)
        if not changed.any():
            break
        point = _resolve(case, modes, point, changed)
    unloaded = point
    hunting = np.asarray(modes.held.any(axis=0) | modes.chatter.any(axis=0))
    if hunting.any():
        idle = modes._replace(held=np.zeros_like(modes.held), closed=modes.closed & ~modes.chatter)
        unloaded = _resolve(case, idle, point, hunting)
    shown = np.where(closed_edges(wiring, modes), case.resistance, np.inf)
    settled = point.settled & unloaded.settled
    return Solution(
        unloaded.voltage, unloaded.current, point.voltage, point.current, unloaded.slope, shown, modes, settled
    )


def _at_rest(wiring: Wiring, variants: int) -> Modes:
    """Return the modes of everything off."""
    counts = (len(wiring.chargers),) * 4 + (len(wiring.relays),) * 2 + (len(wiring.devices["power_load"]),)
    on, held, sun, backed, closed, chatter, tripped = (np.zeros((n, variants), dtype=bool) for n in counts)
    volts = np.zeros((len(wiring.chargers), variants))
    return Modes(on, held, sun, backed, volts, volts, closed, chatter, tripped)


def _solve(case: _Case, modes: Modes, near: Array | None = None) -> Point:
    """Solve all variants with the modes as given, beginning `near` node voltages [V] if there are any."""
    laws = branches_in(case.wiring, case.parameters, case.state, modes, case.rows)
    resistance = case.resistance
    if case.wiring.relays:
        resistance = np.where(closed_edges(case.wiring, modes), resistance, np.inf)
    return solve_branches(case.wiring, resistance, laws, case.rows, case.tolerance, near)


def _resolve(case: _Case, modes: Modes, point: Point, changed: Mask) -> Point:
    """Solve again the variants that changed; the others keep their solution."""
    if changed.all():
        return _solve(case, modes, point.voltage)
    some = np.flatnonzero(changed)
    part = case._replace(parameters=columns(case.parameters, some), resistance=case.resistance[:, some])
    fresh = _solve(part, Modes(*(m[:, some] for m in modes)), point.voltage[:, some])
    merged = [old.copy() for old in point]
    for old, new in zip(merged, fresh, strict=True):
        old[..., some] = new
    return Point(*merged)


def _transitions(case: _Case, modes: Modes, point: Point) -> tuple[Mask, Modes]:
    """Return which variants change, and their new modes; only the first kind of change that applies is made at a
    time.
    """
    waiting = np.ones(width(case.parameters), dtype=bool)
    changed = np.zeros_like(waiting)
    for step in (_close_and_start, _hunt, _back_off, _cut_out):
        new = step(case, modes, point)
        moved = np.zeros_like(waiting)
        for old_rows, new_rows in zip(modes, new, strict=True):
            moved |= (old_rows != new_rows).any(axis=0)
        moved &= waiting
        modes = Modes(*(np.where(moved, n, o) for o, n in zip(modes, new, strict=True)))
        waiting &= ~moved
        changed |= moved
    return changed, modes


def _ports(case: _Case, point: Point) -> dict[str, Array]:
    """Return the voltages [V] of the chargers' ports against their negatives, each of shape (chargers, variants)."""
    chargers = case.wiring.chargers
    shape = (len(chargers), point.voltage.shape[1])
    return {
        port: np.array(
            [point.voltage[getattr(c, port)] - point.voltage[c.negative] for c in chargers], dtype=float
        ).reshape(shape)
        for port in PORTS
    }


def _coils(case: _Case, point: Point) -> Array:
    """Return the voltages [V] across the relays' coils, shape (relays, variants)."""
    volts = [point.voltage[r.pos] - point.voltage[r.neg] for r in case.wiring.relays]
    return np.array(volts, dtype=float).reshape(len(volts), point.voltage.shape[1])


def _close_and_start(case: _Case, modes: Modes, point: Point) -> Modes:
    """Relays close and chargers start where their voltages are high enough."""
    p, volts = case.parameters, _ports(case, point)
    live = volts["ignition"] > p["charger.ignition_live"]
    start = np.where(live, p["charger.start_ignition"], p["charger.start"])
    able = (
        (p["charger.works"] > 0)
        & (p["charger.case"] < p["charger.shuts_down_at"])
        & ((p["charger.needs"] <= 0) | (volts["output"] >= p["charger.needs"] - 1e-9))
    )
    idle = ~(modes.on | modes.held | modes.sun)
    on = modes.on | (idle & able & (volts["input"] > start))
    bright = (volts["solar"] > p["charger.solar_from"]) & (volts["solar"] < p["charger.solar_limit"])
    sun = modes.sun | (idle & able & bright & ((p["charger.shares"] > 0) | ~on))
    stop = np.where(live, p["charger.stop_ignition"], p["charger.stop"])
    stop_at = np.where(on & ~modes.on, stop, modes.stop_at)
    panel_open = np.where(sun & ~modes.sun, volts["solar"], modes.panel_open)
    coil = _coils(case, point)
    closed = modes.closed | (coil > p["relay.closes"])
    return modes._replace(on=on, sun=sun, panel_open=panel_open, stop_at=stop_at, closed=closed)


def _hunt(case: _Case, modes: Modes, point: Point) -> Modes:
    """A charger below its stop voltage hunts; a relay below its opening voltage chatters.

    The stop voltage is that in force when it started: a return that gives way under load drags the ignition lead down
    with the input, but it passes the stop voltage first. A charger for which there is no steady point at all hunts too.
    """
    p, volts = case.parameters, _ports(case, point)
    hunts = modes.on & ((volts["input"] < modes.stop_at) | ~point.settled)
    coil = _coils(case, point)
    chatter = modes.chatter | (modes.closed & (coil < p["relay.opens"]))
    return modes._replace(on=modes.on & ~hunts, held=modes.held | hunts, chatter=chatter)


def _back_off(case: _Case, modes: Modes, point: Point) -> Modes:
    """A charger whose panel could give more than the output takes moves away from the panel's best point."""
    p, rows = case.parameters, case.rows
    needed = (
        _ports(case, point)["output"] * -point.current[rows.output] / p["charger.efficiency"] + p["charger.standing"]
    )
    given = _ports(case, point)["solar"] * point.current[rows.track]
    spare = modes.sun & ~modes.backed & ~modes.held & (given > needed + 1e-6)
    return modes._replace(backed=modes.backed | spare)


def _cut_out(case: _Case, modes: Modes, point: Point) -> Modes:
    """A load below its cut-out voltage stops and stays off."""
    loads = case.wiring.devices["power_load"]
    volts = np.array([point.voltage[d.pos] - point.voltage[d.neg] for d in loads], dtype=float)
    low = loads_on(case.wiring, case.state) & (volts.reshape(modes.tripped.shape) < case.parameters["power_load.cut"])
    return modes._replace(tripped=modes.tripped | low)
