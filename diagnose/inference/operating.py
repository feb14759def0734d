"""Why nothing may be wrong although it looked so: the operating states that readings point to.

What the physics of a sound vehicle can tell is taken from its predictions: charge, set point, temperature, whether a
charger runs. What it cannot is taken from the description and from what people said. What each state means to people
stands in the rule base.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.circuit.topology import start_batteries
from diagnose.inference.posterior import Belief, vehicle_weights
from diagnose.inference.updating import Updating
from diagnose.model.causes import OperatingState
from diagnose.model.parts import Charger
from diagnose.model.reading import Reading, Take
from diagnose.model.rules import ComplaintRule
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.unknowns import Vehicles

__all__ = ["STATES_KNOWN", "explained", "why_sound"]

#: the states that can be told; each has a file in the rule base
STATES_KNOWN = (
    "battery_full", "engine_idle", "waiting_for_start_voltage", "standby_lamp", "alternator_resting", "lfp_cold",
    "heat_derating", "solar_priority",
)  # fmt: skip
#: belief in nothing wrong, and chance of a state, below which it is not worth naming
NAMED = 0.02
#: chance of a state that only the description and the complaint can tell of, where both do
TOLD = 0.9
RUNNING = ("engine_running", "engine_idle", "engine_running_loaded", "engine_and_sun")

Chances = Iterator[tuple[str, float]]


def why_sound(
    belief: Belief,
    predictor: Predictor,
    readings: Sequence[Reading],
    complaint: ComplaintRule | None,
    states: Mapping[str, OperatingState],
) -> tuple[tuple[str, float], ...]:
    """Return operating states with their chances, given that nothing is wrong, likeliest first.

    Parameters: `complaint`, what people said, where it was understood; `states`, those of the rule base. Several may
    hold at once, so the chances need not sum to 1.
    """
    if belief.posterior[0] < NAMED:
        return ()
    vehicles, weights = predictor.sound_vehicles(), vehicle_weights(belief)[0]
    own = belief.evidence.predicted[0].T
    updating = Updating(belief.evidence, belief.fit.wrong, np.array([0]), predictor.count, range(len(own)), own)
    limits = {name: state.limit.value for name, state in states.items() if state.limit is not None}
    found = dict(_of_sources(predictor, vehicles, weights, updating, limits))
    told = "" if complaint is None else complaint.id
    found |= dict(_of_warmth(predictor, vehicles, weights, told, states, limits))
    found |= dict(_of_states(readings, told, predictor, states))
    found |= dict(_of_lamps(predictor, weights, readings, found))
    return tuple(sorted(((s, p) for s, p in found.items() if p >= NAMED), key=lambda s: (-s[1], s[0])))


def explained(found: Sequence[tuple[str, float]], states: Mapping[str, OperatingState]) -> tuple[str, ...]:
    """Return what each state found means to people: what it is, why it is right, how to make it show otherwise."""
    known = [states.get(name) for name, _ in found]
    return tuple("" if s is None else f"{s.name}. {s.right} To see it otherwise: {s.shows}" for s in known)


def _of_sources(
    predictor: Predictor, vehicles: Vehicles, weights: Array, updating: Updating, limits: Mapping[str, float]
) -> Chances:
    """Yield whether a battery behind a charger is full, and whether a variable alternator rests."""
    starters = start_batteries(predictor.installation)
    others = [charge for name, charge in vehicles.charge.items() if name not in starters]
    if others:
        full = np.any([_moved(updating, charge) > limits["battery_full"] for charge in others], axis=0)
        yield "battery_full", float(weights @ full)
    voltages = vehicles.parameters["alternator.voltage"]
    variable = [p.regulation == "variable" for p in predictor.installation.parts.values() if p.kind == "alternator"]
    resting = [
        _moved(updating, volts) < limits["alternator_resting"]
        for volts, may in zip(voltages, variable, strict=True)
        if may
    ]
    if resting:
        yield "alternator_resting", float(weights @ np.any(resting, axis=0))


def _moved(updating: Updating, values: Array) -> Array:
    """Return numbers of the vehicles, moved by the readings."""
    moved: Array = updating.moved(values[None], updating.known(values[None]).cross[0])[0]
    return moved


def _of_warmth(
    predictor: Predictor,
    vehicles: Vehicles,
    weights: Array,
    told: str,
    states: Mapping[str, OperatingState],
    limits: Mapping[str, float],
) -> Chances:
    """Yield whether lithium is too cold to be charged, and whether a charger is warmer than it gives full power to."""
    parts = predictor.installation.parts
    cold = [vehicles.warmth[n] < limits["lfp_cold"] for n, p in parts.items() if getattr(p, "chemistry", "") == "lfp"]
    if cold:
        known = float(weights @ np.any(cold, axis=0))
        yield "lfp_cold", max(known, TOLD if told == _first(states, "lfp_cold") else 0.0)
    chargers = [n for n, p in parts.items() if isinstance(p, Charger)]
    if chargers:
        case, limit = (vehicles.parameters[f"charger.{key}"] for key in ("case", "full_power_to"))
        yield "heat_derating", float(weights @ np.any(case > limit, axis=0))


def _of_states(
    readings: Sequence[Reading], told: str, predictor: Predictor, states: Mapping[str, OperatingState]
) -> Chances:
    """Yield what follows from the state in which readings were taken: idle, or two sources at once."""
    when = {r.take.when for r in readings if r.take is not None}
    if "engine_idle" in when:
        yield "engine_idle", 1.0
    chargers = [p for p in predictor.installation.parts.values() if isinstance(p, Charger)]
    one_at_a_time = any(c.solar and c.input and not c.shares_solar for c in chargers)
    if one_at_a_time and ("engine_and_sun" in when or told == _first(states, "solar_priority")):
        yield "solar_priority", TOLD


def _of_lamps(
    predictor: Predictor, weights: Array, readings: Sequence[Reading], found: Mapping[str, float]
) -> Chances:
    """Yield whether a charger that looked idle only waits, and whether its lamp only says that it stands by."""
    waiting, standby = [], []
    for reading in readings:
        take, read = reading.take, reading.read
        if take is None or read is None or take.quantity != "lamp" or take.when not in (*RUNNING, "key_on", "at_rest"):
            continue
        if read.word in ("off", "flashing") and take.when in RUNNING:
            waiting.append(_not_running(predictor, weights, take))
        if read.word == "flashing" or (read.word == "on" and _has_meanings(predictor, take)):
            standby.append(max(_not_running(predictor, weights, take), found.get("battery_full", 0.0)))
    if waiting:
        yield "waiting_for_start_voltage", max(waiting)
    if standby:
        yield "standby_lamp", max(standby)


def _not_running(predictor: Predictor, weights: Array, take: Take) -> float:
    """Return the chance that a sound charger does not run in the state of a test of its lamp."""
    words = predictor.predict([take], (0,))[0].words or {}
    chance = words.get("off", np.zeros((1, len(weights))))[0]
    return float(weights @ (chance > 0.5))


def _has_meanings(predictor: Predictor, take: Take) -> bool:
    """Return whether the description tells what the lamp means, so that `on` need not mean that it charges."""
    name = take.where[0].rpartition(".")[2]
    chargers = [p for p in predictor.installation.parts.values() if isinstance(p, Charger)]
    return any(c.lamps is not None and name in c.lamps for c in chargers)


def _first(states: Mapping[str, OperatingState], name: str) -> str:
    """Return the complaint that is heard most with a state: the first that its file names."""
    named = states[name].complaints if name in states else ()
    return named[0] if named else ""
