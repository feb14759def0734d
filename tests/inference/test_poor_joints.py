"""A sound joint a little worse than the tables say, against the same Gaussians written out by a general library."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from diagnose.inference.bank import MISTAKEN, OFF, build_bank, fit
from diagnose.inference.evidence import Evidence
from diagnose.inference.poor_joints import (
    SHARE,
    SPREAD,
    WORSE,
    Slopes,
    log_ratios,
    slightly_poor,
    slopes_of,
)
from diagnose.inference.ranking import Question
from diagnose.model.reading import Read, Reading, Take
from diagnose.simulation.vehicle import SimulatedVehicle
from tests.inference.engines import engine

N, JOINTS, STRATA = 4, 3, 5
EVERY = np.ones(STRATA, dtype=bool)


def problem() -> tuple[Slopes, np.ndarray, np.ndarray]:
    """Return slopes of joints, covariances (g, n, n) and what the readings are away (g, n)."""
    chance = np.random.default_rng(7)
    roots = chance.normal(size=(STRATA, N, N)) * 0.05
    covariance = roots @ np.swapaxes(roots, 1, 2) + 0.01 * np.eye(N)
    away = chance.normal(size=(STRATA, N)) * 0.2
    each, apart = chance.normal(size=(JOINTS, N)) * 20.0, chance.normal(size=(JOINTS, N)) * 5.0
    return Slopes(each, apart, JOINTS), covariance, away


def written_out(
    slopes: Slopes, j: int, covariance: np.ndarray, away: np.ndarray, kept: list[int], joints: int = JOINTS
) -> float:
    """Return the log of the chance of this joint times the ratio of the two normal densities of the readings kept."""
    at, each, apart = np.ix_(kept, kept), slopes.each[j], slopes.apart[j]
    wide = covariance + SPREAD**2 * np.outer(each, each) + (WORSE**2 + SPREAD**2) * np.outer(apart, apart)
    moved = multivariate_normal(WORSE * each[kept], wide[at])
    plain = multivariate_normal(np.zeros(len(kept)), covariance[at])
    return float(moved.logpdf(away[kept]) - plain.logpdf(away[kept]) + np.log(SHARE / joints / (1.0 - SHARE)))


def test_the_ratio_is_that_of_two_normal_densities() -> None:
    # Source: general multivariate normal density (scipy); tolerance 1e-9
    slopes, covariance, away = problem()
    precision = np.linalg.inv(covariance)
    found, _ = log_ratios(slopes, precision, np.einsum("gij,gj->gi", precision, away), EVERY)
    for g in range(STRATA):
        for j in range(JOINTS):
            exact = written_out(slopes, j, covariance[g], away[g], list(range(N)))
            assert found[g, j] == pytest.approx(exact, abs=1e-9)


def test_leaving_a_number_out_is_the_ratio_without_it() -> None:
    # Source: general multivariate normal density (scipy); tolerance 1e-8
    slopes, covariance, away = problem()
    precision = np.linalg.inv(covariance)
    _, found = log_ratios(slopes, precision, np.einsum("gij,gj->gi", precision, away), EVERY)
    for g in range(STRATA):
        for gone in range(N):
            kept = [k for k in range(N) if k != gone]
            each = [written_out(slopes, j, covariance[g], away[g], kept) for j in range(JOINTS)]
            assert found[g, gone] == pytest.approx(np.logaddexp.reduce(each), abs=1e-8)


def test_slopes_are_those_of_some_milliohms() -> None:
    """Ten volts and a tenth drive a current through 0.2 ohm and the joint: 50 A make 50 V an ohm for a few milliohms,
    and less for a joint that is a fault of its own.
    """
    predicted = np.array([0.1, 0.1 + 10.0 * WORSE / (0.2 + WORSE)])[:, None, None] + np.linspace(0.0, 1.0, 8)[:, None]
    slopes = slopes_of(predicted, np.array([0.001]))
    assert slopes.each[0, 0] == pytest.approx(10.0 / (0.2 + WORSE), rel=1e-9)
    assert slopes.of == 1


def test_a_joint_that_no_reading_shows_is_left_out() -> None:
    slopes = slopes_of(np.full((2, 8, 1), 0.1), np.array([0.001]))
    assert slopes.each.shape == (0, 1)
    assert slopes.of == 1


@pytest.mark.parametrize(("noise", "shown"), [(0.01, 1), (0.1, 0)])
def test_a_joint_is_left_out_where_some_milliohms_of_it_are_lost_in_the_noise(noise: float, shown: int) -> None:
    """Ten volts an ohm are 0.035 V for a joint as poor as they come: above 0.3 of 0.01 V, not of 0.12 V and more."""
    predicted = np.array([0.1, 0.1 + 10.0 * WORSE])[:, None, None] + np.zeros((8, 1))
    assert len(slopes_of(predicted, np.array([1.2 * noise])).each) == shown


def test_every_joint_may_be_slightly_poor_and_nothing_else() -> None:
    every = engine("engine_bay_pair").hypotheses
    poor = slightly_poor(every)
    places = {h.place for h in every if h.fault is not None and h.fault.fault == "high_resistance"}
    assert poor[0].fault is None
    assert {h.place for h in poor[1:]} == places
    assert {h.fault.size for h in poor[1:] if h.fault is not None} == {WORSE}


def test_vehicles_differ_along_one_direction() -> None:
    """Two readings of a drop in two states: what a joint adds goes with the current of the vehicle, which the load
    changes in the second state.
    """
    current, load = np.linspace(20.0, 40.0, 8), np.array([0.0, 3.0, 1.0, 2.0, 3.0, 0.0, 2.0, 1.0])
    sound = np.zeros((8, 2))
    poor = sound + WORSE * np.stack([current, current + load], axis=1)
    slopes = slopes_of(np.stack([sound, poor]), np.array([0.001, 0.001]))
    assert slopes.each[0] == pytest.approx([30.0, 31.5])
    exact = np.cov(np.stack([current, current + load]))
    found = np.outer(slopes.apart[0], slopes.apart[0])
    assert found == pytest.approx(exact, abs=0.03 * exact.max())


@pytest.mark.parametrize("where", ["input_cable charger_in", "house_fuse house_pos"])
def test_a_sound_vehicle_with_a_joint_of_two_milliohms_is_not_called_faulty(where: str) -> None:
    """Its drop is read in two states: ten times that of a usual joint, and a fifth of the least that is a fault."""
    held = engine("engine_bay_pair")
    joint = next(h for h in slightly_poor(held.hypotheses)[1:] if h.label == f"high_resistance {where}")
    part, at = where.split()
    places = ((f"{part}@{at}", at), ("start_pos", "charger_in"), ("house_pos", "charger_out"))
    takes = [Take("volts", place, state) for state in ("engine_running", "engine_running_loaded") for place in places]
    for seed in (5, 6):
        vehicle = SimulatedVehicle(held.installation, held.rules, held.tables, joint, seed)
        readings = tuple(Reading(take, vehicle.told(take)) for take in takes)
        belief = held.believe(Question(readings, None, ("multimeter",)))
        assert belief.posterior[0] > 2.0 * belief.posterior[1:].max()


def test_a_mistaken_reading_beside_a_poor_joint_makes_no_fault() -> None:
    """A decimal point is lost in one of the readings of a sound vehicle with a poor joint: neither is a fault."""
    held = engine("engine_bay_pair")
    joint = next(h for h in slightly_poor(held.hypotheses)[1:] if h.label == "high_resistance input_cable charger_in")
    vehicle = SimulatedVehicle(held.installation, held.rules, held.tables, joint, 6)
    drop = ("input_cable@charger_in", "charger_in")
    places = (drop, ("start_pos", "charger_in"), ("house_pos", "charger_out"), ("charger_in", "charger_neg"))
    takes = [Take("volts", place, state) for state in ("engine_running", "engine_running_loaded") for place in places]
    readings = [Reading(take, vehicle.told(take)) for take in takes]
    before = held.believe(Question(tuple(readings[:-1]), None, ("multimeter",))).posterior[0]
    value = 10.0 * (vehicle.told(takes[-1]).value or 0.0)
    mistaken = Reading(takes[-1], Read("number", f"{value:.1f} V", value))
    after = held.believe(Question((*readings[:-1], mistaken), None, ("multimeter",))).posterior[0]
    assert after > 0.5 * before > 0.1


def test_a_number_left_out_leaves_a_mistake_and_a_poor_joint_to_the_others() -> None:
    """Readings that a poor joint explains but for one that is mistaken: of the others with any number left out, all
    good, one mistaken, some joint poor, or both for the number that is mistaken; written out over all of them.

    Source: general multivariate normal density (scipy); tolerance 1e-9.
    """
    vehicles, sound = 40, np.array([0.2, 0.1, 13.0, 12.5])
    predicted = sound + 0.01 * np.random.default_rng(3).normal(size=(vehicles, N))
    slopes = Slopes(np.array([[30.0, 28.0, -20.0, 5.0]]), np.array([[1.0, 0.5, 0.0, 0.2]]), 1)
    read = sound + 0.003 * slopes.each[0] + np.array([0.0, 0.0, 0.0, 40.0])
    told = Evidence(tuple(range(N)), read, predicted[None], np.full((1, vehicles, N), 0.002), np.full(N, 16.0), (),
                    np.zeros((1, vehicles, 0)), np.zeros((1, vehicles)))  # fmt: skip
    bank = build_bank(told, np.zeros((1, vehicles), dtype=np.intp))
    away, covariance, good = read - bank.mean[0], bank.covariance[0], 1.0 - MISTAKEN - OFF
    anywhere = np.log(MISTAKEN / told.width / good)

    def density(kept: list[int], poor: bool) -> float:
        plain = multivariate_normal(np.zeros(len(kept)), covariance[np.ix_(kept, kept)]).logpdf(away[kept])
        return float(plain) + (written_out(slopes, 0, covariance, away, kept, 1) if poor else 0.0)

    found = fit(told, bank, slopes)
    for gone in range(N):
        kept = [k for k in range(N) if k != gone]
        terms = [density(kept, poor) for poor in (False, True)]
        terms += [density([k for k in kept if k != j], False) + anywhere[j] for j in kept]
        if gone != 3:
            terms.append(density([k for k in kept if k != 3], True) + anywhere[3])
        exact = np.logaddexp.reduce(terms) + (N - 1) * np.log(good)
        assert found.without[0, gone] == pytest.approx(exact, abs=1e-9)
