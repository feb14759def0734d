"""What the other readings call for: with one number, or numbers that hang together in two, written out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.bank import build_bank, fit
from diagnose.inference.evidence import Evidence


def evidence(predicted: np.ndarray, *read: float) -> Evidence:
    """Return numbers read, with what one hypothesis predicts, shape (vehicles, numbers)."""
    vehicles, n = predicted.shape
    return Evidence(tuple(range(n)), np.array(read), predicted[None], np.full((1, vehicles, n), 0.02), np.full(n, 16.0),
                    (), np.zeros((1, vehicles, 0)), np.zeros((1, vehicles)))  # fmt: skip


def test_one_number_alone_is_called_for_by_the_vehicles() -> None:
    predicted = 12.5 + 0.1 * np.random.default_rng(4).normal(size=(40, 1))
    told = evidence(predicted, 12.6)
    bank = build_bank(told, np.zeros((1, 40), dtype=np.intp))
    found = fit(told, bank)
    assert found.expected[0, 0] == pytest.approx(bank.mean[0, 0], abs=1e-9)
    assert found.spread[0, 0] == pytest.approx(bank.covariance[0, 0, 0] ** 0.5, rel=1e-9)


def test_of_two_numbers_each_is_called_for_by_the_other() -> None:
    # Source: conditional mean and variance of a normal distribution of two numbers (a textbook formula, from memory)
    chance = np.random.default_rng(5).normal(size=(60, 2))
    predicted = 12.5 + 0.3 * chance[:, :1] + 0.05 * chance
    told = evidence(predicted, 12.7, 12.65)
    bank = build_bank(told, np.zeros((1, 60), dtype=np.intp))
    found = fit(told, bank)
    mean, covariance = bank.mean[0], bank.covariance[0]
    for one, other in ((0, 1), (1, 0)):
        slope = covariance[one, other] / covariance[other, other]
        wanted = mean[one] + slope * (told.read[other] - mean[other])
        variance = covariance[one, one] - slope * covariance[one, other]
        assert found.expected[0, one] == pytest.approx(wanted, abs=1e-9)
        assert found.spread[0, one] == pytest.approx(variance**0.5, rel=1e-9)
