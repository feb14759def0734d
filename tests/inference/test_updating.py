"""Vehicles moved by the readings keep the spread that is left, as the law of Gaussians has it."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.evidence import Evidence
from diagnose.inference.updating import Updating

VEHICLES = 240


@pytest.mark.parametrize("readings", [1, 2, 4])
def test_the_spread_left_after_readings_of_one_source_is_that_of_the_law(readings: int) -> None:
    """1 / var = 1 / before + readings / noise^2 where each reading has a noise of its own."""
    source = 14.0 + 0.3 * np.linspace(-1.0, 1.0, VEHICLES)
    noise = 0.1
    predicted = np.repeat(source[None, :, None], readings, axis=2)
    evidence = Evidence(
        tuple(range(readings)), np.full(readings, 14.05), predicted, np.full(predicted.shape, noise),
        np.full(readings, 16.0), (), np.ones((1, VEHICLES, 0)), np.zeros((1, VEHICLES)),
    )  # fmt: skip
    used = np.repeat(source[None], readings, axis=0)
    updating = Updating(evidence, np.zeros((1, readings)), np.array([0]), VEHICLES, range(readings), used)
    known = updating.known(source[None])
    left = 1.0 / np.sqrt(1.0 / source.var() + readings / noise**2)
    assert known.spread[0] == pytest.approx(left, rel=1e-3)
    # never wider: what one reading errs by is not what the next errs by (drawn evenly, they err apart, not at random)
    moved = float(updating.moved(source[None], known.cross[0]).std())
    assert moved <= 1.1 * left
    if readings == 1:
        assert moved == pytest.approx(left, rel=0.1)


@pytest.mark.parametrize("doubted", [0, 1])
def test_a_reading_taken_for_a_mistake_moves_nothing_under_the_hypothesis_that_doubts_it(doubted: int) -> None:
    source = 14.0 + 0.3 * np.linspace(-1.0, 1.0, VEHICLES)
    predicted = np.stack([source, source - 0.2])[:, :, None]
    evidence = Evidence((0,), np.array([14.4]), predicted, np.full(predicted.shape, 0.01), np.array([16.0]), (),
                        np.ones((2, VEHICLES, 0)), np.zeros((2, VEHICLES)))  # fmt: skip
    doubt = np.zeros((2, 1))
    doubt[doubted] = 1.0
    updating = Updating(evidence, doubt, np.array([0, 1]), VEHICLES, [0], source[None])
    known = updating.known(source[None])
    moved = updating.moved(predicted[:, :, 0], known.cross[0])
    assert np.array_equal(moved[doubted], predicted[doubted, :, 0])
    assert moved[1 - doubted].mean() == pytest.approx(14.4, abs=0.05)
    assert known.mean[0] == pytest.approx(14.0 if doubted == 0 else 14.4, abs=0.01)
