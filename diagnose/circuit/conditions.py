"""What an operating state and the modes of the devices make of a vehicle's numbers: edges that conduct, laws in force.

This file fills in `Branches` and edge resistances; it does not decide modes and does not solve.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.branches import Branches, Rows
from diagnose.circuit.elimination import Array
from diagnose.circuit.parameters import Parameters, width
from diagnose.circuit.wiring import Wiring
from diagnose.model.states import OperatingState

__all__ = ["Mask", "Modes", "Switched", "branches_in", "closed_edges", "edges_in", "loads_on", "switched"]

Mask = NDArray[Any]
#: slope [S] with which a charger holds its input at a threshold; 1 milliohm is far below any cable
STIFF = 1000.0


class Modes(NamedTuple):
    """What each charger, relay and load is doing, shape (how many, variants).

    `on`: draws from its input; `held`: hunts, shown at its stop threshold `stop_at` [V]; `sun`: works from its panel;
    `backed`: takes less from the panel than it could; `panel_open` [V]: panel voltage before it started; `closed`,
    `chatter`: of a relay; `tripped`: a load that has cut out.
    """

    on: Mask
    held: Mask
    sun: Mask
    backed: Mask
    panel_open: Array
    stop_at: Array
    closed: Mask
    chatter: Mask
    tripped: Mask


class Switched(NamedTuple):
    """What is switched on in the state of every variant, each of shape (variants,)."""

    running: Mask
    idle: Mask
    cranking: Mask
    key: Mask
    loads: Mask
    supplies: Mask
    sun: Mask
    isolated: Mask


def switched(states: Sequence[OperatingState], each: int) -> Switched:
    """Return what is switched on where `each` variants are in the first state, as many in the next, and so on.

    >>> switched([OperatingState("running"), OperatingState()], 2).running.tolist()
    [True, True, False, False]
    """
    engines = [np.repeat([s.engine == word for s in states], each) for word in ("running", "idle", "cranking")]
    others = [np.repeat([getattr(s, name) for s in states], each) for name in Switched._fields[3:]]
    return Switched(*engines, *others)


def _current_limit(p: Parameters) -> Array:
    """Return the output current limit [A] of every charger at its case temperature, zero where heat has shut it down.

    From the full rating at `full_power_to` it falls in a straight line to the share `derate_floor` at `shuts_down_at`.
    """
    full, shut = p["charger.full_power_to"], p["charger.shuts_down_at"]
    slide = np.clip((p["charger.case"] - full) / np.maximum(shut - full, 1e-9), 0.0, 1.0)
    kept = np.where(p["charger.case"] < shut, 1.0 - slide * (1.0 - p["charger.derate_floor"]), 0.0)
    return p["charger.rating"] * kept


def loads_on(wiring: Wiring, on: Switched) -> Mask:
    """Return which constant-power loads are switched on, shape (loads, variants)."""
    parts = wiring.installation.parts
    always = [getattr(parts[d.part], "always_on", False) for d in wiring.devices["power_load"]]
    return (np.array(always, dtype=bool).reshape(-1, 1) | on.loads) & ~on.isolated


def edges_in(wiring: Wiring, parameters: Parameters, on: Switched) -> Array:
    """Return the resistance [ohm] of every edge: loads that are off and key switches without the key are open."""
    resistance = parameters["resistance"].copy()
    for k in wiring.key_edges.tolist():
        resistance[k, ~on.key] = np.inf
    for k, edge in enumerate(wiring.edges):
        if edge.role == "load_resistance":
            always = getattr(wiring.installation.parts[edge.part], "always_on", False)
            resistance[k, ~on.loads & (on.isolated | (not always))] = np.inf
    return resistance


def closed_edges(wiring: Wiring, modes: Modes) -> Mask:
    """Return which edges conduct as far as relays are concerned, shape (edges, variants)."""
    closed = np.ones((len(wiring.edges), modes.closed.shape[1]), dtype=bool)
    for k, relay in enumerate(wiring.relays):
        closed[relay.edge] = modes.closed[k]
    return closed


def branches_in(wiring: Wiring, p: Parameters, on: Switched, modes: Modes, rows: Rows) -> Branches:
    """Return the laws of all device branches in a state and mode."""
    variants = width(p)
    slope, zero, low, high = (np.zeros((rows.track.stop, variants)) for _ in range(4))
    _batteries(p, on, rows, slope, zero, low, high)
    _sources(p, on, rows, slope, zero, low, high)
    _charger_ramps(p, modes, rows, slope, zero, low, high)
    lit = p["panel.photo"] * on.sun
    idle = np.zeros(modes.on.shape)
    return Branches(
        slope=slope,
        zero=zero,
        low=low,
        high=high,
        power=np.concatenate([p["power_load.power"] * (loads_on(wiring, on) & ~modes.tripped), idle, idle]),
        floor=np.concatenate(
            [
                p["power_load.cut"],
                np.minimum(p["charger.stop"], p["charger.stop_ignition"]),
                np.maximum(p["charger.tracking"] * modes.panel_open, 1.0),
            ]
        ),
        photo=lit,
        saturation=p["panel.saturation"] * (lit > 0),
        scale=p["panel.scale"],
        series=p["panel.series"],
        sign=p["panel.sign"],
        limit=_current_limit(p),
        efficiency=p["charger.efficiency"],
        standing=p["charger.standing"],
        drawing=modes.on * 1.0,
        held=modes.held * 1.0,
        tracking=modes.sun * ~modes.backed * 1.0,
        backed=modes.backed * 1.0,
    )


def _batteries(
    p: Parameters, on: Switched, rows: Rows, slope: Array, zero: Array, low: Array, high: Array
) -> None:
    """Fill in the two ramps of each battery; a reversed one is its mirror image."""
    sign, ready = p["battery.sign"], p["battery.on"] * ~on.isolated
    upright = sign > 0
    slope[rows.give], slope[rows.take] = ready / p["battery.give"], ready / p["battery.take"]
    zero[rows.give] = zero[rows.take] = sign * p["battery.rest"]
    low[rows.give], high[rows.give] = np.where(upright, -np.inf, 0.0), np.where(upright, 0.0, np.inf)
    low[rows.take], high[rows.take] = np.where(upright, 0.0, -np.inf), np.where(upright, np.inf, 0.0)


def _sources(
    p: Parameters, on: Switched, rows: Rows, slope: Array, zero: Array, low: Array, high: Array
) -> None:
    """Fill in alternators, supplies, the starter and diodes."""
    limit = p["alternator.limit"] * on.running + p["alternator.idle_limit"] * on.idle
    for kind, at, most in (
        ("alternator", rows.alternator, limit), ("supply", rows.supply, p["supply.limit"] * on.supplies),
    ):  # fmt: skip
        zero[at] = p[f"{kind}.voltage"]
        slope[at] = np.where(most > 0, 1.0 / p[f"{kind}.resistance"], 0.0)
        low[at] = -most
    slope[rows.starter] = on.cranking * p["starter.current"] / p["starter.full_at"]
    high[rows.starter] = p["starter.current"]
    slope[rows.diode] = 1.0 / p["diode.resistance"]
    zero[rows.diode], high[rows.diode] = p["diode.drop"], np.inf


def _charger_ramps(p: Parameters, modes: Modes, rows: Rows, slope: Array, zero: Array, low: Array, high: Array) -> None:
    """Fill in a charger's output, its input held at the stop threshold, and its panel input while it tracks."""
    running = modes.on | modes.held | modes.sun
    slope[rows.output] = running / p["charger.regulation"]
    zero[rows.output] = p["charger.voltage"]
    low[rows.output] = -_current_limit(p) * running
    slope[rows.hold] = modes.held * STIFF
    zero[rows.hold], high[rows.hold] = modes.stop_at, np.inf
    slope[rows.track] = modes.sun * ~modes.backed * STIFF
    zero[rows.track], high[rows.track] = p["charger.tracking"] * modes.panel_open, np.inf
