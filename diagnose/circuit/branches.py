"""How much current each device takes at a voltage: ramps, constant powers and panels, all variants at once.

Every device is one or two branches from its positive to its negative node, and every branch follows one of three laws:

* ramp: ``i = clip(g * (v - e), low, high)``. A battery is two of them (giving: i <= 0; taking: i >= 0), an
alternator, a supply and a charger's output are one with ``-limit <= i <= 0``, a diode has ``i >= 0``, a starter ``0
<= i <= current``.
* power: ``i = P / max(v, floor)``: constant power down to the floor, constant current below it, so that a network
always has a solution; a solution below the floor means that the load has cut out.
* panel: single diode, ``i = -(IL - I0 * (exp((v + ipv * Rs) / a) - 1))`` with ipv = -i.

This file holds laws only; which branch is active in which state is the business of `modes`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.circuit.wiring import Wiring

__all__ = ["Branches", "Rows", "currents", "neighbouring", "open_circuit", "panel_current", "rows_of", "select"]

#: a ramp counts as on its slope within this of its ends [A]; a source with nothing to feed stands at its very end
EDGE = 1e-10


@dataclass(frozen=True)
class Rows:
    """Where the branches of each kind stand: ramps first, then powers, then panels (see `Wiring.branch_nodes`)."""

    give: slice
    take: slice
    alternator: slice
    supply: slice
    starter: slice
    diode: slice
    output: slice
    hold: slice
    track: slice
    load: slice
    input: slice
    solar: slice
    panel: slice

    @property
    def ramps(self) -> slice:
        """All ramp branches."""
        return slice(0, self.track.stop)

    @property
    def powers(self) -> slice:
        """All constant-power branches."""
        return slice(self.load.start, self.solar.stop)


@dataclass
class Branches:
    """The numbers of all branches, shape (branches of that law, variants), and how chargers tie them together."""

    slope: Array
    zero: Array
    low: Array
    high: Array
    power: Array
    floor: Array
    photo: Array
    saturation: Array
    scale: Array
    series: Array
    sign: Array
    limit: Array
    efficiency: Array
    standing: Array
    drawing: Array
    held: Array
    tracking: Array
    backed: Array

    def on_ramps(self, voltage: Array) -> tuple[Array, Array]:
        """Return the current [A] of every ramp at its voltage [V], and what it would be without its limits."""
        straight = self.slope * (voltage - self.zero)
        return np.clip(straight, self.low, self.high), straight


def select(branches: Branches, which: object) -> Branches:
    """Return the branches of the variants that an index or mask selects."""
    return Branches(**{f.name: getattr(branches, f.name)[:, which] for f in fields(Branches)})


def rows_of(wiring: Wiring) -> Rows:
    """Return where the branches of a wiring stand."""
    count = {kind: len(devices) for kind, devices in wiring.devices.items()} | {"charger": len(wiring.chargers)}
    kinds = {
        "give": "battery", "take": "battery", "alternator": "alternator", "supply": "supply", "starter": "starter",
        "diode": "diode", "output": "charger", "hold": "charger", "track": "charger", "load": "power_load",
        "input": "charger", "solar": "charger", "panel": "panel",
    }  # fmt: skip
    start = 0
    slices = {}
    for name, kind in kinds.items():
        slices[name] = slice(start, start + count[kind])
        start += count[kind]
    return Rows(**slices)


def panel_current(voltage: Array, photo: Array, saturation: Array, scale: Array, series: Array) -> tuple[Array, Array]:
    """Return the current a panel gives and its slope, by the single-diode equation without shunt.

    Parameters: `voltage` [V], `photo` [A], `saturation` [A], `scale` [V], `series` [ohm], arrays of one shape.
    Returns: current [A] and d(current)/d(voltage) [S], same shape. Beyond five scales above open circuit, where a
    panel takes more than a hundred times its own current, the curve goes on straight, so that no step overflows.
    Source: the single-diode equation (for example De Soto, Klein and Beckman 2006); solved by Newton's method for the
    diode voltage from above, where it converges monotonically.

    >>> i, _ = panel_current(np.array([0.0]), np.array([5.0]), np.array([1e-9]), np.array([1.0]), np.array([0.2]))
    >>> bool(abs(i[0] - 5.0) < 1e-8)
    True
    """
    idle = open_circuit(photo, saturation, scale)
    asked, voltage = voltage, np.minimum(voltage, idle + 5.0 * scale)
    # a panel that gives something stands below its open circuit, one that takes something below its terminals
    diode = np.minimum(voltage + series * np.maximum(photo, 0.0), np.maximum(voltage, idle))
    for _ in range(60):
        rise = saturation * np.exp(np.minimum(diode / scale, 600.0))
        error = diode - voltage - series * (photo - rise + saturation)
        step = error / (1.0 + series * rise / scale)
        diode = diode - step
        if np.all(np.abs(step) <= 1e-13 * (1.0 + np.abs(diode))):
            break
    conductance = saturation * np.exp(np.minimum(diode / scale, 600.0)) / scale
    slope = -conductance / (1.0 + series * conductance)
    return photo - saturation * np.expm1(np.minimum(diode / scale, 600.0)) + slope * (asked - voltage), slope


def open_circuit(photo: Array, saturation: Array, scale: Array) -> Array:
    """Return the voltage [V] at which a panel gives nothing, zero in the dark."""
    lit = (photo > 0) & (saturation > 0)
    return np.asarray(scale * np.log1p(np.where(lit, photo, 0.0) / np.where(lit, saturation, 1.0)))


def currents(branches: Branches, voltage: Array, rows: Rows) -> tuple[Array, Array]:
    """Return current and slope of every branch at the given branch voltages.

    Parameters: `voltage` [V], shape (branches, variants).
    Returns: current [A] from positive to negative node through the device, and slope [S], same shape.
    """
    current = np.empty_like(voltage)
    slope = np.empty_like(voltage)
    ramps, powers = rows.ramps, rows.powers
    current[ramps], straight = branches.on_ramps(voltage[ramps])
    within = (straight > branches.low - EDGE) & (straight < branches.high + EDGE)
    slope[ramps] = np.where(within, branches.slope, 0.0)
    above = voltage[powers] > branches.floor
    at = np.maximum(voltage[powers], branches.floor)
    current[powers] = branches.power / at
    slope[powers] = np.where(above, -current[powers] / at, 0.0)
    if rows.panel.start < rows.panel.stop:
        given, change = panel_current(
            branches.sign * voltage[rows.panel], branches.photo, branches.saturation, branches.scale, branches.series
        )
        current[rows.panel] = -branches.sign * given
        slope[rows.panel] = -change
    return current, slope


def neighbouring(
    branches: Branches, voltage: Array, rows: Rows, current: Array, slope: Array, piece: Array
) -> tuple[Array, Array, Array]:
    """Return the tangents to go on with, where a ramp may move only to the next of its three pieces.

    A source that was at its limit and is now found beyond its own voltage is taken to be on its slope: without this
    rule Newton's method can jump between the two ends for ever (after Katzenelson 1965).
    Parameters: `current`, `slope`, as from `currents`; `piece`, -1, 0, 1 for each ramp before, shape (ramps, variants).
    Returns: current, slope and pieces now.
    """
    ramps = rows.ramps
    straight = branches.slope * (voltage[ramps] - branches.zero)
    now = np.where(straight <= branches.low - EDGE, -1, np.where(straight >= branches.high + EDGE, 1, 0))
    skipped = np.abs(now - piece) > 1
    if skipped.any():
        current, slope = current.copy(), slope.copy()
        current[ramps] = np.where(skipped, straight, current[ramps])
        slope[ramps] = np.where(skipped, branches.slope, slope[ramps])
        now = np.where(skipped, 0, now)
    return current, slope, now
