"""Joints a little worse than the tables say, on vehicles that are sound: some joint of most vehicles is.

The resistance of a joint is spread far to one side, and a vehicle has dozens of joints; a Gaussian has no such tail, so
a sound joint of some milliohms would be taken for a fault. What one joint does to all readings together is solved for
some milliohms, since that of a fault, which lowers the current too, tells it too roughly; for so few it grows evenly.
So beside the Gaussian of a stratum stands one for each joint that is worse, which vehicles with other currents follow
in part along a direction of their own. It says nothing of faults.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["VEHICLES", "Slopes", "log_ratios", "slightly_poor", "slopes_of"]

#: share of vehicles with a joint worse than the tables say, by how much, and one standard deviation of it [ohm]
#: (no published figures: judgement)
SHARE, WORSE, SPREAD = 0.4, 0.002, 0.0015
#: a joint that moves no reading by this share of its noise is left out
UNSEEN = 0.3
#: vehicles on which it is learnt what a joint does
VEHICLES = 8


class Slopes(NamedTuple):
    """What one ohm more in a joint adds to each reading, of those joints that any reading shows: `each`
    (joints, numbers), on average over vehicles, and `apart`, the direction in which vehicles differ most, one standard
    deviation long; `of`, how many joints there are in all.
    """

    each: Array
    apart: Array
    of: int


def slightly_poor(hypotheses: Sequence[Hypothesis]) -> tuple[Hypothesis, ...]:
    """Return that nothing is wrong, and then each joint a little worse than the tables say.

    Parameters: `hypotheses`, the first being that nothing is wrong; those that add resistance say where joints are.
    """
    adding = (h for h in hypotheses if h.fault is not None and h.rule is not None and h.rule.change == "add_resistance")
    joints = (h._replace(fault=h.fault._replace(size=WORSE)) for h in adding if h.fault is not None)
    return (hypotheses[0], *joints)


def slopes_of(predicted: Array, noise: Array) -> Slopes:
    """Return what one ohm more in each joint adds to each reading.

    Parameters: `predicted` (1 + joints, m, n), under the hypotheses of `slightly_poor`; `noise` (n,), of a reading.
    """
    own = (predicted[1:] - predicted[:1]) / WORSE
    each = own.mean(axis=1)
    shown = (np.abs(each) * (WORSE + SPREAD) > UNSEEN * noise).any(axis=1)
    if not shown.any():
        return Slopes(each[shown], each[shown], len(each))
    away = (own - each[:, None])[shown] / noise
    _, length, direction = np.linalg.svd(away, full_matrices=False)
    apart = direction[:, 0] * length[:, :1] / np.sqrt(max(own.shape[1] - 1, 1)) * noise
    return Slopes(each[shown], apart, len(each))


def log_ratios(slopes: Slopes, precision: Array, pull: Array, near: NDArray[np.bool_]) -> tuple[Array, Array]:
    """Return how much likelier each joint's being poor makes the readings, with its chance, shape (strata, joints), and
    the same with one number left out, all joints taken together, (strata, numbers), for some strata alone.

    Parameters: `precision` (g, n, n) of each stratum; `pull` (g, n), precision times what the readings are away; `near`
    (g,), the strata for which numbers are left out: nothing for the others.
    """
    one, other = slopes.each @ precision, slopes.apart @ precision
    stiff = ((one * slopes.each).sum(axis=2), (one * slopes.apart).sum(axis=2), (other * slopes.apart).sum(axis=2))
    toward = (pull @ slopes.each.T, pull @ slopes.apart.T)
    without = np.full(pull.shape, -np.inf)
    one, other, whole, along = one[near], other[near], [s[near] for s in stiff], [t[near] for t in toward]
    for k in range(pull.shape[1]):
        a, b, own = one[:, :, k], other[:, :, k], np.maximum(precision[near, k, k], 1e-300)[:, None]
        left = (
            np.maximum(whole[0] - a * a / own, 0.0), whole[1] - a * b / own, np.maximum(whole[2] - b * b / own, 0.0)
        )  # fmt: skip
        gone = pull[near, k, None] / own
        ratio = _log_ratio(left, (along[0] - a * gone, along[1] - b * gone), slopes.of)
        peak = ratio.max(axis=1)
        without[near, k] = np.log(np.exp(ratio - peak[:, None]).sum(axis=1)) + peak
    return _log_ratio(stiff, toward, slopes.of), without


def _log_ratio(stiff: tuple[Array, Array, Array], toward: tuple[Array, Array], joints: int) -> Array:
    """Return the log of the chance of a poor joint times the ratio of two Gaussians, one of which is moved.

    It is moved along `each` by an amount of mean `w` and variance `s`, and along `apart` by one of mean 0 and variance
    ``w^2 + s``. With `P` the precision and `U` both directions, each a standard deviation long, its covariance has the
    determinant of ``1 + U P U'`` more, and the inverse of that says what of the distance along `U` it explains.
    Parameters: `stiff`, each with itself, each with apart, apart with itself, by `P`; `toward`, both by the pull.
    """
    along, across = SPREAD, np.sqrt(WORSE**2 + SPREAD**2)
    first, both, second = 1.0 + along**2 * stiff[0], along * across * stiff[1], 1.0 + across**2 * stiff[2]
    one, other = along * (toward[0] - WORSE * stiff[0]), across * (toward[1] - WORSE * stiff[1])
    det = first * second - both**2
    explained = (second * one**2 - 2.0 * both * one * other + first * other**2) / det
    moved = WORSE * toward[0] - 0.5 * WORSE**2 * stiff[0]
    before = float(np.log(SHARE / max(joints, 1) / (1.0 - SHARE)))
    return np.asarray(moved + 0.5 * explained - 0.5 * np.log(det) + before)
