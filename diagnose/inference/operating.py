"""Why nothing may be wrong although it looked so: the operating states that readings point to."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.circuit.topology import start_batteries
from diagnose.inference.posterior import Belief, vehicle_weights
from diagnose.inference.updating import Updating
from diagnose.model.reading import Reading
from diagnose.prediction.predictor import Predictor

__all__ = ["why_sound"]

#: percent of charge from which a battery takes little; volts under which a variable alternator rests
FULL, RESTING = 85.0, 13.0
#: belief in nothing wrong, and chance of a state, below which it is not worth naming
NAMED = 0.02


def why_sound(belief: Belief, predictor: Predictor, readings: Sequence[Reading]) -> tuple[tuple[str, float], ...]:
    """Return operating states with their chances, given that nothing is wrong, likeliest first."""
    if belief.posterior[0] < NAMED:
        return ()
    vehicles = predictor.sound_vehicles()
    weights = vehicle_weights(belief)[0]
    updating = Updating(belief.evidence, np.array([0]), predictor.count)
    found: dict[str, float] = {}
    starters = start_batteries(predictor.installation)
    others = [charge for name, charge in vehicles.charge.items() if name not in starters]
    if others:
        found["battery_full"] = float(weights @ np.any([updating.moved(c[None, :])[0] > FULL for c in others], axis=0))
    voltages = vehicles.parameters["alternator.voltage"]
    variable = [p.regulation == "variable" for p in predictor.installation.parts.values() if p.kind == "alternator"]
    resting = [volts < RESTING for volts, may in zip(voltages, variable, strict=True) if may]
    if resting:
        found["alternator_resting"] = float(weights @ np.any(resting, axis=0))
    if any(r.take is not None and r.take.when == "engine_idle" for r in readings):
        found["engine_idle"] = 1.0
    if any(
        r.take is not None and r.take.quantity == "lamp" and r.read is not None and r.read.word == "off"
        for r in readings
    ):
        found["waiting_for_start_voltage"] = 1.0 - max(found.values(), default=0.0)
    return tuple(sorted(((s, p) for s, p in found.items() if p >= NAMED), key=lambda s: -s[1]))
