"""Predictions moved by the readings so far: each vehicle's prediction by the gain of what was read over what it predicted.

Readings share what is not known of a vehicle, so after a few of them the next one is largely known; left out of account, it would
seem to promise information that has been had already. The gain is that of a Gaussian with the hypothesis's own
covariances, and the readings are perturbed by their noise, so that the spread left is the right one (the ensemble form
of the Kalman filter, Evensen 1994).
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

    def __init__(self, evidence: Evidence, which: Array, weights: Array) -> None:
        """Prepare the gains.

        Parameters: `which`, numbers of hypotheses; `weights` (h, m), how much each vehicle counts, rows summing to 1.
        """
        count = weights.shape[1]
        predicted = evidence.predicted[which, :count, :MOST]
        noise = evidence.noise[which, :count, :MOST]
        self._weights = weights
        self._away = predicted - np.einsum("hm,hmn->hn", weights, predicted)[:, None, :]
        size = predicted.shape[2]
        if size == 0:
            self._pull = predicted
            return
        covariance = np.einsum("hm,hmi,hmj->hij", weights, self._away, self._away)
        spread = np.einsum("hm,hmn->hn", weights, noise**2)
        own = covariance[:, np.arange(size), np.arange(size)]
        covariance[:, np.arange(size), np.arange(size)] = own * 1.05 + spread + 1e-12
        phase = np.modf(np.arange(count)[:, None] * 0.6180339887498949 + np.arange(size) * 0.3819660112501051)[0]
        perturbed = np.sqrt(12.0) * (phase - 0.5) * noise
        gap = np.clip(evidence.read[:MOST] + perturbed - predicted, -30.0, 30.0)
        self._pull = np.linalg.solve(covariance, gap.transpose(0, 2, 1)).transpose(0, 2, 1)

    def moved(self, values: Array) -> Array:
        """Return predictions (h, m) of one test, moved by the readings so far."""
        if self._pull.shape[2] == 0:
            return values
        centred = values - (self._weights * values).sum(axis=1, keepdims=True)
        cross = np.einsum("hm,hmn->hn", self._weights * centred, self._away)
        shift = np.einsum("hmn,hn->hm", self._pull, cross)
        limit = np.ptp(values, axis=1, keepdims=True)
        return np.asarray(values + np.clip(shift, -limit, limit))
