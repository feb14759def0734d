"""What is believed after the readings: hypotheses, unlisted, their strata, and which readings are doubted.

Belief is a pure function of prior and evidence; nothing here chooses or words anything.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.circuit.topology import start_batteries
from diagnose.inference.bank import SIZES, Bank, Fit, build_bank, fit
from diagnose.inference.evidence import Evidence
from diagnose.inference.poor_joints import Slopes
from diagnose.inference.unlisted import log_likelihood_unlisted
from diagnose.prediction.predictor import Predictor

__all__ = ["Belief", "believe", "shares", "strata_of", "vehicle_weights", "without_words"]

#: least chance of all that is listed
LISTED = 1e-12
#: ends of the classes of charge, as shares of the vehicles by rank: acceptance falls steeply near full
CHARGES = (0.6, 0.85)


class Belief(NamedTuple):
    """The state of belief: `prior`, `posterior` (h,) with `unlisted_before` and `unlisted`, and what they rest on;
    `log_evidence`, the logarithm of the chance of the readings, whatever is behind them; `mended`, the number of what
    each repair mended on the course that is likeliest, None where it was in vain.
    """

    prior: Array
    posterior: Array
    unlisted_before: float
    unlisted: float
    evidence: Evidence
    bank: Bank
    fit: Fit
    log_evidence: float = 0.0
    mended: tuple[int | None, ...] = ()


def strata_of(predictor: Predictor, which: Sequence[int]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the strata of vehicles under each hypothesis, for belief and, coarser, for choosing tests.

    Within a stratum readings are taken as normal, so it must not reach over what is far from straight: the size of a
    fault over decades, whether a joint is open at the moment, and the charge of a battery, whose acceptance falls
    steeply near full. Belief has four ranges of size (or three of what else is left to chance) times three of charge;
    the choice has three of size.
    """
    charge = np.searchsorted(CHARGES, (_charge_rank(predictor) + 0.5) / predictor.count)
    fine, coarse = [], []
    for number in which:
        size, classes = predictor.sizes(number), SIZES
        if np.ptp(size) == 0.0:
            size, classes = predictor.left_to_chance(number), 3
        rank = _rank(size) if np.ptp(size) > 0.0 else np.zeros(predictor.count, dtype=np.intp)
        fine.append(SIZES * charge + rank * classes // predictor.count)
        coarse.append(rank * 3 // predictor.count)
    return np.array(fine), np.array(coarse)


def _rank(values: Array) -> NDArray[np.intp]:
    """Return the rank of each value, from 0."""
    rank = np.empty(len(values), dtype=np.intp)
    rank[np.argsort(values, kind="stable")] = np.arange(len(values))
    return rank


def _charge_rank(predictor: Predictor) -> NDArray[np.intp]:
    """Return the rank of each vehicle by the charge of the battery that is charged through the charger."""
    starters = start_batteries(predictor.installation)
    charges = predictor.sound_vehicles().charge
    others = [name for name in charges if name not in starters] or list(charges)
    return _rank(charges[others[0]])


def believe(
    prior: Array,
    evidence: Evidence,
    strata: NDArray[np.intp],
    twins: NDArray[np.intp] | None = None,
    slopes: Slopes | None = None,
) -> Belief:
    """Return the belief after the evidence.

    Parameters: `prior` (h,), summing to less than 1, the rest being an unlisted cause; `strata` (h, m), as from
    `strata_of`; `twins` (h, m), as for `build_bank`; `slopes`, of joints that may be poor on a sound vehicle.
    """
    bank = build_bank(evidence, strata, twins)
    fitted = fit(evidence, bank, slopes)
    rest = 1.0 - float(prior.sum())
    with np.errstate(divide="ignore"):
        listed = np.log(prior) + fitted.log_likelihood
        unlisted = float(np.log(rest) + log_likelihood_unlisted(evidence, bank))
    whole = float(np.logaddexp.reduce([*listed, unlisted]))
    posterior, strange = shares(listed, unlisted)
    return Belief(prior, posterior, rest, strange, evidence, bank, fitted, whole)


def shares(listed: Array, unlisted: float) -> tuple[Array, float]:
    """Return the chances of the hypotheses and of an unlisted cause from the logs of what is proportional to them.

    The hypotheses keep a little between them however badly they explain the readings, so that the next test can be one
    that tells them apart.

    >>> posterior, strange = shares(np.array([-1000.0, -1001.0]), 0.0)
    >>> bool(posterior.sum() > 0.0), round(float(posterior[0] / posterior[1]), 9)
    (True, 2.718281828)
    """
    known = float(np.logaddexp.reduce(listed))
    strange = float(np.clip(np.exp(unlisted - np.logaddexp(known, unlisted)), 0.0, 1.0 - LISTED))
    return (1.0 - strange) * np.exp(listed - known), strange


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


def without_words(belief: Belief) -> Array:
    """Return the log-likelihood of each hypothesis with one of the words left out, shape (hypotheses, words).

    The weights of vehicles have the word in them already, so its chance given all else is a harmonic mean.
    """
    weights, words = vehicle_weights(belief)[:, :, None], np.maximum(belief.evidence.words, 1e-12)
    return np.asarray(belief.fit.log_likelihood[:, None] + np.log((weights / words).sum(axis=1)))
