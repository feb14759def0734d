"""What is believed after the readings: hypotheses, unlisted, their strata, and which readings are doubted.

Belief is a pure function of prior and evidence; nothing here chooses or words anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.bank import STRATA, Bank, Fit, build_bank, fit
from diagnose.inference.evidence import Evidence
from diagnose.inference.unlisted import log_likelihood_unlisted
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predictor

__all__ = ["Belief", "believe", "prior_of", "size_strata", "vehicle_weights"]

#: chance that nothing is wrong, and that the cause is not in the rule base, before any reading (judgement: about a
#: third of
#: call-outs find nothing wrong; a vehicle whose owner insists is less often sound)
SOUND_BEFORE, UNLISTED_BEFORE = 0.2, 0.02


class Belief(NamedTuple):
    """The state of belief: `prior`, `posterior` (h,) with `unlisted_before` and `unlisted`, and what they rest on."""

    prior: Array
    posterior: Array
    unlisted_before: float
    unlisted: float
    evidence: Evidence
    bank: Bank
    fit: Fit


def prior_of(hypotheses: Sequence[Hypothesis], ratios: Sequence[float]) -> Array:
    """Return the chances of the hypotheses before any reading, the first being that nothing is wrong.

    Parameters: `ratios`, how much likelier the complaint makes each.
    Returns: chances that sum to 1 less that of an unlisted cause.
    """
    weight = np.array([h.weight * r for h, r in zip(hypotheses, ratios, strict=True)])
    share = weight / weight.sum() if weight.sum() > 0 else weight
    prior = (1.0 - SOUND_BEFORE - UNLISTED_BEFORE) * share
    prior[0] = SOUND_BEFORE
    return np.asarray(prior)


def size_strata(predictor: Predictor, which: Sequence[int]) -> NDArray[np.intp]:
    """Return the stratum of size of each vehicle under each hypothesis; faults without a size have one stratum."""
    rows = []
    for number in which:
        size = predictor.sizes(number)
        if np.ptp(size) == 0.0:
            rows.append(np.zeros(predictor.count, dtype=np.intp))
        else:
            rank = np.empty(predictor.count, dtype=np.intp)
            rank[np.argsort(size, kind="stable")] = np.arange(predictor.count)
            rows.append(rank * STRATA // predictor.count)
    return np.array(rows)


def believe(prior: Array, evidence: Evidence, strata: NDArray[np.intp]) -> Belief:
    """Return the belief after the evidence.

    Parameters: `prior` (h,), summing to less than 1, the rest being an unlisted cause; `strata` (h, m), as from
    `size_strata`.
    """
    bank = build_bank(evidence, strata)
    fitted = fit(evidence, bank)
    rest = 1.0 - float(prior.sum())
    with np.errstate(divide="ignore"):
        log = np.append(np.log(prior) + fitted.log_likelihood, np.log(rest) + log_likelihood_unlisted(evidence, bank))
    log -= log.max()
    share = np.exp(log) / np.exp(log).sum()
    return Belief(prior, share[:-1], rest, float(share[-1]), evidence, bank, fitted)


def vehicle_weights(belief: Belief) -> Array:
    """Return how much each vehicle counts under each hypothesis after the readings, shape (h, m); rows sum to 1.

    A stratum's weight is shared by its vehicles: the readings move weight between sizes and modes, not within a
    stratum.
    """
    share = np.exp(belief.fit.stratum - belief.fit.log_likelihood[belief.bank.owner])
    words = belief.evidence.words.prod(axis=-1)
    total = np.bincount(belief.bank.member.ravel(), words.ravel(), len(share))
    weights: Array = share[belief.bank.member] * words / np.maximum(total, 1e-300)[belief.bank.member]
    return np.asarray(weights / np.maximum(weights.sum(axis=1, keepdims=True), 1e-300))
