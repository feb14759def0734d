"""How much each test is expected to tell about which fault it is, in bits, over what is believed now.

The value of a test is the information between its outcome and the hypotheses that are still alive, per minute it takes.
Outcomes are sorted into bins that are equally likely beforehand; words are their own bins.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import HUNTING_SAYS, JUMP
from diagnose.model.reading import Take
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights

__all__ = ["Outcomes", "by_place", "information", "outcomes_of"]

BINS = 16
#: chance that an outcome is a slip and may fall into any bin
SLIP = 0.02


class Outcomes(NamedTuple):
    """What a test may show: chances of each outcome by hypothesis, shape (h, outcomes)."""

    take: Take
    chances: Array


def information(chances: Array, belief: Array) -> float:
    """Return the information between outcome and hypothesis.

    Parameters: `chances` (h, outcomes), rows summing to 1; `belief` (h,), summing to 1.
    Returns: bits.

    >>> round(information(np.array([[1.0, 0.0], [0.0, 1.0]]), np.array([0.5, 0.5])), 6)
    1.0
    """
    overall = belief @ chances
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = np.where(chances > 0, chances * np.log2(chances / overall), 0.0)
    return float(belief @ gain.sum(axis=1))


def by_place(chances: Array, belief: Array, places: NDArray[np.intp]) -> tuple[Array, Array]:
    """Return chances of outcomes and belief by place instead of by hypothesis: faults of one place call for one repair.

    Parameters: `chances` (h, outcomes); `belief` (h,); `places` (h,), the number of each hypothesis's place.
    """
    held = np.bincount(places, belief)
    joint = np.zeros((len(held), chances.shape[1]))
    np.add.at(joint, places, belief[:, None] * chances)
    return joint / np.maximum(held, 1e-300)[:, None], held


def outcomes_of(
    takes: Sequence[Take], predictor: Predictor, which: Sequence[int], weights: Array, belief: Array, sights: Sights
) -> list[Outcomes]:
    """Return the outcomes of several tests under the hypotheses of the given numbers.

    Parameters: `weights` (h, m), how much each vehicle counts; `belief` (h,), summing to 1.
    """
    solved = [t for t in takes if t.quantity not in SOUND_WORD]
    predicted = dict(zip(solved, predictor.predict(solved, which, meter=False), strict=True))
    hypotheses = [predictor.hypotheses[n] for n in which]
    found = []
    for take in takes:
        if take.quantity in SOUND_WORD:
            chances = _sights(take, hypotheses, sights)
        elif words := predicted[take].words:
            chances = np.stack([(weights * c).sum(axis=1) for c in words.values()], axis=1)
        else:
            chances = _binned(predicted[take], weights, belief)
        chances = chances / chances.sum(axis=1, keepdims=True)
        found.append(Outcomes(take, (1.0 - SLIP) * chances + SLIP / chances.shape[1]))
    return found


def _binned(predicted: Predicted, weights: Array, belief: Array) -> Array:
    """Return chances of a number's bins, and of `unsteady` as the last one."""
    jump = predicted.hunts * np.abs(predicted.high - predicted.low)
    unsteady = HUNTING_SAYS * jump**2 / (jump**2 + JUMP**2)
    count = weights.shape[1]
    spread = np.modf(np.arange(count) * 0.6180339887498949)[0]
    wander = 2.4 * (spread - 0.5)
    values = predicted.high + wander * np.sqrt(2.0) * predicted.noise
    mass = (weights * (1.0 - unsteady)) * belief[:, None]
    order = np.argsort(values, axis=None)
    cumulative = np.cumsum(mass.ravel()[order])
    total = cumulative[-1]
    if total <= 0.0:
        return np.ones((len(belief), 1))
    picks = np.searchsorted(cumulative, np.arange(1, BINS) / BINS * total)
    edges = values.ravel()[order][np.minimum(picks, values.size - 1)]
    bins = np.searchsorted(edges, values)
    chances = np.zeros((len(belief), BINS + 1))
    rows = np.repeat(np.arange(len(belief)), count)
    np.add.at(chances, (rows, bins.ravel()), (weights * (1.0 - unsteady)).ravel())
    chances[:, BINS] = (weights * unsteady).sum(axis=1)
    return chances


def _sights(take: Take, hypotheses: Sequence[Hypothesis], sights: Sights) -> Array:
    """Return chances of the words that eyes or hands may find: the sound one, and each that a rule speaks of."""
    words = sights.words(take.quantity)
    return np.array([[sights.chance(take.quantity, take.where[0], w, h) for w in words] for h in hypotheses])
