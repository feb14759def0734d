"""Predictions moved by the readings so far: each vehicle's by the gain of what was read over what it predicted.

Readings share what is not known of a vehicle, so after a few of them the next one is largely known; left out of
account, it would seem to promise information that has been had already. The gain is that of a Gaussian with the
covariances of sound vehicles, and the readings are perturbed by their noise, so that the spread left is the right one
(the ensemble form of the Kalman filter, Evensen 1994). One gain serves all hypotheses: with a gain of its own for each
they would differ by the chance of small samples.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import Evidence

__all__ = ["Updating"]

#: numbers beyond this many are not used: the first tell nearly all
MOST = 40


class Updating:
    """Moves predictions of tests not yet taken, for some hypotheses and the first of the vehicles."""

    def __init__(self, evidence: Evidence, which: Array, count: int) -> None:
        """Prepare the gains; `which` are numbers of hypotheses, the first being that nothing is wrong; `count`
        vehicles.
        """
        predicted = evidence.predicted[which, :count, :MOST]
        noise = evidence.noise[which, :count, :MOST]
        self._away = predicted[0] - predicted[0].mean(axis=0)
        size = predicted.shape[2]
        self._pull = predicted
        if size:
            covariance = self._away.T @ self._away / count
            covariance[np.arange(size), np.arange(size)] *= 1.02
            covariance[np.arange(size), np.arange(size)] += (noise[0] ** 2).mean(axis=0) + 1e-12
            phase = np.modf(np.arange(count)[:, None] * 0.6180339887498949 + np.arange(size) * 0.3819660112501051)[0]
            perturbed = np.sqrt(12.0) * (phase - 0.5) * noise
            gap = np.clip(evidence.read[:MOST] + perturbed - predicted, -30.0, 30.0)
            self._pull = gap @ np.linalg.inv(covariance)

    def cross(self, sound: Array) -> Array:
        """Return covariances of tests with the readings so far on sound vehicles, shape (tests, readings).

        Parameters: `sound`, numbers of the tests on sound vehicles, shape (tests, vehicles).
        """
        return np.asarray((sound - sound.mean(axis=1, keepdims=True)) @ self._away / sound.shape[1])

    def pull(self, weights: Array) -> Array:
        """Return how far the readings pull each hypothesis on average, shape (hypotheses, readings); by vehicle for
        none.
        """
        if self._pull.shape[2] == 0:
            return np.zeros((len(weights), 0))
        return np.asarray(np.einsum("hm,hmn->hn", weights, self._pull))

    def moved_sound(self, sound: Array) -> Array:
        """Return numbers of tests (tests, vehicles) on sound vehicles, moved by the readings so far."""
        if self._pull.shape[2] == 0:
            return sound
        return np.asarray(sound + self.cross(sound) @ self._pull[0].T)

    def moved(self, values: Array) -> Array:
        """Return predictions (h, m) of one test, moved by the readings so far."""
        if self._pull.shape[2] == 0:
            return values
        cross = (values[0] - values[0].mean()) @ self._away / values.shape[1]
        limit = max(float(np.ptp(values)), 1e-9)
        return np.asarray(values + np.clip(self._pull @ cross, -limit, limit))
