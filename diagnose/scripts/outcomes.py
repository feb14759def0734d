"""How likely each answer to each permitted test is, on every possible vehicle with every fault: the one table that a
whole script is grown on.

A possible vehicle with one fault is a `grain`; answers are independent given the grain, so that a belief after any
answers is a product. Numbers are sorted into narrow bins, of which bands are made later. Nothing is chosen here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.evidence import HUNTING_SAYS
from diagnose.model.reading import Take
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.instruments import called_unsteady
from diagnose.prediction.predictor import Predicted, Predicting
from diagnose.prediction.sights import SOUND_WORD, Sights

__all__ = ["Grains", "Outcomes", "grains_of", "lacking_in", "outcomes_of", "told_of"]

#: edges of bins: so many at even shares of what is predicted, so many in the widest gaps
EVEN, GAPS = 9, 4
#: where a hunting reading is caught between its two ends
CAUGHT = (0.1, 0.5, 0.9)
#: chance of a word of danger that no rule speaks of at such a part
STRAY = 0.002
#: chance that a steady number is called unsteady
STEADY_SAYS = 0.01


class Grains(NamedTuple):
    """All grains in one row, those of one unit side by side; a unit is a place with what is done for it.

    `hypotheses` in that order, `rows` their numbers elsewhere; `vehicles` of each; `starts` (units,), the first
    grain of each unit; `units` (hypotheses,), the number of each one's unit; `acts` (units,), the number of what is
    done, rising; `before` (grains,), belief before any answer; `unlisted` before.
    """

    hypotheses: tuple[Hypothesis, ...]
    rows: tuple[int, ...]
    vehicles: int
    starts: NDArray[np.intp]
    units: NDArray[np.intp]
    acts: NDArray[np.intp]
    before: Array
    unlisted: float

    def by_hypothesis(self, weights: Array) -> Array:
        """Return weights (grains,) summed by hypothesis."""
        return np.asarray(weights.reshape(-1, self.vehicles).sum(axis=1))


class Outcomes(NamedTuple):
    """The answers of one test: bins between `edges` first, then `words`; `chance` (answers, grains), columns sum to 1.

    `lacks` (grains,): whether there is nothing to take it at; None where all have it.
    """

    take: Take
    edges: tuple[float, ...]
    words: tuple[str, ...]
    chance: NDArray[np.float32]
    lacks: NDArray[np.bool_] | None = None

    @property
    def bins(self) -> int:
        """How many bins a number may fall into."""
        return len(self.edges) + 1 if "unsteady" in self.words else 0


def grains_of(
    hypotheses: Sequence[Hypothesis], acts: Sequence[str], prior: Array, shares: Array, mix: Array
) -> Grains:
    """Sort hypotheses by what is done for them, then by place, and share the belief in all among their vehicles.

    Parameters: `acts`, what is done for each, an empty word for the first, that nothing is wrong; `prior`
    (hypotheses,), summing to less than 1; `shares` (hypotheses, vehicles), how much each vehicle counts beside the
    others of all hypotheses but the first, which keeps its belief; `mix` (hypotheses, vehicles), how much beside those
    of the same hypothesis, 1 on average.
    """
    count = shares.shape[1]
    names = [(act, h.place) for act, h in zip(acts, hypotheses, strict=True)]
    order = sorted(range(len(hypotheses)), key=lambda n: (names[n], n))
    known = sorted(set(names))
    units = np.array([known.index(names[n]) for n in order], dtype=np.intp)
    starts = np.flatnonzero(np.diff(np.concatenate([[-1], units]))) * count
    different = sorted({act for act, _ in known})
    done = np.array([different.index(act) for act, _ in known], dtype=np.intp)
    counted = prior[:, None] * shares * mix / count
    counted[1:] *= prior[1:].sum() / max(float(counted[1:].sum()), 1e-300)
    counted[0] = prior[0] * mix[0] / count
    before = counted[order].reshape(-1)
    ordered = tuple(hypotheses[n] for n in order)
    return Grains(ordered, tuple(order), count, starts, units, done, before, 1.0 - float(prior.sum()))


def outcomes_of(
    takes: Sequence[Take], grains: Grains, predictor: Predicting, sights: Sights,
    labels: Mapping[Take, tuple[str, ...]], steps: Mapping[str, float], mistaken: float,
) -> list[Outcomes]:  # fmt: skip
    """Return the chances of all answers of tests.

    Parameters: `predictor`, of the same hypotheses in its own order; `labels`, the words a person can answer a test
    with (of a test that is not there: all); `steps`, by quantity, the step at which bands may be cut; `mistaken`, the
    share of wrong answers.
    Returns: outcomes in the order of the tests.
    """
    rows = list(grains.rows)
    numbers = [t for t in takes if t.quantity not in SOUND_WORD]
    predicted = dict(zip(numbers, predictor.predict(numbers), strict=True))
    on: dict[str, list[int]] = {}
    for row, hypothesis in enumerate(grains.hypotheses):
        if hypothesis.fault is not None:
            on.setdefault(hypothesis.fault.part, []).append(row)
    found = []
    for take in takes:
        if take.quantity in SOUND_WORD:
            words = tuple(sights.words(take.quantity, take.where[0]))
            seen = sights.table(take.quantity, take.where[0], grains.hypotheses, on)
            # a word that no rule knows at such a part may be said all the same
            stray = tuple(w for w in labels.get(take, ()) if w not in words)
            seen = np.concatenate([seen, np.full((len(seen), len(stray)), STRAY)], axis=1)
            found.append(_worded(take, words + stray, np.repeat(seen, grains.vehicles, axis=0).T, labels, mistaken))
        elif predicted[take].words is not None:
            chosen = predicted[take].words or {}
            chances = np.stack([c[rows].reshape(-1) for c in chosen.values()])
            found.append(_worded(take, tuple(chosen), chances, labels, mistaken))
        else:
            found.append(_numbered(take, predicted[take], rows, grains, steps.get(take.quantity, 0.0), mistaken))
    return found


def lacking_in(one: Outcomes, lacks: NDArray[np.bool_], hypotheses: int) -> Outcomes:
    """Return outcomes for vehicles (vehicles,) of which some lack what the test is about: any answer of theirs is as
    likely as another.
    """
    if not lacks.any():
        return one
    own = np.tile(lacks, hypotheses)
    return one._replace(chance=np.where(own, np.float32(1.0 / len(one.chance)), one.chance), lacks=own)


def told_of(
    take: Take, words: tuple[str, ...], said: NDArray[np.intp], hypotheses: int, mistaken: float
) -> Outcomes:
    """Return outcomes of a question whose answer is the same whatever is wrong.

    Parameters: `said` (vehicles,), the number of the word that is true of each.
    """
    true = np.tile(np.arange(len(words))[:, None] == said, hypotheses)
    return Outcomes(take, (), words, ((1.0 - mistaken) * true + mistaken / len(words)).astype(np.float32))


def _worded(
    take: Take, words: tuple[str, ...], chances: Array, labels: Mapping[Take, tuple[str, ...]], mistaken: float
) -> Outcomes:
    """Return outcomes of words; what a person cannot name is not answered, and says nothing."""
    own = labels.get(take, words)
    kept = [n for n, word in enumerate(words) if word in own]
    chances = np.maximum(chances[kept], 1e-6)
    chances = chances / chances.sum(axis=0)
    mixed = (1.0 - mistaken) * chances + mistaken / len(kept)
    return Outcomes(take, (), tuple(words[n] for n in kept), mixed.astype(np.float32))


def _numbered(
    take: Take, one: Predicted, rows: list[int], grains: Grains, step: float, mistaken: float
) -> Outcomes:
    """Return outcomes of a number: bins, and the word that it is unsteady."""
    high, low, hunts = (a[rows].reshape(-1) for a in (one.high, one.low, one.hunts))
    noise = np.maximum(one.noise[rows].reshape(-1), 1e-6)
    edges = _edges(np.concatenate([high, low]), np.tile(grains.before, 2), float(np.median(noise)), step)
    below = np.zeros((len(edges), len(high)))
    for share in CAUGHT:
        value = high + hunts * share * (low - high)
        below += _normal((np.array(edges)[:, None] - value) / noise) / len(CAUGHT)
    says = STEADY_SAYS + (HUNTING_SAYS - STEADY_SAYS) * called_unsteady(hunts * np.abs(high - low))
    inside = np.diff(np.concatenate([np.zeros((1, len(high))), below, np.ones((1, len(high)))]), axis=0)
    chances = np.concatenate([inside * (1.0 - says), says[None]])
    mixed = (1.0 - mistaken) * chances + mistaken / len(chances)
    return Outcomes(take, tuple(edges), ("unsteady",), mixed.astype(np.float32))


def _edges(values: Array, weights: Array, noise: float, step: float) -> list[float]:
    """Return edges at even shares of belief and of grains, and in the widest gaps, at whole steps."""
    order = np.argsort(values)
    ordered, share = values[order], np.cumsum(weights[order] + weights.mean())
    at = np.searchsorted(share, share[-1] * (np.arange(EVEN) + 0.5) / EVEN)
    found = ordered[np.minimum(at, len(ordered) - 1)].tolist()
    widest = np.argsort(-np.diff(ordered))[:GAPS]
    found += (0.5 * (ordered[widest] + ordered[widest + 1])).tolist()
    spread = float(ordered[-1] - ordered[0])
    size = step if step and spread > 10.0 * step else 10.0 ** np.floor(np.log10(max(spread, 1e-3) / 5.0))
    size = max(size, 10.0 ** np.floor(np.log10(max(noise, 1e-4))))
    return sorted({round(round(v / size) * size, 6) + 0.0 for v in found})


def _normal(z: Array) -> Array:
    """Return the normal distribution function, to 2e-4."""
    return np.asarray(1.0 / (1.0 + np.exp(-np.clip(z * (1.5976 + 0.070566 * z * z), -60.0, 60.0))))
