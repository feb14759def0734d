"""Moments measured from sound twins: what a fault leaves alone keeps its moments, what it changes has those sampled."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.moments import Moments, grouped, paired_moments

VEHICLES, MANY = 96, 20_000
#: what a meter hides of each of three readings
HIDDEN = np.full(3, 1e-3)


def sound(vehicles: int, seed: int) -> np.ndarray:
    """Return two readings of a shared source and one of its own, (vehicles, 3)."""
    chance = np.random.default_rng(seed)
    source = chance.normal(14.2, 0.2, vehicles)
    return np.stack([source, source - chance.normal(0.1, 0.02, vehicles), chance.normal(5.0, 1.0, vehicles)], axis=1)


def zeros(hypotheses: int, vehicles: int) -> np.ndarray:
    return np.zeros((hypotheses, vehicles), dtype=np.intp)


def moments(
    values: np.ndarray, twin: np.ndarray, label: np.ndarray, sort: np.ndarray
) -> tuple[Moments, np.ndarray]:
    """Return the moments of all groups, twins all of one class, and the hypothesis of each group."""
    weight = np.ones(label.shape)
    groups = grouped(label, weight)
    return paired_moments(values, twin, label, np.zeros_like(label), sort, weight, groups, HIDDEN), groups.owner


def test_groups_are_numbered_hypothesis_after_hypothesis_and_shares_sum_to_one() -> None:
    label = np.array([[7, 7, 2], [5, 5, 5]])
    found = grouped(label, np.array([[1.0, 3.0, 2.0], [1.0, 1.0, 2.0]]))
    assert found.member.tolist() == [[1, 1, 0], [2, 2, 2]]
    assert found.owner.tolist() == [0, 0, 1]
    assert found.share.tolist() == [[0.25, 0.75, 1.0], [0.25, 0.25, 0.5]]
    assert found.size[:2].tolist() == pytest.approx([1.0, 1.6])
    assert found.total.tolist() == [2.0, 4.0, 4.0]
    assert found.sums(np.array([[[1.0], [5.0], [7.0]], [[2.0], [4.0], [6.0]]]))[:, 0].tolist() == [7.0, 4.0, 4.5]


def test_a_fault_that_changes_nothing_has_the_moments_of_a_sound_vehicle_in_every_stratum() -> None:
    twin = np.stack([sound(VEHICLES, 1)] * 2)
    sizes = np.stack([np.zeros(VEHICLES), np.arange(VEHICLES) * 4 // VEHICLES]).astype(np.intp)
    found, owner = moments(twin, twin, sizes, sizes)
    assert owner.tolist() == [0, 1, 1, 1, 1]
    for stratum in range(1, 5):
        assert found.mean[stratum] == pytest.approx(found.mean[0], rel=1e-12)
        assert found.covariance[stratum] == pytest.approx(found.covariance[0], rel=1e-9)


def test_moments_of_few_vehicles_are_those_of_many_where_the_change_is_plain() -> None:
    """The second reading loses a volt and follows the source by half; its moments are known from the law."""
    found = []
    for seed in range(20):
        twin = sound(VEHICLES, seed)
        changed = twin.copy()
        changed[:, 1] -= 1.0 + 0.5 * (twin[:, 0] - 14.2)
        values = np.stack([twin, changed])
        found.append(moments(values, np.stack([twin, twin]), zeros(2, VEHICLES), zeros(2, VEHICLES))[0])
    mean = np.mean([one.mean[1] for one in found], axis=0)
    covariance = np.mean([one.covariance[1] for one in found], axis=0)
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
    found, owner = moments(values, twin, labels, labels)
    assert owner.tolist() == [0, 1, 1]
    small, large = (np.sqrt(found.covariance[k, 2, 2]) for k in (1, 2))
    assert small == pytest.approx(np.sqrt(found.covariance[0, 2, 2]), rel=0.15)
    assert large > 1.3 * small


def test_a_reading_that_a_fault_pins_is_pinned_where_twins_differ_from_their_class() -> None:
    """An open lead reads zero whatever its twin reads; the vehicles of this group have twins that read more than most.
    """
    twin = np.stack([sound(VEHICLES, 5)] * 2)
    values = twin.copy()
    values[1, :, 1] = 0.0
    high = (twin[1, :, 1] > np.quantile(twin[1, :, 1], 0.7)).astype(np.intp)
    labels = np.stack([np.zeros(VEHICLES, dtype=np.intp), high])
    found, owner = moments(values, twin, labels, labels)
    assert owner.tolist() == [0, 1, 1]
    apart = twin[1, high == 1, 1].mean() - twin[1, :, 1].mean()
    assert apart > 0.15
    assert found.mean[1:, 1] == pytest.approx([0.0, 0.0], abs=0.25 * apart)


def test_a_group_without_any_weight_holds_no_vehicles() -> None:
    found = grouped(np.array([[0, 1, 1]]), np.array([[2.0, 0.0, 0.0]]))
    assert found.size.tolist() == [1.0, 0.0]
    assert found.share.tolist() == [[1.0, 0.0, 0.0]]


def test_a_change_does_not_follow_what_the_meter_hides() -> None:
    """Where the charger runs the first reading is the same on all but for rounding, elsewhere it is not: what the fault
    changes there cannot hang on the rounding.
    """
    chance = np.random.default_rng(4)
    runs = np.arange(VEHICLES) % 2
    twin = np.stack([5.0 * runs + 1e-9 * chance.normal(size=VEHICLES), chance.normal(size=VEHICLES)], axis=1)
    change = np.stack([np.zeros(VEHICLES), chance.normal(size=VEHICLES)], axis=1)
    label = np.stack([np.zeros(VEHICLES, dtype=np.intp), runs])
    values, weight = np.stack([twin, twin + change]), np.ones(label.shape)
    found = paired_moments(values, np.stack([twin, twin]), label, np.zeros_like(label), label, weight,
                           grouped(label, weight), HIDDEN[:2])  # fmt: skip
    assert np.abs(found.covariance).max() < 20.0
    assert np.abs(found.mean).max() < 6.0
