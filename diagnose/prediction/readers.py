"""Reading one test off a solved circuit: which instrument looks at what, which word follows from which condition."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit import readout
from diagnose.circuit.elimination import Array
from diagnose.circuit.modes import Solution
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.solid import solid_groups
from diagnose.circuit.tangent import Tangent, meter_volts, tangent_at
from diagnose.circuit.wiring import Wiring
from diagnose.model.figures import Tables
from diagnose.model.parts import Battery
from diagnose.model.reading import Take
from diagnose.model.terminals import poles_of
from diagnose.prediction.unknowns import Vehicles

__all__ = ["Scene", "TrueValue", "read_true"]


@dataclass(frozen=True)
class Scene:
    """A solved condition with all that is needed to read it; columns are hypotheses times vehicles."""

    wiring: Wiring
    parameters: Parameters
    solution: Solution
    vehicles: Vehicles
    tables: Tables
    state: str

    @cached_property
    def tangent(self) -> Tangent:
        """The network about the condition, made only if a meter's own current is asked for."""
        return tangent_at(self.wiring, self.solution)

    @cached_property
    def _solid(self) -> NDArray[np.intp]:
        """Which nodes are firmly joined, by hypothesis."""
        return solid_groups(self.wiring, self.solution, self.vehicles.streams.count)

    def meter_share(self, a: str, b: str, resistance: float) -> Array:
        """Return how much of the volts between two points is left once a voltmeter draws its current, by column."""
        i, j = self.wiring.index[a], self.wiring.index[b]
        share = np.ones(self.solution.voltage.shape[1])
        loose = np.flatnonzero(np.repeat(self._solid[i] != self._solid[j], self.vehicles.streams.count))
        if loose.size:
            few = self.solution._replace(
                voltage=self.solution.voltage[:, loose],
                slope=self.solution.slope[:, loose],
                resistance=self.solution.resistance[:, loose],
            )
            share[loose] = meter_volts(tangent_at(self.wiring, few), i, j, np.ones(loose.size), resistance)
        return share

    def by_vehicle(self, values: Array) -> Array:
        """Repeat numbers given by vehicle for every hypothesis of the scene."""
        return np.tile(values, self.solution.voltage.shape[1] // len(values))

    @cached_property
    def mode(self) -> Array:
        """A number by column that differs where a charger, relay or load does something else."""
        modes = self.solution.modes
        number = np.zeros(self.solution.voltage.shape[1])
        for rows in (modes.on, modes.held, modes.sun, modes.backed, modes.closed, modes.chatter, modes.tripped):
            for row in rows:
                number = 2.0 * number + row
        return number


class TrueValue(NamedTuple):
    """True values, by column: unloaded, at the stop threshold, 1 where something hunts, and chances of words if it is
    a word.
    """

    high: Array
    low: Array
    hunts: Array
    words: dict[str, Array] | None = None


def read_true(take: Take, scene: Scene, meter: bool = True) -> TrueValue:
    """Return the true values of a test, before the errors of the instrument; without `meter` a voltmeter draws
    nothing.
    """
    if take.quantity == "volts":
        return _volts(take, scene, meter)
    return _READERS[take.quantity](take, scene)


def _hunting(scene: Scene) -> Array:
    modes = scene.solution.modes
    hunts: Array = (modes.held.any(axis=0) | modes.chatter.any(axis=0)).astype(float)
    return hunts


def _pair(scene: Scene, high: Array, low: Array) -> TrueValue:
    return TrueValue(high, low, _hunting(scene) * (high != low))


def _single(scene: Scene, value: Array, words: dict[str, Array] | None = None) -> TrueValue:
    return TrueValue(value, value, np.zeros_like(value), words)


def _volts(take: Take, scene: Scene, draws: bool) -> TrueValue:
    a, b = take.where
    if scene.state == "isolated":
        parts = scene.wiring.installation.parts.items()
        name, battery = next((n, p) for n, p in parts if isinstance(p, Battery) and {p.pos, p.neg} == {a, b})
        sign = 1.0 if battery.pos == a else -1.0
        return _single(scene, sign * readout.post_volts(scene.wiring, scene.parameters, name))
    if draws:
        share = scene.meter_share(a, b, scene.tables.number("meters", "input_resistance"))
        i, j = scene.wiring.index[a], scene.wiring.index[b]
        ends = (scene.solution.voltage, scene.solution.low_voltage)
        true = _pair(scene, *((volts[i] - volts[j]) * share for volts in ends))
    else:
        true = _pair(scene, *readout.volts(scene.wiring, scene.solution, scene.tangent, a, b, None))
    if take.meter != "test_lamp":
        return true
    on, dim = (scene.tables.number("meters", key) for key in ("lamp_on_above", "lamp_dim_above"))
    bright = np.abs(true.high)
    edges = {"on": bright > on, "dim": (bright > dim) & (bright <= on), "off": bright <= dim}
    return true._replace(words={word: 0.94 * where + 0.02 for word, where in edges.items()})


def _amps(take: Take, scene: Scene) -> TrueValue:
    return _pair(scene, *readout.amps(scene.wiring, scene.solution, take.where[0]))


def _ohms(take: Take, scene: Scene) -> TrueValue:
    return _single(scene, readout.ohms(scene.wiring, scene.tangent, *take.where))


def _celsius(take: Take, scene: Scene) -> TrueValue:
    part, _, at = take.where[0].partition("@")
    warmth = scene.by_vehicle(scene.vehicles.warmth[part])
    if part in scene.wiring.device_parts("charger"):
        return _single(scene, scene.parameters["charger.case"][scene.wiring.device_parts("charger").index(part)])
    spread = scene.tables.number("joints", "thermal_resistance_spread")
    rise = scene.tables.number("joints", "thermal_resistance") * scene.vehicles.streams.factor(
        f"{part} cooling", spread
    )
    heat = readout.heat(scene.wiring, scene.solution, part, at or None)
    return _single(scene, warmth + np.minimum(scene.by_vehicle(rise) * heat, 400.0))


def _lamp(take: Take, scene: Scene) -> TrueValue:
    part = take.where[0].partition(".")[0]
    chargers = scene.wiring.device_parts("charger")
    charger = part if part in chargers else chargers[0]
    running, hunting = readout.charging(scene.wiring, scene.solution, charger)
    slip = 0.01
    words = {
        "on": (1 - 4 * slip) * running + slip,
        "cycling": (1 - 4 * slip) * hunting * 0.6 + slip,
        "flashing": (1 - 4 * slip) * hunting * 0.4 + slip,
        "off": (1 - 4 * slip) * (1 - running - hunting) + slip,
    }
    return _single(scene, running, words)


def _works(take: Take, scene: Scene) -> TrueValue:
    """A load does its job above 92 % of 12 V or its own cut-out, weakly above half of it; it may be weak for its own
    reasons. A starter turns briskly above what a battery must hold while cranking, slowly while it turns at all.
    """
    part = scene.wiring.installation.parts[take.where[0]]
    i, j = (scene.wiring.index[p] for p in poles_of(part))
    volts = np.abs(scene.solution.low_voltage[i] - scene.solution.low_voltage[j])
    good, some = volts > 11.0, volts > 6.0
    loads = scene.wiring.device_parts("power_load")
    if take.where[0] in loads:
        row = loads.index(take.where[0])
        fed = scene.parameters["power_load.power"][row] > 0
        some = good = ~scene.solution.modes.tripped[row] & fed & (volts > scene.parameters["power_load.cut"][row])
    if part.kind == "starter":
        good, some = (volts > scene.tables.number("loads", k) for k in ("cranking_low", "starter_full_current_above"))
    edges = {"yes": good, "weak": some & ~good, "no": ~some}
    return _single(scene, volts, {word: 0.94 * where + 0.02 for word, where in edges.items()})


def _battery_row(take: Take, scene: Scene) -> tuple[Battery, int]:
    part = scene.wiring.installation.parts[take.where[0]]
    assert isinstance(part, Battery)
    return part, scene.wiring.device_parts("battery").index(take.where[0])


def _load_test(take: Take, scene: Scene) -> TrueValue:
    part, row = _battery_row(take, scene)
    p = scene.parameters
    cranking = part.cranking_amps.mid if part.cranking_amps else 6.0 * part.capacity.mid
    volts = p["battery.on"][row] * (p["battery.rest"][row] - 0.5 * cranking * 1.3 * p["battery.give"][row])
    return _single(scene, np.maximum(p["battery.sign"][row] * volts, -2.0))


def _gravity(take: Take, scene: Scene) -> TrueValue:
    """The lowest cell; its gravity is what the rest voltage says, less a failed cell's."""
    part, row = _battery_row(take, scene)
    rest = scene.parameters["battery.rest"][row]
    over, gravity = scene.tables.curve("batteries", "gravity")
    volts = np.interp(over, *scene.tables.curve("batteries", f"rest_voltage_{part.chemistry}"))
    return _single(scene, np.where(rest < volts[0] - 0.8, 1.10, np.interp(rest, volts, gravity)))


def _ripple(take: Take, scene: Scene) -> TrueValue:
    """A leaking diode shows itself in AC volts while the alternator works; nothing else in this circuit does."""
    count = scene.solution.voltage.shape[1]
    good = scene.by_vehicle(
        scene.vehicles.streams.even("ripple", 0.01, scene.tables.number("alternators", "ripple_good"))
    )
    bad = scene.by_vehicle(scene.vehicles.streams.even("ripple fault", 0.3, 1.0))
    leaking = np.zeros(count, dtype=bool)
    for part in scene.wiring.device_parts("alternator"):
        leaking |= np.isfinite(scene.parameters["resistance"][scene.wiring.edge_index[(part, "leak", None)]])
    active = scene.state in ("engine_running", "engine_idle", "engine_running_loaded", "engine_and_sun")
    return _single(scene, np.where(leaking, bad, good) if active else np.full(count, 0.003))


_READERS: dict[str, Callable[[Take, Scene], TrueValue]] = {
    "amps": _amps, "ohms": _ohms, "celsius": _celsius, "lamp": _lamp, "works": _works,
    "load_test": _load_test, "gravity": _gravity, "ripple": _ripple,
}  # fmt: skip
