"""From rest to the settled condition: which chargers run, which relays close, which loads cut out.

Everything starts off. Then relays close and chargers start; a charger that pulls its own input under its stop voltage
is found to hunt (and a relay that drops out again to chatter); a charger that cannot use all the sun backs off; last,
a load without enough voltage cuts out. After each change the circuit is solved again. A hunting device leaves two
conditions: unloaded, and at its stop threshold. The order is part of the model: it picks the one solution that is
reached from rest where several exist.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.alike import alike
from diagnose.circuit.branches import Rows, rows_of
from diagnose.circuit.conditions import (
    Mask,
    Modes,
    Switched,
    branches_in,
    closed_edges,
    edges_in,
    loads_on,
    switched,
)  # fmt: skip
from diagnose.circuit.elimination import Array
from diagnose.circuit.newton import Network, Point, everywhere, part_of, reduce_network, solve_branches
from diagnose.circuit.parameters import Parameters, width
from diagnose.circuit.wiring import Wiring
from diagnose.model.states import OPERATING_STATES

__all__ = ["Solution", "shown_resistance", "solve_state", "solve_states"]

ROUNDS = 16
#: tolerance of branch currents [A]
EXACT = 1e-10
#: no source reaches this voltage [V]
UNFED = 1e4
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
    on: Switched
    network: Network
    rows: Rows
    tolerance: float


def solve_state(wiring: Wiring, parameters: Parameters, state: str, tolerance: float = EXACT) -> Solution:
    """Solve every variant of a vehicle in one operating state, starting from rest.

    Parameters: `parameters`, the numbers of the variants; `state`, a name in `model.states.OPERATING_STATES`;
    `tolerance` [A] of branch currents.
    Returns: the settled conditions.
    """
    return solve_states(wiring, parameters, (state,), tolerance)[0]


def solve_states(
    wiring: Wiring, parameters: Parameters, states: Sequence[str], tolerance: float = EXACT, block: int = 0
) -> list[Solution]:
    """Solve every variant of a vehicle in several operating states at once, which is faster than one after the other.

    Parameters: `block`, how many variants stand together as one set of vehicles: sets that are alike once the nodes
    without devices are eliminated (a bad joint at either end of a cable) are solved once; 0 for no such sets.
    Returns: the settled conditions by state, in the order given.
    """
    each = width(parameters)
    on = switched([OPERATING_STATES[state] for state in states], each)
    numbers = parameters if len(states) == 1 else {n: np.tile(v, (1, len(states))) for n, v in parameters.items()}
    resistance = edges_in(wiring, numbers, on)
    case = _Case(wiring, numbers, on, reduce_network(wiring, resistance), rows_of(wiring), tolerance)
    which, back = _distinct(case, block)
    modes, unloaded, point = _from_rest(case if len(which) == len(back) else _some(case, which))
    if len(which) < len(back):
        modes = Modes(*(rows[:, back] for rows in modes))
        unloaded, point = (Point(*(array[..., back] for array in p)) for p in (unloaded, point))
    whole = _everywhere(case, resistance, modes, unloaded, point)
    return [_part(whole, slice(k * each, (k + 1) * each)) for k in range(len(states))]


def _distinct(case: _Case, block: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the variants to solve, and for every variant which of these it is."""
    count = width(case.parameters)
    if not block or count <= block:
        return np.arange(count), np.arange(count)
    first, of_block = alike(case.wiring, case.network, case.parameters, case.on, block)
    inside = np.arange(block)
    return (first[:, None] * block + inside).ravel(), (of_block[:, None] * block + inside).ravel()


def _part(solution: Solution, which: slice) -> Solution:
    """Return some variants of a solution."""
    modes = Modes(*(rows[:, which] for rows in solution.modes))
    voltage, current, low_voltage, low_current, slope, resistance = (array[:, which] for array in solution[:6])
    settled = solution.settled[which]
    return Solution(voltage, current, low_voltage, low_current, slope, resistance, modes, settled)


def _from_rest(case: _Case) -> tuple[Modes, Point, Point]:
    """Solve again and again until no device changes its mode; return the modes, the unloaded point and the other."""
    modes = _at_rest(case.wiring, width(case.parameters))
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
    return modes, unloaded, point


def _everywhere(case: _Case, resistance: Array, modes: Modes, unloaded: Point, point: Point) -> Solution:
    """Find the volts of the nodes without devices, and sum up."""
    shown = _with_relays(case.wiring, resistance, modes)
    high = everywhere(case.wiring, case.network, unloaded.voltage)
    low = high
    if bool(modes.held.any() or modes.chatter.any()):
        low = everywhere(case.wiring, case.network, point.voltage)
    settled = point.settled & unloaded.settled
    return Solution(high, unloaded.current, low, point.current, unloaded.slope, shown, modes, settled)


def shown_resistance(wiring: Wiring, parameters: Parameters, state: str, modes: Modes) -> Array:
    """Return the resistance [ohm] of every edge of a settled condition, shape (edges, variants)."""
    on = switched([OPERATING_STATES[state]], width(parameters))
    return _with_relays(wiring, edges_in(wiring, parameters, on), modes)


def _with_relays(wiring: Wiring, resistance: Array, modes: Modes) -> Array:
    return np.where(closed_edges(wiring, modes), resistance, np.inf) if wiring.relays else resistance


def _at_rest(wiring: Wiring, variants: int) -> Modes:
    """Return the modes of everything off."""
    counts = (len(wiring.chargers),) * 4 + (len(wiring.relays),) * 2 + (len(wiring.devices["power_load"]),)
    on, held, sun, backed, closed, chatter, tripped = (np.zeros((n, variants), dtype=bool) for n in counts)
    volts = np.zeros((len(wiring.chargers), variants))
    return Modes(on, held, sun, backed, volts, volts, closed, chatter, tripped)


def _solve(case: _Case, modes: Modes, near: Array | None = None) -> Point:
    """Solve all variants with the modes as given, beginning `near` node voltages [V] if there are any."""
    laws = branches_in(case.wiring, case.parameters, case.on, modes, case.rows)
    contacts = [r.edge for r in case.wiring.relays]
    closed = np.where(modes.closed, 1.0 / case.parameters["resistance"][contacts], 0.0)
    return solve_branches(case.wiring, case.network, closed, laws, case.rows, case.tolerance, near)


def _resolve(case: _Case, modes: Modes, point: Point, changed: Mask) -> Point:
    """Solve again the variants that changed; the others keep their solution."""
    if changed.all():
        return _solve(case, modes, point.voltage)
    some = np.flatnonzero(changed)
    fresh = _solve(_some(case, some), Modes(*(m[:, some] for m in modes)), point.voltage[:, some])
    merged = [old.copy() for old in point]
    for old, new in zip(merged, fresh, strict=True):
        old[..., some] = new
    return Point(*merged)


def _some(case: _Case, which: NDArray[np.intp]) -> _Case:
    """Return some of the variants."""
    return case._replace(
        parameters={name: values[:, which] for name, values in case.parameters.items()},
        on=Switched(*(s[which] for s in case.on)),
        network=part_of(case.network, which),
    )


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
    """A load below its cut-out voltage stops and stays off; so does one that nothing feeds, for which the constant
    power law holds at any current that is small enough.
    """
    loads = case.wiring.devices["power_load"]
    volts = np.array([point.voltage[d.pos] - point.voltage[d.neg] for d in loads], dtype=float)
    volts = volts.reshape(modes.tripped.shape)
    low = loads_on(case.wiring, case.on) & ((volts < case.parameters["power_load.cut"]) | (volts > UNFED))
    return modes._replace(tripped=modes.tripped | low)
