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
from diagnose.inference.mixtures import Parts, number_information
from diagnose.inference.updating import Updating
from diagnose.model.reading import Take
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.sights import SOUND_WORD, Sights

__all__ = ["Words", "bits_of", "by_place", "information"]

#: chance that an outcome is a slip and may fall into any bin
SLIP = 0.02


class Words(NamedTuple):
    """What is needed to weigh words: `weights` (h, m) of vehicles, `belief` (h,), `places` (h,), and the sights."""

    weights: Array
    belief: Array
    places: NDArray[np.intp]
    sights: Sights


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


def bits_of(
    takes: Sequence[Take], predictor: Predictor, which: Sequence[int], parts: Parts, words: Words, updating: Updating
) -> list[float]:
    """Return what each test is expected to tell about the place at fault.

    Parameters: `which`, numbers of hypotheses; `parts`, their strata; `words`, what is needed for tests read as words;
    `updating` moves predictions by the readings so far.
    Returns: bits, in the order of the tests.
    """
    solved = [t for t in takes if t.quantity not in SOUND_WORD]
    predicted = dict(zip(solved, predictor.predict(solved, which, meter=False), strict=True))
    hypotheses = [predictor.hypotheses[n] for n in which]
    found = []
    for take in takes:
        one = predicted.get(take)
        if one is None:
            found.append(_word_bits(_sights(take, hypotheses, words.sights), words))
        elif one.words:
            found.append(
                _word_bits(np.stack([(words.weights * c).sum(axis=1) for c in one.words.values()], axis=1), words)
            )
        else:
            jump = one.hunts * np.abs(one.high - one.low)
            unsteady = HUNTING_SAYS * jump**2 / (jump**2 + JUMP**2)
            found.append(number_information(parts, updating.moved(one.high), one.noise, unsteady))
    return found


def _word_bits(chances: Array, words: Words) -> float:
    """Return the information of a word, some of whose uses are slips."""
    chances = chances / chances.sum(axis=1, keepdims=True)
    chances = (1.0 - SLIP) * chances + SLIP / chances.shape[1]
    return information(*by_place(chances, words.belief, words.places))


def _sights(take: Take, hypotheses: Sequence[Hypothesis], sights: Sights) -> Array:
    """Return chances of the words that eyes or hands may find: the sound one, and each that a rule speaks of."""
    words = sights.words(take.quantity)
    return np.array([[sights.chance(take.quantity, take.where[0], w, h) for w in words] for h in hypotheses])
