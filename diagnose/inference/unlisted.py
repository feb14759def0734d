"""How well the readings fit a cause that is not in the rule base: a sound network in which some readings have been
moved.

Nothing is known of such a cause except that it leaves most of the network as it was, so each reading is taken as
sound or, with an even chance almost, as moved: half a little (Laplace), half anywhere. Readings are taken in one
after the other, each by as much as it seems unmoved. The order is fixed by the readings themselves, so the order they
were taken in does not matter.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.inference.bank import Bank
from diagnose.inference.evidence import Evidence

__all__ = ["log_likelihood_unlisted"]

MOVED = 0.4
NEAR = 1.0 / 20.0
STRANGE_WORD = 0.25


def log_likelihood_unlisted(evidence: Evidence, bank: Bank) -> float:
    """Return the log-likelihood of the readings under an unlisted cause; hypothesis 0 must be that nothing is wrong."""
    strata = np.flatnonzero(bank.owner == 0)
    usual = evidence.words[0].mean(axis=0)
    words = float(np.log((1.0 - MOVED) * usual + MOVED * STRANGE_WORD).sum())
    order = np.lexsort((evidence.read, evidence.predicted[0].mean(axis=0)))
    weights = np.bincount(bank.member[0], minlength=len(bank.owner))[strata] / evidence.predicted.shape[1]
    parts = [
        np.log(weight) + _one_stratum(evidence, bank.mean[g].copy(), bank.covariance[g].copy(), order)
        for g, weight in zip(strata, weights, strict=True)
    ]
    return words + float(np.logaddexp.reduce(parts))


def _one_stratum(evidence: Evidence, mean: Array, covariance: Array, order: Array) -> float:
    """Take in the readings one by one, by as much as each seems unmoved."""
    total = 0.0
    for i in order:
        width, away, variance = evidence.width[i], evidence.read[i] - mean[i], covariance[i, i]
        still = (1.0 - MOVED) * np.exp(-0.5 * away**2 / variance) / np.sqrt(2.0 * np.pi * variance)
        near = np.exp(-abs(away) / (NEAR * width)) / (2.0 * NEAR * width)
        moved = MOVED * 0.5 * (near + 1.0 / width)
        total += float(np.log(still + moved))
        gain = still / (still + moved) / variance
        column = covariance[:, i].copy()
        mean += gain * away * column
        covariance -= gain * np.outer(column, column)
    return total
