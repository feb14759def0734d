"""Joints a little worse than the tables say, on vehicles that are sound: some joint of most vehicles is.

The resistance of a joint is spread far to one side, and a vehicle has dozens of joints; a Gaussian has no such tail, so
a sound joint of some milliohms would be taken for a fault. What one joint does to all readings together is known from
the fault that adds resistance there, and for a few milliohms it grows evenly; so beside the Gaussian of a stratum
stands one for each joint that is worse by some milliohms. It says nothing of faults.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array

__all__ = ["PoorJoints", "Slopes", "log_ratios", "log_ratios_without", "slopes_of"]

#: share of vehicles with a joint worse than the tables say, by how much, and one standard deviation of it [ohm]
#: (no published figures: judgement)
SHARE, WORSE, SPREAD = 0.4, 0.002, 0.0015
#: a joint that moves no reading by this share of its noise is left out
UNSEEN = 0.3
#: vehicles with the smallest faults, from which it is learnt what a joint does
SMALLEST = 8


class PoorJoints(NamedTuple):
    """The hypotheses that add resistance to a joint, by `number` (j,), and its `size` [ohm] on each vehicle (m,)."""

    number: NDArray[np.intp]
    size: Array


class Slopes(NamedTuple):
    """What one ohm more in a joint adds to each reading: `each` (joints, numbers), of those joints that any reading
    shows; `of`, how many joints there are in all.
    """

    each: Array
    of: int


def slopes_of(joints: PoorJoints, predicted: Array, noise: Array, twins: NDArray[np.intp]) -> Slopes:
    """Return what one ohm more in each joint adds to each reading, for small resistances.

    Parameters: `predicted`, `noise` (h, m, n); `twins` (h, m), the number of each vehicle among those of the first
    hypothesis.
    """
    own = twins[joints.number]
    change = predicted[joints.number] - predicted[0][own]
    size = joints.size[own]
    least = np.argsort(size, axis=1, kind="stable")[:, :SMALLEST]
    few, size = np.take_along_axis(change, least[:, :, None], axis=1), np.take_along_axis(size, least, axis=1)
    each = (few / size[:, :, None]).mean(axis=1)
    shown = (np.abs(each) * (WORSE + SPREAD) > UNSEEN * noise[0].mean(axis=0)).any(axis=1)
    return Slopes(each[shown], len(each))


def log_ratios(slopes: Slopes, precision: Array, pull: Array) -> Array:
    """Return how much likelier each joint's being poor makes the readings, with its chance, shape (strata, joints).

    Parameters: `precision` (g, n, n) of each stratum; `pull` (g, n), precision times what the readings are away.
    """
    each = slopes.each
    stiff = ((each @ precision) * each).sum(axis=2)
    return _log_ratio(stiff, pull @ each.T, slopes.of)


def log_ratios_without(slopes: Slopes, precision: Array, pull: Array) -> Array:
    """Return the same with one number left out, and all joints taken together, shape (strata, numbers)."""
    each = slopes.each
    across = precision @ each.T
    whole, whole_toward = (across * each.T).sum(axis=1), pull @ each.T
    found = np.empty(pull.shape)
    for k in range(pull.shape[1]):
        line, own = across[:, k], np.maximum(precision[:, k, k], 1e-300)[:, None]
        stiff = np.maximum(whole - line**2 / own, 0.0)
        found[:, k] = _log_sum(stiff, whole_toward - line * (pull[:, k, None] / own), slopes.of)
    return found


def _log_ratio(stiff: Array, toward: Array, joints: int) -> Array:
    """Return the log of the chance of a poor joint times the ratio of two Gaussians, one of which is moved along a
    direction by an amount that is normal itself.

    With `s` the variance of that amount, `w` its mean and ``d = 1 + s stiff``, the ratio is
    ``exp(s (toward + w / s)^2 / (2 d) - w^2 / (2 s)) / sqrt(d)``.
    """
    wide = 1.0 + SPREAD**2 * stiff
    return np.asarray(_exponent(wide, toward) - 0.5 * np.log(wide) + _before(joints))


def _log_sum(stiff: Array, toward: Array, joints: int) -> Array:
    """Return the logarithm of the sum of these ratios over the joints, which are the last axis."""
    wide = 1.0 + SPREAD**2 * stiff
    exponent = _exponent(wide, toward)
    peak = exponent.max(axis=1)
    return np.asarray(np.log((np.exp(exponent - peak[:, None]) / np.sqrt(wide)).sum(axis=1)) + peak + _before(joints))


def _exponent(wide: Array, toward: Array) -> Array:
    return np.asarray((toward + WORSE / SPREAD**2) ** 2 / (wide * (2.0 / SPREAD**2)))


def _before(joints: int) -> float:
    """Return what of the logarithm is the same for all joints."""
    return float(np.log(SHARE / max(joints, 1) / (1.0 - SHARE)) - 0.5 * (WORSE / SPREAD) ** 2)
