"""Predictions moved by the readings so far: each vehicle's by the gain of what was read over what it predicted.

Readings share what is not known of a vehicle, so after a few of them the next one is largely known; left out of
account, it would seem to promise information that has been had already. The gain is that of a Gaussian with the
covariances of sound vehicles, and the readings are perturbed by their noise, so that the spread left is the right one
(the ensemble form of the Kalman filter, Evensen 1994). One gain serves all hypotheses: with a gain of its own for each
they would differ by the chance of small samples. Covariances are taken from many sound vehicles where these can be
had: with few, a test would seem to be known by chance. A reading that a hypothesis takes for a mistake tells it
nothing, so it moves that hypothesis as little as it is believed.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import Evidence

__all__ = ["Known", "Updating"]

#: numbers beyond this many are not used: the first tell nearly all
MOST = 40
#: share of its own variance that a reading is taken as more uncertain by, for the sake of the inverse
RIDGE = 1e-6


class Known(NamedTuple):
    """What is known of tests on sound vehicles after the readings: `mean`, `spread` (tests,), and how they follow the
    readings, `cross` (tests, readings).
    """

    mean: Array
    spread: Array
    cross: Array


class Updating:
    """Moves predictions of tests not yet taken, for some hypotheses and the first of the vehicles."""

    def __init__(
        self, evidence: Evidence, doubt: Array, which: NDArray[np.intp], count: int, used: Sequence[int], sound: Array
    ) -> None:
        """Prepare the gains.

        Parameters: `doubt` (hypotheses, numbers), the chance of each number to be a mistake; `which`, numbers of
        hypotheses, the first being that nothing is wrong; `count` vehicles; `used`, which of the evidence's numbers
        count; `sound` (used, samples), what they read with nothing wrong.
        """
        used, sound = list(used[:MOST]), sound[:MOST]
        predicted, noise = (array[which][:, :count, used] for array in (evidence.predicted, evidence.noise))
        read, size, believed = evidence.read[used], len(used), 1.0 - doubt[which][:, used]
        usual = sound.mean(axis=1)
        self._away = sound - usual[:, None]
        covariance = self._away @ self._away.T / self._away.shape[1]
        covariance[np.arange(size), np.arange(size)] *= 1.0 + RIDGE
        covariance[np.arange(size), np.arange(size)] += (noise[0] ** 2).mean(axis=0) + 1e-12
        self._inverse = np.linalg.inv(covariance)
        self._gap = believed[0] * (read - usual)
        phase = np.modf(np.arange(count)[:, None] * 0.6180339887498949 + np.arange(size) * 0.3819660112501051)[0]
        perturbed = np.sqrt(12.0) * (phase - 0.5) * noise
        innovation = believed[:, None] * np.clip(read + perturbed - predicted, -30.0, 30.0)
        self._pull = innovation @ self._inverse

    def known(self, values: Array) -> Known:
        """Return what is known of some tests on sound vehicles after the readings.

        Parameters: `values` (tests, samples), what they read with nothing wrong.
        """
        mean = values.mean(axis=1)
        cross = (values - mean[:, None]) @ self._away.T / values.shape[1]
        gain = cross @ self._inverse
        left = values.var(axis=1) - (gain * cross).sum(axis=1)
        return Known(mean + gain @ self._gap, np.sqrt(np.maximum(left, 0.0)), cross)

    def pull(self, weights: Array) -> Array:
        """Return how far the readings pull each hypothesis on average, shape (hypotheses, readings)."""
        return np.asarray(np.einsum("hm,hmn->hn", weights, self._pull))

    def moved(self, values: Array, cross: Array) -> Array:
        """Return predictions (h, m) of one test that follows the readings by `cross` (readings,), moved by them."""
        limit = max(float(np.ptp(values)), 1e-9)
        return np.asarray(values + np.clip(self._pull @ cross, -limit, limit))
