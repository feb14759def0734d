"""Of very many tests, those that are worth a place in the table: a first glance by means, before any chance is worked
out.

A test is kept if it tells much at a first glance, or if it is the best there is for one place.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take
from diagnose.prediction.instruments import noise
from diagnose.prediction.predictor import Predictor, by_condition
from diagnose.prediction.sights import SOUND_WORD
from diagnose.scripts.mixing import Mixed

__all__ = ["sifted"]

#: tests that are kept for what they tell at a first glance; from how many tests on any are left out
KEPT, MANY = 60, 150
#: spreads from which on a place is told from a sound vehicle, and bins to either side of it
APART, BINS = 2.0, 8


def sifted(takes: Sequence[Take], predictor: Predictor | Mixed, prior: Array) -> tuple[Take, ...]:
    """Return the tests worth a place in the table, in their order.

    Parameters: `prior` (hypotheses,), in the order of the predictor.
    """
    if len(takes) <= MANY:
        return tuple(takes)
    numbers = [t for t in takes if t.quantity not in SOUND_WORD]
    names = np.unique([h.place for h in predictor.hypotheses], return_inverse=True)[1].reshape(-1)
    away = np.zeros((len(numbers), int(names.max()) + 1))
    every, at = range(len(predictor.hypotheses)), {take: row for row, take in enumerate(numbers)}
    for fitted, group in by_condition(numbers).items():
        # without the meter's own current: near enough for a glance at very many tests
        for take, one in zip(group, predictor.read(fitted, group, every, meter=False), strict=True):
            sound = one.high[0]
            spread = float(sound.std()) + float(noise(take.quantity, sound, predictor.tables).mean()) + 1e-9
            share = np.clip((one.high - sound).mean(axis=1) / spread, -1e3, 1e3)
            away[at[take]] = np.bincount(names, prior * share) / np.maximum(np.bincount(names, prior), 1e-300)
        predictor.forget(fitted)
    keep = set(np.argsort(-_first_glance(away, np.bincount(names, prior)), kind="stable")[:KEPT].tolist())
    keep |= set(np.argmax(np.abs(away), axis=0).tolist())
    chosen = {numbers[row] for row in keep}
    return tuple(t for t in takes if t in chosen or t.quantity in SOUND_WORD)


def _first_glance(away: Array, held: Array) -> Array:
    """Return the information of tests if each place read its mean [bit].

    Parameters: `away` (tests, places), in spreads; `held` (places,), belief.
    """
    bins: NDArray[np.intp] = np.clip(np.rint(away / APART), -BINS, BINS).astype(np.intp) + BINS
    mass = np.zeros((len(away), 2 * BINS + 1))
    rows = np.arange(len(away))
    for place in range(away.shape[1]):
        mass[rows, bins[:, place]] += held[place]
    mass /= mass.sum(axis=1, keepdims=True)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(-np.where(mass > 0.0, mass * np.log2(mass), 0.0).sum(axis=1))
