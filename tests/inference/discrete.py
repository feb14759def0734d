"""Discrete problems put to the engine's own update: words alone, on one vehicle, whose chances are known."""

from __future__ import annotations

import numpy as np

from diagnose.inference.evidence import Evidence
from diagnose.inference.posterior import Belief, believe

NONE = np.zeros((0,))


def words_only(chances: np.ndarray) -> Evidence:
    """Return evidence of words: `chances` (h, words) of each word found."""
    h, count = chances.shape
    empty = np.zeros((h, 1, 0))
    return Evidence((), NONE, empty, empty, NONE, tuple(range(count)), chances[:, None, :], np.zeros((h, 1)))


def after_words(prior: np.ndarray, chances: np.ndarray) -> Belief:
    """Return the engine's belief after words; what `prior` lacks to 1 is an unlisted cause."""
    while prior.sum() > 1.0:  # by rounding
        prior = prior * (1.0 - 2.0**-53)
    return believe(prior, words_only(chances), np.zeros((len(prior), 1), dtype=np.intp))


def chance_of_words(belief: Belief) -> float:
    """Return the chance of all words found, over the hypotheses."""
    return float(belief.prior @ np.exp(belief.fit.log_likelihood))
