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


def many(seed: int, readings: int, samples: int) -> np.ndarray:
    """Return readings (readings, samples) of nothing in common."""
    return np.random.Generator(np.random.PCG64(seed)).normal(12.0, 0.3, (readings, samples))


def evidence_of(predicted: np.ndarray, read: np.ndarray) -> Evidence:
    """Return evidence of numbers (hypotheses, vehicles, readings)."""
    h, m, n = predicted.shape
    return Evidence(tuple(range(n)), read, predicted, np.full(predicted.shape, 0.01), np.full(n, 16.0), (),
                    np.ones((h, m, 0)), np.zeros((h, m)))  # fmt: skip


@pytest.mark.parametrize("readings", [5, 30])
def test_readings_that_have_nothing_in_common_with_a_test_foretell_nothing_of_it(readings: int) -> None:
    """Among 384 samples thirty readings seem to foretell any test, by chance alone."""
    everything = many(3, readings + 20, 384)
    used, tests = everything[:readings], everything[readings:]
    predicted = used[:, :24].T[None]
    updating = Updating(evidence_of(predicted, np.full(readings, 12.5)), np.zeros((1, readings)), np.array([0]), 24,
                        range(readings), used)  # fmt: skip
    known = updating.known(tests)
    away = np.abs(known.mean - tests.mean(axis=1)) / tests.std(axis=1)
    assert np.median(away) < 0.01
    assert known.spread == pytest.approx(tests.std(axis=1), rel=0.05)


@pytest.mark.parametrize("read", [12.0, 16.0, -40.0])
def test_a_fault_that_changes_neither_readings_nor_test_reads_as_a_sound_vehicle(read: float) -> None:
    """However far the readings are from what either predicts, and whichever vehicles each is weighed by."""
    used = many(5, 12, 24)
    predicted = np.stack([used.T, used.T])
    updating = Updating(evidence_of(predicted, np.full(12, read)), np.zeros((2, 12)), np.array([0, 1]), 24, range(12),
                        used)  # fmt: skip
    values = np.stack([used[0], used[0]]) + 0.1
    weights = np.stack([np.full(24, 1 / 24), np.eye(24)[3]])
    cross = updating.known(values[:1]).cross[0]
    assert np.abs(cross).max() > 0.2
    found = updating.beside(values, cross, weights, np.array([0.5, 0.5]))
    assert np.array_equal(found[0], found[1])


def test_a_fault_is_moved_beside_a_sound_vehicle_by_what_the_readings_say_of_it() -> None:
    """The reading is where the fault has it; the test, of the same source, is then known under either."""
    source = 14.0 + 0.3 * np.linspace(-1.0, 1.0, VEHICLES)
    predicted = np.stack([source, source - 0.5])[:, :, None]
    updating = Updating(evidence_of(predicted, np.array([13.6])), np.zeros((2, 1)), np.array([0, 1]), VEHICLES, [0],
                        source[None])  # fmt: skip
    known, weights = updating.known(source[None]), np.full((2, VEHICLES), 1 / VEHICLES)
    for belief in (0.5, 0.0):
        found = updating.beside(predicted[:, :, 0], known.cross[0], weights, np.array([belief, 1.0 - belief]))
        assert found[1].mean() == pytest.approx(13.6, abs=0.01)
        assert found[1].std() < 0.02
    # out of the question, nothing wrong is moved as the others are
    assert found[0].mean() == pytest.approx(14.1, abs=0.01)
