"""Predictions moved by the readings so far: each vehicle's by the gain of what was read over what it predicted.

Readings share what is not known of a vehicle, so after a few of them the next one is largely known; left out of
account, it would seem to promise information that has been had already. The gain is that of a Gaussian with the
covariances of sound vehicles, and the readings are perturbed by their noise, so that the spread left is the right one
(the ensemble form of the Kalman filter, Evensen 1994). One gain serves all hypotheses: with a gain of its own for each
they would differ by the chance of small samples. Covariances are taken from many sound vehicles where these can be
had, and what chance alone would show among so many is taken off (the non-negative garrote of Breiman 1995, on readings
that are made independent of each other): else thirty readings would seem to foretell any test, each hypothesis's
otherwise, and it would seem to tell much. A reading that a hypothesis takes for a mistake tells it
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
#: how far a reading is taken to be from what is predicted at most
MOST_AWAY = 30.0
#: chance of a mistake up to which a reading is believed, and with as much left to be right it is not at all
USUAL_DOUBT = 0.1
#: belief in nothing wrong below which it is out of the question
RULED_OUT = 0.01
#: standard errors of a covariance below which it is taken for chance
CHANCE = 3.0
#: share of its own variance that a reading is taken as more uncertain by, for the sake of the inverse
RIDGE = 1e-6


class Known(NamedTuple):
    """What is known of tests on sound vehicles after the readings: `mean`, `spread` (tests,), and how they follow the
    readings made independent, `cross` (tests, readings).
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
        read, size = evidence.read[used], len(used)
        # the chance that any number has to be a mistake must not leave a hundredth of what was told to be told again
        believed = 1.0 - np.clip((doubt[which][:, used] - USUAL_DOUBT) / (1.0 - 2.0 * USUAL_DOUBT), 0.0, 1.0)
        usual = sound.mean(axis=1)
        away = sound - usual[:, None]
        covariance = away @ away.T / away.shape[1]
        covariance[np.arange(size), np.arange(size)] *= 1.0 + RIDGE
        covariance[np.arange(size), np.arange(size)] += (noise[0] ** 2).mean(axis=0) + 1e-12
        alone = _independent(covariance)
        self._alone, self._unmixing = alone @ away, alone
        self._size, self._basis = (self._alone**2).mean(axis=1), np.linalg.qr(away.T)[0]
        phase = np.modf(np.arange(count)[:, None] * 0.6180339887498949 + np.arange(size) * 0.3819660112501051)[0]
        perturbed = np.sqrt(12.0) * (phase - 0.5) * noise
        self._innovation = believed[:, None] * np.clip(read + perturbed - predicted, -MOST_AWAY, MOST_AWAY)
        # the same, made independent, in two parts: what a sound vehicle differs by from the usual one, which is
        # shared, and the rest
        self._shared = np.clip(usual + perturbed[0] - predicted[0], -MOST_AWAY, MOST_AWAY) @ alone.T
        changed = np.clip(predicted - predicted[0], -MOST_AWAY, MOST_AWAY)
        self._beside = (believed[:, None] * ((read - usual) - changed)) @ alone.T

    def known(self, values: Array) -> Known:
        """Return what is known of some tests on sound vehicles after the readings.

        Parameters: `values` (tests, samples), what they read with nothing wrong.
        """
        mean, samples = values.mean(axis=1), values.shape[1]
        away = values - mean[:, None]
        cross = away @ self._alone.T / samples
        unexplained = (away**2).sum(axis=1) - ((away @ self._basis) ** 2).sum(axis=1)
        error = np.maximum(unexplained, 0.0)[:, None] / max(samples - cross.shape[1], 1) * self._size / samples
        cross *= np.maximum(1.0 - CHANCE**2 * error / np.maximum(cross**2, 1e-300), 0.0)
        left = values.var(axis=1) - (cross**2).sum(axis=1)
        return Known(mean + cross @ self._beside[0, 0], np.sqrt(np.maximum(left, 0.0)), cross)

    def pull(self, weights: Array) -> Array:
        """Return how far the readings pull each hypothesis on average, shape (hypotheses, readings)."""
        return np.asarray(np.einsum("hm,hmn->hn", weights, self._beside))

    def beside(self, values: Array, cross: Array, weights: Array, belief: Array) -> Array:
        """Return predictions (h, m) of one test moved by the readings, to be set beside each other: each vehicle as its
        sound twin is, whatever is wrong, and by what the readings say of it beside that. So a fault that changes
        neither the readings nor the test reads as a sound vehicle does.

        Parameters: `weights` (h, m), rows summing to 1; `belief` (h,), by whose mean the first is moved where it is out
        of the question, since the others are compared with it.
        """
        limit = max(float(np.ptp(values)), 1e-9)
        own = np.clip(self._beside @ cross, -limit, limit)
        if belief[0] < RULED_OUT:
            own[0] = belief @ (weights * own).sum(axis=1)
        return np.asarray(values + self._shared @ cross + own)

    def moved(self, values: Array, cross: Array) -> Array:
        """Return predictions (h, m) of one test that follows the readings by `cross` (readings,), moved by them."""
        limit = max(float(np.ptp(values)), 1e-9)
        return np.asarray(values + np.clip(self._innovation @ (self._unmixing.T @ cross), -limit, limit))


def _independent(covariance: Array) -> Array:
    """Return the matrix that makes readings independent, of variance 1, and changes each as little as may be, so that
    their order does not matter (Kessy, Lewin and Strimmer 2018).
    """
    scale = 1.0 / np.sqrt(np.diag(covariance))
    value, vector = np.linalg.eigh(covariance * np.outer(scale, scale))
    return np.asarray((vector / np.sqrt(np.maximum(value, 1e-12))) @ vector.T * scale)
