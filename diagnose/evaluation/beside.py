"""Simulated vehicles side by side, read as predictions are: to see what shows on one beside another.

Nothing is solved here that the vehicles do not solve themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

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
        def column(what: Callable[[Shown], float]) -> Array:
            return np.array([[what(one)] for one in shown], dtype=float)

        high, low, noise = column(lambda s: s.high), column(lambda s: s.low), column(lambda s: s.noise)
        names = shown[0].words
        words = None if names is None else {w: column(lambda s, w=w: (s.words or {})[w]) for w in names}  # type: ignore[misc]
        return Predicted(high, low, column(lambda s: float(s.hunts)), np.zeros_like(high), noise, words)
