"""A sound joint a little worse than the tables say, against the same Gaussians written out by a general library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from diagnose.inference.poor_joints import (
    SHARE,
    SPREAD,
    WORSE,
    PoorJoints,
    Slopes,
    log_ratios,
    log_ratios_without,
    slopes_of,
)

N, JOINTS, STRATA = 4, 3, 5


def problem() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return slopes (j, n), covariances (g, n, n) and what the readings are away (g, n)."""
    chance = np.random.default_rng(7)
    roots = chance.normal(size=(STRATA, N, N)) * 0.05
    covariance = roots @ np.swapaxes(roots, 1, 2) + 0.01 * np.eye(N)
    return chance.normal(size=(JOINTS, N)) * 20.0, covariance, chance.normal(size=(STRATA, N)) * 0.2


def written_out(slope: np.ndarray, covariance: np.ndarray, away: np.ndarray, kept: list[int]) -> float:
    """Return the log of the chance of this joint times the ratio of the two normal densities of the readings kept."""
    at = np.ix_(kept, kept)
    moved = multivariate_normal(WORSE * slope[kept], (covariance + SPREAD**2 * np.outer(slope, slope))[at])
    plain = multivariate_normal(np.zeros(len(kept)), covariance[at])
    return float(moved.logpdf(away[kept]) - plain.logpdf(away[kept]) + np.log(SHARE / JOINTS / (1.0 - SHARE)))


def test_the_ratio_is_that_of_two_normal_densities() -> None:
    # Source: general multivariate normal density (scipy); tolerance 1e-9
    slopes, covariance, away = problem()
    precision = np.linalg.inv(covariance)
    found = log_ratios(Slopes(slopes, JOINTS), precision, np.einsum("gij,gj->gi", precision, away))
    for g in range(STRATA):
        for j in range(JOINTS):
            exact = written_out(slopes[j], covariance[g], away[g], list(range(N)))
            assert found[g, j] == pytest.approx(exact, abs=1e-9)


def test_leaving_a_number_out_is_the_ratio_without_it() -> None:
    # Source: general multivariate normal density (scipy); tolerance 1e-8
    slopes, covariance, away = problem()
    precision = np.linalg.inv(covariance)
    found = log_ratios_without(Slopes(slopes, JOINTS), precision, np.einsum("gij,gj->gi", precision, away))
    for g in range(STRATA):
        for gone in range(N):
            kept = [k for k in range(N) if k != gone]
            each = [written_out(slopes[j], covariance[g], away[g], kept) for j in range(JOINTS)]
            assert found[g, gone] == pytest.approx(np.logaddexp.reduce(each), abs=1e-8)


def test_slopes_are_learnt_from_the_smallest_faults() -> None:
    """A joint whose effect bends for large sizes: its slope is that at the small ones."""
    size = np.geomspace(0.01, 3.0, 96)
    sound = np.full((96, 1), 0.1)
    predicted = np.stack([sound, sound + (10.0 * size / (1.0 + size))[:, None]])
    twins = np.tile(np.arange(96), (2, 1))
    slopes = slopes_of(PoorJoints(np.array([1]), size), predicted, np.full(predicted.shape, 0.001), twins)
    assert slopes.each[0, 0] == pytest.approx(10.0, rel=0.03)


def test_a_joint_that_no_reading_shows_is_left_out() -> None:
    size = np.geomspace(0.01, 3.0, 96)
    predicted = np.full((2, 96, 1), 0.1)
    twins = np.tile(np.arange(96), (2, 1))
    slopes = slopes_of(PoorJoints(np.array([1]), size), predicted, np.full(predicted.shape, 0.001), twins)
    assert slopes.each.shape == (0, 1)
    assert slopes.of == 1


@pytest.mark.parametrize(("noise", "shown"), [(0.01, 1), (0.1, 0)])
def test_a_joint_is_left_out_where_some_milliohms_of_it_are_lost_in_the_noise(noise: float, shown: int) -> None:
    """Ten volts an ohm are 0.035 V for a joint as poor as they come: above 0.3 of 0.01 V, not of 0.12 V and more."""
    size = np.geomspace(0.01, 3.0, 96)
    sound = np.full((96, 1), 0.1)
    predicted = np.stack([sound, sound + 10.0 * size[:, None]])
    twins = np.tile(np.arange(96), (2, 1))
    slopes = slopes_of(PoorJoints(np.array([1]), size), predicted, np.full(predicted.shape, 1.2 * noise), twins)
    assert len(slopes.each) == shown
