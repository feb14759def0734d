"""Moments measured from sound twins: what a fault leaves alone keeps its moments, what it changes has those sampled."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.moments import grouped, paired_moments

VEHICLES, MANY = 96, 20_000


def sound(vehicles: int, seed: int) -> np.ndarray:
    """Return two readings of a shared source and one of its own, (vehicles, 3)."""
    chance = np.random.default_rng(seed)
    source = chance.normal(14.2, 0.2, vehicles)
    return np.stack([source, source - chance.normal(0.1, 0.02, vehicles), chance.normal(5.0, 1.0, vehicles)], axis=1)


def zeros(hypotheses: int, vehicles: int) -> np.ndarray:
    return np.zeros((hypotheses, vehicles), dtype=np.intp)


def test_groups_are_numbered_within_each_hypothesis_and_shares_sum_to_one() -> None:
    label = np.array([[7, 7, 2], [5, 5, 5]])
    found = grouped(label, np.array([[1.0, 3.0, 2.0], [1.0, 1.0, 2.0]]))
    assert found.member.tolist() == [[1, 1, 0], [0, 0, 0]]
    assert found.share[0].tolist() == [[0.0, 0.0, 1.0], [0.25, 0.75, 0.0]]
    assert found.size[0].tolist() == pytest.approx([1.0, 1.6])
    assert found.total.tolist() == [[2.0, 4.0], [4.0, 0.0]]


def test_a_fault_that_changes_nothing_has_the_moments_of_a_sound_vehicle_in_every_stratum() -> None:
    twin = np.stack([sound(VEHICLES, 1)] * 2)
    sizes = np.stack([np.zeros(VEHICLES), np.arange(VEHICLES) * 4 // VEHICLES]).astype(np.intp)
    found = paired_moments(twin, twin, sizes, zeros(2, VEHICLES), sizes, np.ones((2, VEHICLES)))
    for stratum in range(4):
        assert found.mean[1, stratum] == pytest.approx(found.mean[0, 0], rel=1e-12)
        assert found.covariance[1, stratum] == pytest.approx(found.covariance[0, 0], rel=1e-9)


def test_moments_of_few_vehicles_are_those_of_many_where_the_change_is_plain() -> None:
    """The second reading loses a volt and follows the source by half; its moments are known from the law."""
    found = []
    for seed in range(20):
        twin = sound(VEHICLES, seed)
        changed = twin.copy()
        changed[:, 1] -= 1.0 + 0.5 * (twin[:, 0] - 14.2)
        values = np.stack([twin, changed])
        found.append(paired_moments(values, np.stack([twin, twin]), zeros(2, VEHICLES), zeros(2, VEHICLES),
                                    zeros(2, VEHICLES), np.ones((2, VEHICLES))))  # fmt: skip
    mean = np.mean([one.mean[1, 0] for one in found], axis=0)
    covariance = np.mean([one.covariance[1, 0] for one in found], axis=0)
    many = sound(MANY, 99)
    many[:, 1] -= 1.0 + 0.5 * (many[:, 0] - 14.2)
    # Source: own sampling of the law that the vehicles were made by
    assert mean == pytest.approx(many.mean(axis=0), abs=0.05)
    assert np.sqrt(np.diag(covariance)) == pytest.approx(many.std(axis=0), rel=0.1)
    assert covariance[0, 1] == pytest.approx(np.cov(many.T)[0, 1], rel=0.15)


def test_a_small_size_keeps_its_own_narrow_spread_beside_a_large_one() -> None:
    twin = np.stack([sound(VEHICLES, 3)] * 2)
    size = (np.arange(VEHICLES) % 2).astype(np.intp)
    change = np.where(size, 5.0, 0.05) * np.random.default_rng(4).uniform(0.5, 1.5, VEHICLES)
    values = twin.copy()
    values[1, :, 2] = twin[1, :, 2] - change
    labels = np.stack([np.zeros(VEHICLES, dtype=np.intp), size])
    found = paired_moments(values, twin, labels, zeros(2, VEHICLES), labels, np.ones((2, VEHICLES)))
    small, large = (np.sqrt(found.covariance[1, k, 2, 2]) for k in (0, 1))
    assert small == pytest.approx(np.sqrt(found.covariance[0, 0, 2, 2]), rel=0.15)
    assert large > 1.3 * small


def test_a_reading_that_a_fault_pins_is_pinned_where_twins_differ_from_their_class() -> None:
    """An open lead reads zero whatever its twin reads; the vehicles of this group have twins that read more than most.
    """
    twin = np.stack([sound(VEHICLES, 5)] * 2)
    values = twin.copy()
    values[1, :, 1] = 0.0
    high = (twin[1, :, 1] > np.quantile(twin[1, :, 1], 0.7)).astype(np.intp)
    labels = np.stack([np.zeros(VEHICLES, dtype=np.intp), high])
    found = paired_moments(values, twin, labels, zeros(2, VEHICLES), labels, np.ones((2, VEHICLES)))
    apart = twin[1, high == 1, 1].mean() - twin[1, :, 1].mean()
    assert apart > 0.15
    assert found.mean[1, :2, 1] == pytest.approx([0.0, 0.0], abs=0.25 * apart)
