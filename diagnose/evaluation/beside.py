"""Simulated vehicles side by side, read as predictions are: to see what shows on one beside another.

Nothing is solved here that the vehicles do not solve themselves.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take
from diagnose.prediction.predictor import Predicted
from diagnose.simulation.vehicle import Shown, SimulatedVehicle

__all__ = ["Beside"]


class Beside:
    """Answers as a `Predictor` does, a vehicle a row, one column."""

    def __init__(self, vehicles: Sequence[SimulatedVehicle]) -> None:
        """Prepare; the first is the one that the others are set beside."""
        self._vehicles = tuple(vehicles)

    def predict(self, takes: Sequence[Take]) -> list[Predicted]:
        """Return what each test shows on each vehicle, shape (vehicles, 1).

        Raises: RuntimeError where a circuit has no solution.
        """
        return [self._one([vehicle.shown(take) for vehicle in self._vehicles]) for take in takes]

    def _one(self, shown: Sequence[Shown]) -> Predicted:
        high, low, noise = (_column(values) for values in zip(*((s.high, s.low, s.noise) for s in shown), strict=True))
        names = shown[0].words
        words = None if names is None else {word: _column([(s.words or {})[word] for s in shown]) for word in names}
        return Predicted(high, low, _column([float(s.hunts) for s in shown]), np.zeros_like(high), noise, words)


def _column(values: Sequence[float]) -> Array:
    return np.array(values, dtype=float)[:, None]
