"""How much each test is expected to tell about which fault it is, in bits, over what is believed now.

The value of a test is the information between its outcome and the hypotheses that are still alive, per minute it takes.
A first glance at all tests picks those that are worked out; words are always worked out.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import HUNTING_SAYS
from diagnose.inference.mixtures import Parts, number_information
from diagnose.inference.updating import Updating
from diagnose.model.reading import Take
from diagnose.prediction.instruments import called_unsteady
from diagnose.prediction.sights import SOUND_WORD, Sights
from diagnose.prediction.table import Choosing

__all__ = ["After", "Words", "bits_of", "by_place", "information"]

#: chance that an outcome is a slip and may fall into any bin
SLIP = 0.02
#: numbers looked at closely, and bins to either side of the sound reading at the first glance
EXAMINED, BINS = 80, 25


class Words(NamedTuple):
    """What is needed to weigh words: `weights` (h, m) of vehicles, `belief` (h,), `places` (h,), and the sights."""

    weights: Array
    belief: Array
    places: NDArray[np.intp]
    sights: Sights


class After(NamedTuple):
    """How the readings so far move predictions, and what tests read with nothing wrong on the many vehicles that this
    is learnt from: `sound(takes)` has shape (takes, samples).
    """

    updating: Updating
    sound: Callable[[Sequence[Take]], Array]


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
    takes: Sequence[Take], table: Choosing, which: NDArray[np.intp], parts: Parts, words: Words,
    after: After, minutes: Sequence[float],
) -> dict[Take, float]:  # fmt: skip
    """Return what each test that is worth a closer look is expected to tell about the place at fault.

    Parameters: `which`, numbers of hypotheses; `parts`, their strata; `words`, what is needed for tests read as words;
    `after`, how the readings so far move predictions; `minutes` [min] of the tests.
    Returns: bits by test; those left out promise less a minute than the `EXAMINED` best at a first glance.
    """
    table.fill(which.tolist())
    hypotheses = [table.predictor.hypotheses[n] for n in which.tolist()]
    on: dict[str, list[int]] = {}
    for row, hypothesis in enumerate(hypotheses):
        if hypothesis.fault is not None:
            on.setdefault(hypothesis.fault.part, []).append(row)
    found = {}
    for take in takes:
        if take.quantity in SOUND_WORD:
            chances = words.sights.table(take.quantity, take.where[0], hypotheses, on)
            found[take] = _word_bits(chances, words)
    read = [t for t in takes if t.quantity not in SOUND_WORD]
    promising = _promising(read, table, which, words, after, dict(zip(takes, minutes, strict=True)))
    known = after.updating.known(after.sound(promising))
    for k, take in enumerate(promising):
        one = table.predicted(take, which)
        if one.words:
            chances = np.stack([(words.weights * c).sum(axis=1) for c in one.words.values()], axis=1)
            found[take] = _word_bits(chances, words)
        else:
            jump = one.hunts * np.abs(one.high - one.low)
            unsteady = HUNTING_SAYS * called_unsteady(jump)
            values = after.updating.beside(one.high, known.cross[k], words.weights, words.belief)
            found[take] = number_information(parts, values, one.noise, unsteady, known.mean[k], known.spread[k])
    return found


def _promising(
    takes: Sequence[Take], table: Choosing, which: NDArray[np.intp], words: Words, after: After,
    minutes: Mapping[Take, float],
) -> list[Take]:  # fmt: skip
    """Return the tests read as words, and of the others those that at a first glance tell most a minute.

    At a first glance each place reads the mean of its vehicles, moved by the readings so far, and places within a
    spread or two of each other read the same.
    """
    moments = table.moments(takes, which)
    level = table.levels(which)
    held = np.stack([(words.weights * (level == k)).sum(axis=1) for k in range(moments.mean.shape[2])], axis=1)
    mean = np.einsum("ths,hs->th", moments.mean, held.astype(np.float32)).astype(float)
    known = after.updating.known(after.sound([table.takes[k] for k in moments.which]))
    mean += known.cross @ after.updating.pull(words.weights).T
    spread = np.hypot(known.spread, moments.noise)
    count = int(words.places.max()) + 1
    share = np.bincount(words.places, words.belief, count)
    by_place = np.zeros((len(mean), count))
    for row, place in enumerate(words.places.tolist()):
        by_place[:, place] += mean[:, row] * words.belief[row] / max(share[place], 1e-300)
    away = (by_place - by_place @ share[:, None]) / (2.0 * spread[:, None])
    bins = np.clip(np.rint(away), -BINS, BINS).astype(int) + BINS
    mass = np.zeros((len(mean), 2 * BINS + 1))
    rows = np.arange(len(mean))
    for place in range(count):
        mass[rows, bins[:, place]] += share[place]
    with np.errstate(divide="ignore", invalid="ignore"):
        bits = -np.where(mass > 0, mass * np.log2(mass), 0.0).sum(axis=1)
    cost = np.array([minutes[table.takes[k]] for k in moments.which])
    best = moments.which[np.argsort(-bits / cost, kind="stable")[:EXAMINED]]
    chosen = {table.takes[k] for k in best}
    numbers = {table.takes[k] for k in moments.which}
    return [t for t in takes if t in chosen or t not in numbers]


def _word_bits(chances: Array, words: Words) -> float:
    """Return the information of a word, some of whose uses are slips."""
    chances = (1.0 - SLIP) * chances + SLIP / chances.shape[1]
    return information(*by_place(chances, words.belief, words.places))
