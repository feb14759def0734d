"""How large a fault is after the readings: the conditional normal of its size within each stratum, joined over
strata.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.posterior import Belief
from diagnose.model.ranking import Size

__all__ = ["size_after"]


def size_after(belief: Belief, hypothesis: int, sizes: Array, unit: str, log: bool) -> Size | None:
    """Return the size of one hypothesis's fault given the readings.

    Parameters: `sizes` (m,), the fault's size on each vehicle; `log`, whether its logarithm is what is spread evenly.
    Returns: middle and 90 % range in `unit`, never beyond the sizes drawn; None where all sizes are one.
    """
    if np.ptp(sizes) == 0.0:
        return None
    value = np.log(sizes) if log else sizes
    evidence, bank, fit = belief.evidence, belief.bank, belief.fit
    member = bank.member[hypothesis]
    means, variances, shares = [], [], []
    for g in np.unique(member):
        inside = member == g
        size, read = value[inside], evidence.predicted[hypothesis, inside]
        shift, left = _given(size, read, evidence.read, bank.mean[g], bank.covariance[g])
        means.append(float(size.mean()) + shift)
        variances.append(max(left, 1e-6))
        shares.append(float(np.exp(fit.stratum[g] - fit.log_likelihood[hypothesis])))
    share = np.array(shares) / sum(shares)
    middle = float(share @ np.array(means))
    spread = float(np.sqrt(share @ (np.array(variances) + (np.array(means) - middle) ** 2)))
    ends = np.clip([middle, middle - 1.64 * spread, middle + 1.64 * spread], value.min(), value.max())
    shown = np.exp(ends) if log else ends
    return Size(float(shown[0]), float(shown[1]), float(shown[2]), unit)


def _given(size: Array, predicted: Array, read: Array, mean: Array, covariance: Array) -> tuple[float, float]:
    """Return how the readings move the mean size within a stratum, and the variance left."""
    if len(size) < 3 or not len(read):
        return 0.0, float(size.var())
    cross = ((size - size.mean())[:, None] * (predicted - mean)).mean(axis=0)
    gain = np.linalg.solve(covariance, cross)
    limit = float(np.ptp(size))
    shift = float(np.clip(gain @ (read - mean), -limit, limit))
    return shift, max(float(size.var() - gain @ cross), 0.02 * float(size.var()))
