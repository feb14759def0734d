"""The likelihood of an unlisted cause against densities of a general library, on problems small enough to write out."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from scipy.stats import laplace, norm

from diagnose.inference.bank import build_bank
from diagnose.inference.evidence import Evidence
from diagnose.inference.unlisted import MOVED, NEAR, STRANGE_WORD, log_likelihood_unlisted


def evidence(*read: float, words: tuple[float, ...] = ()) -> Evidence:
    """Return numbers on sound vehicles that scatter, and the chances of words that were found."""
    chance, n = np.random.default_rng(4), len(read)
    predicted = 12.5 + np.arange(n) + 0.1 * chance.normal(size=(1, 40, n))
    chances = np.broadcast_to(np.array(words), (1, 40, len(words)))
    return Evidence(tuple(range(n)), np.array(read), predicted, np.full((1, 40, n), 0.02), np.full(n, 16.0),
                    tuple(range(n, n + len(words))), chances, np.zeros((1, 40)))  # fmt: skip


STRATA = np.zeros((1, 40), dtype=np.intp)


@pytest.mark.parametrize("read", [12.5, 12.8, 13.4, 9.0])
def test_one_number_is_sound_or_moved(read: float) -> None:
    # Source: scipy, densities of the normal and of Laplace
    told = evidence(read)
    bank = build_bank(told, STRATA)
    mean, deviation = bank.mean[0, 0], bank.covariance[0, 0, 0] ** 0.5
    near, anywhere = laplace.pdf(read, mean, NEAR * 16.0), 1.0 / 16.0
    density = (1.0 - MOVED) * norm.pdf(read, mean, deviation) + MOVED * 0.5 * (near + anywhere)
    assert log_likelihood_unlisted(told, bank) == pytest.approx(log(density), abs=1e-9)


def test_a_word_is_the_usual_one_or_strange() -> None:
    without = evidence(12.6)
    told = evidence(12.6, words=(0.9, 0.2))
    found = log_likelihood_unlisted(told, build_bank(told, STRATA))
    found -= log_likelihood_unlisted(without, build_bank(without, STRATA))
    mixed = [(1.0 - MOVED) * usual + MOVED * STRANGE_WORD for usual in (0.9, 0.2)]
    assert found == pytest.approx(log(mixed[0]) + log(mixed[1]), abs=1e-9)


def test_a_number_far_off_leaves_the_next_as_it_was() -> None:
    alone, far = evidence(12.55), evidence(12.55, 6.0)
    moved = MOVED * 0.5 * (laplace.pdf(6.0, build_bank(far, STRATA).mean[0, 1], NEAR * 16.0) + 1.0 / 16.0)
    one = log_likelihood_unlisted(alone, build_bank(alone, STRATA))
    both = log_likelihood_unlisted(far, build_bank(far, STRATA))
    assert both - one == pytest.approx(log(moved), abs=0.35), "the draws of the first differ a little"
