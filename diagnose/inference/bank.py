"""A bank of Gaussians for each hypothesis: its readings are normal within a stratum of fault size and charger mode.

All hypotheses meet the same vehicles, so the readings of a stratum are correlated as the vehicles make them; each
stratum's covariance is drawn toward that of its hypothesis, since a stratum holds few vehicles. One reading may be
off, or up to two mistaken: the sum over which ones is exact, from the precision matrix. Words weigh the vehicles.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import Evidence
from diagnose.inference.moments import grouped, paired_moments
from diagnose.inference.poor_joints import Slopes, log_ratios

__all__ = ["MISTAKEN", "SIZES", "Bank", "Fit", "build_bank", "fit"]

#: classes of size within a class of charge
SIZES = 4
#: chance that a number is mistaken: probe on the wrong place, wrong range, wrong state
MISTAKEN = 0.015
#: chance that a number is off by more than the tables say, and how many times as far: real joints, batteries and meters
#: keep to no table
OFF, FURTHER = 0.06, 4.0
#: strata whose likelihood is this far below the best (natural logarithm), whichever number is left out, are not looked
#: at for a poor joint then
HOPELESS = 60.0
LOG_2PI = float(np.log(2.0 * np.pi))


class Bank(NamedTuple):
    """Strata of all hypotheses in one list: `owner` (g,), `log_weight` (g,), `mean` (g, n), `covariance` (g, n, n),
    `member` (h, m).
    """

    owner: NDArray[np.intp]
    log_weight: Array
    mean: Array
    covariance: Array
    member: NDArray[np.intp]


class Fit(NamedTuple):
    """How well each hypothesis explains the readings.

    `log_likelihood` (h,); `without` (h, n), the same with one number left out, and with it that it was steady, and one
    of the others mistaken at most; `wrong` (h, n), chance that a number is mistaken; `stratum` (g,), log-likelihood of
    each stratum with its weight; `expected`, `spread` (h, n), what each number should have been given the others.
    """

    log_likelihood: Array
    without: Array
    wrong: Array
    stratum: Array
    expected: Array
    spread: Array


def build_bank(evidence: Evidence, strata: NDArray[np.intp], twins: NDArray[np.intp] | None = None) -> Bank:
    """Sort vehicles into strata and describe each by a Gaussian.

    Parameters: `evidence`; `strata` (h, m), the stratum of each vehicle, as from `stratum_of`; `twins` (h, m), the
    number of the same vehicle among those of the first hypothesis, each its own if not given.
    Returns: the bank; vehicles are weighted by the chances of the words read.
    """
    hypotheses, vehicles, _ = evidence.predicted.shape
    if twins is None:
        twins = np.broadcast_to(np.arange(vehicles), (hypotheses, vehicles))
    mode = np.unique(evidence.mode, return_inverse=True)[1].reshape(hypotheses, vehicles)
    charge, size = strata // SIZES, strata % SIZES
    most = int(strata.max(initial=0)) + 1
    weight = evidence.words.prod(axis=-1)
    label = mode * most + strata
    groups = grouped(label, weight)
    moments = paired_moments(
        evidence.predicted, evidence.predicted[0][twins], label, mode[0][twins] * most + charge,
        mode * SIZES + size, weight, groups, evidence.noise[0].mean(axis=0),
    )  # fmt: skip
    n = moments.mean.shape[1]
    moments.covariance[:, np.arange(n), np.arange(n)] += groups.sums(evidence.noise**2)
    log_weight = np.log(np.maximum(groups.total, 1e-300) / vehicles)
    return Bank(groups.owner, log_weight, moments.mean, moments.covariance, groups.member)


def fit(evidence: Evidence, bank: Bank, slopes: Slopes | None = None) -> Fit:
    """Weigh the readings under every hypothesis, allowing for one that is off, or up to two that are mistaken, and for
    a joint that is a little worse than the tables say, also beside one number that is off or mistaken.

    Parameters: `slopes`, what an ohm in each joint adds to the readings.
    Returns: the fit. With `e` the chance of a mistake and `a` its density, the same anywhere, `o` and `b` those of a
    number that is off (`FURTHER` times as wide as the others allow), ``g = 1 - e - o``, the likelihood of a stratum is
    ``g^n N(all) + sum_i (e a_i + o b_i) g^(n-1) N(without i) + sum_ij e^2 a_i a_j g^(n-2) N(without i and j)``, where
    some joint may be poor in the first two.
    """
    hypotheses, _, n = evidence.predicted.shape
    if n == 0:
        empty = np.zeros((hypotheses, 0))
        like = _by_owner(bank.log_weight, bank.owner, hypotheses)
        return Fit(like, empty, empty, bank.log_weight, empty, empty)
    precision = np.linalg.inv(bank.covariance)
    away = evidence.read - bank.mean
    pull = np.einsum("gij,gj->gi", precision, away)
    _, log_det = np.linalg.slogdet(bank.covariance)
    whole = -0.5 * (np.einsum("gi,gi->g", pull, away) + log_det + n * LOG_2PI)
    own = np.maximum(precision[:, np.arange(n), np.arange(n)], 1e-300)
    each = 0.5 * (np.log(own) - LOG_2PI - pull**2 / own)
    left_out = whole[:, None] - each
    anywhere = np.log(MISTAKEN / evidence.width / (1.0 - MISTAKEN - OFF))
    broad = np.logaddexp(anywhere, _off(own, pull))
    first, second = np.triu_indices(n, 1)
    two = whole[:, None] - _pair_density(precision, pull, first, second)
    pairs = two + anywhere[first] + anywhere[second]
    all_terms = np.concatenate([whole[:, None], left_out + broad, pairs], axis=1)
    gone = _left_out(left_out, two, anywhere, first, second)
    if slopes is not None and len(slopes.each):
        held = gone + bank.log_weight[:, None]
        near = (held - held.max(axis=0)).max(axis=1) > -HOPELESS
        ratios, without_one = log_ratios(slopes, precision, pull, near)
        poor = left_out + without_one
        gone = np.logaddexp(gone, poor)
        all_terms = np.concatenate([all_terms, whole[:, None] + ratios], axis=1)
        doubtful = np.argmax(poor + broad, axis=1)
        both = (poor + broad).max(axis=1) > all_terms.max(axis=1)
        beside = _beside(slopes, precision[both], pull[both], left_out[both], doubtful[both], anywhere)
        gone[both] = np.logaddexp(gone[both], beside)
        all_terms[:, 1 : n + 1] = np.logaddexp(left_out, poor) + broad
    peak = all_terms.max(axis=1, keepdims=True)
    parts = np.exp(all_terms - peak)
    sums = parts.sum(axis=1)
    stratum = bank.log_weight + n * np.log(1.0 - MISTAKEN - OFF) + peak[:, 0] + np.log(sums)
    of_pair = (first[:, None] == np.arange(n)) | (second[:, None] == np.arange(n))
    paired = parts[:, n + 1 : n + 1 + len(first)] @ of_pair.astype(float)
    doubt = (parts[:, 1 : n + 1] + paired) / sums[:, None]
    like = _by_owner(stratum, bank.owner, hypotheses)
    share = np.exp(stratum - like[bank.owner])
    wrong, expected, spread = (np.zeros((hypotheses, n)) for _ in range(3))
    np.add.at(wrong, bank.owner, share[:, None] * doubt)
    np.add.at(expected, bank.owner, share[:, None] * (evidence.read - pull / own))
    np.add.at(spread, bank.owner, share[:, None] / np.sqrt(own))
    gone += _weight_without(evidence, bank) + (n - 1) * np.log(1.0 - MISTAKEN - OFF)
    without = np.stack([_by_owner(gone[:, i], bank.owner, hypotheses) for i in range(n)], axis=1)
    return Fit(like, without, wrong, stratum, expected, spread)


def _beside(
    slopes: Slopes, precision: Array, pull: Array, left_out: Array, mistaken: NDArray[np.intp], anywhere: Array
) -> Array:
    """Return the log of the chance of the others with each number left out, some joint poor and one number mistaken,
    the same whichever is left out, (g, n).

    Parameters: `left_out` (g, n), all others good; `mistaken` (g,), the number; `anywhere` (n,), the log of the chance
    times the density of a mistake, over the chance of a good number.
    """
    rows = np.arange(len(precision))
    column, own = precision[rows, :, mistaken], precision[rows, mistaken, mistaken]
    precision = precision - column[:, :, None] * (column / own[:, None])[:, None, :]
    pull = pull - column * (pull[rows, mistaken] / own)[:, None]
    precision[rows, mistaken] = precision[rows, :, mistaken] = pull[rows, mistaken] = 0.0
    _, without = log_ratios(slopes, precision, pull, np.ones(len(rows), dtype=bool))
    left = np.maximum(np.einsum("gii->gi", precision), 1e-300)
    found = left_out[rows, mistaken, None] - 0.5 * (np.log(left) - LOG_2PI - pull**2 / left)
    found += without + anywhere[mistaken, None]
    found[rows, mistaken] = -np.inf
    return np.asarray(found)


def _left_out(left_out: Array, two: Array, anywhere: Array, first: NDArray[np.intp], second: NDArray[np.intp]) -> Array:
    """Return the log of the chance of the others with each number left out, one of them mistaken at most, (g, n).

    Parameters: `left_out` (g, n), all others good; `two` (g, pairs), both of a pair, `first` and `second`, left out.
    """
    strata, n = left_out.shape
    terms = np.empty((strata, n, n))
    terms[:, np.arange(n), np.arange(n)] = left_out
    terms[:, first, second] = two + anywhere[second]
    terms[:, second, first] = two + anywhere[first]
    peak = terms.max(axis=2)
    terms -= peak[:, :, None]
    return np.asarray(peak + np.log(np.exp(terms, out=terms).sum(axis=2)))


def _weight_without(evidence: Evidence, bank: Bank) -> Array:
    """Return the log of the weight of each stratum with one number left out, and with it that it was read as steady,
    shape (strata, numbers).
    """
    found = np.repeat(bank.log_weight[:, None], len(evidence.which), axis=1)
    member, words = bank.member.ravel(), evidence.words
    one = np.ones((*words.shape[:-1], 1))
    before = np.cumprod(np.concatenate([one, words[..., :-1]], axis=-1), axis=-1)
    after = np.cumprod(np.concatenate([one, words[..., :0:-1]], axis=-1), axis=-1)[..., ::-1]
    others = before * after
    for column, reading in enumerate(evidence.which):
        if reading in evidence.word_which:
            left = others[..., evidence.word_which.index(reading)].ravel()
            total = np.bincount(member, left, len(found))
            found[:, column] = np.log(np.maximum(total, 1e-300) / bank.member.shape[1])
    return found


def _off(own: Array, pull: Array) -> Array:
    """Return the log of the chance times the density of a number that is off, over the chance of a good one.

    Parameters: `own`, `pull` (strata, numbers), from the precision matrix.
    """
    spread = FURTHER / np.sqrt(own)
    chance = np.log(max(OFF, 1e-300) / (1.0 - MISTAKEN - OFF))
    return np.asarray(chance - 0.5 * (pull / own / spread) ** 2 - np.log(spread) - 0.5 * LOG_2PI)


def _pair_density(precision: Array, pull: Array, first: NDArray[np.intp], second: NDArray[np.intp]) -> Array:
    """Return the log-density of each two numbers given all the others, from the precision matrix."""
    a, b = precision[:, first, first], precision[:, second, second]
    c = precision[:, first, second]
    det = np.maximum(a * b - c * c, 1e-300)
    x, y = pull[:, first], pull[:, second]
    quadratic = (b * x * x - 2.0 * c * x * y + a * y * y) / det
    density: Array = 0.5 * (np.log(det) - 2.0 * LOG_2PI - quadratic)
    return density


def _by_owner(values: Array, owner: NDArray[np.intp], hypotheses: int) -> Array:
    """Return log(sum(exp(values))) over the strata of each hypothesis."""
    peak = np.full(hypotheses, -np.inf)
    np.maximum.at(peak, owner, values)
    sums = np.zeros(hypotheses)
    np.add.at(sums, owner, np.exp(values - peak[owner]))
    total: Array = peak + np.log(sums)
    return total
