"""The bank of Gaussians against brute force: every set of at most two mistaken readings written out."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from diagnose.inference.bank import FURTHER, MISTAKEN, OFF, SIZES, Bank, build_bank, fit
from diagnose.inference.evidence import Evidence


def evidence_of(seed: int, hypotheses: int, vehicles: int, n: int) -> Evidence:
    """Return invented evidence: correlated predictions, readings near those of hypothesis 1 but for one of them."""
    chance = np.random.default_rng(seed)
    common = chance.normal(size=(1, vehicles, 1))
    predicted = chance.normal(size=(hypotheses, 1, n)) + common * chance.normal(size=(1, 1, n))
    predicted = predicted + 0.3 * chance.normal(size=(hypotheses, vehicles, n))
    read = predicted[1, 0] + np.where(np.arange(n) == 1, 4.0, 0.05)
    words = chance.uniform(0.1, 0.9, size=(hypotheses, vehicles, 2))
    return Evidence(
        tuple(range(n)), read, predicted, np.full(predicted.shape, 0.2), np.full(n, 16.0), (n, n + 1), words,
        np.zeros((hypotheses, vehicles)),
    )  # fmt: skip


def log_density(mean: np.ndarray, covariance: np.ndarray, read: np.ndarray, kept: list[int]) -> float:
    if not kept:
        return 0.0
    return float(multivariate_normal(mean[kept], covariance[np.ix_(kept, kept)]).logpdf(read[kept]))


def one_off(bank: Bank, g: int, read: np.ndarray, number: int) -> float:
    """Return the chance times the density of the readings with one of them further off than the others allow."""
    mean, covariance = bank.mean[g], bank.covariance[g]
    kept = [k for k in range(len(read)) if k != number]
    middle, variance = mean[number], covariance[number, number]
    if kept:
        gain = np.linalg.solve(covariance[np.ix_(kept, kept)], covariance[kept, number])
        middle, variance = middle + gain @ (read[kept] - mean[kept]), variance - gain @ covariance[kept, number]
    density = multivariate_normal(middle, FURTHER**2 * variance).pdf(read[number])
    good = (1.0 - MISTAKEN - OFF) ** len(kept) * np.exp(log_density(mean, covariance, read, kept))
    return float(OFF * density * good)


@pytest.mark.parametrize("n", [1, 2, 3, 5])
def test_likelihood_is_the_sum_over_mistaken_readings(n: int) -> None:
    # Source: general multivariate normal density (scipy), subsets enumerated; tolerance 1e-9 relative
    evidence = evidence_of(3, 3, 40, n)
    strata = np.tile(np.arange(40) % 4, (3, 1))
    bank = build_bank(evidence, strata)
    found = fit(evidence, bank)
    whole = set(range(n))
    for g in range(len(bank.owner)):
        total = 0.0
        for wrong in (w for k in (0, 1, 2) for w in combinations(range(n), k)):
            kept = sorted(whole - set(wrong))
            chance = MISTAKEN ** len(wrong) * (1.0 - MISTAKEN - OFF) ** len(kept) / 16.0 ** len(wrong)
            total += chance * np.exp(log_density(bank.mean[g], bank.covariance[g], evidence.read, kept))
        total += sum(one_off(bank, g, evidence.read, i) for i in range(n))
        assert found.stratum[g] - bank.log_weight[g] == pytest.approx(np.log(total), rel=1e-9, abs=1e-9)


def test_the_moved_reading_is_doubted_and_the_others_are_not() -> None:
    evidence = evidence_of(5, 3, 60, 5)
    found = fit(evidence, build_bank(evidence, np.zeros((3, 60), dtype=np.intp)))
    assert int(np.argmax(found.log_likelihood)) == 1
    assert found.wrong[1, 1] > 0.9
    assert np.all(np.delete(found.wrong[1], 1) < 0.5)


def one_mistaken(bank: Bank, g: int, read: np.ndarray, kept: list[int]) -> float:
    """Return the log-likelihood of the numbers kept with one of them mistaken at most."""
    terms = [len(kept) * np.log(1.0 - MISTAKEN - OFF) + log_density(bank.mean[g], bank.covariance[g], read, kept)]
    broad = (len(kept) - 1) * np.log(1.0 - MISTAKEN - OFF) + np.log(MISTAKEN / 16.0)
    for wrong in kept:
        rest = [k for k in kept if k != wrong]
        terms.append(broad + log_density(bank.mean[g], bank.covariance[g], read, rest))
    return float(np.logaddexp.reduce(terms))


def test_leaving_a_number_out_is_fitting_without_it() -> None:
    evidence = evidence_of(7, 3, 60, 4)
    bank = build_bank(evidence, np.zeros((3, 60), dtype=np.intp))
    found = fit(evidence, bank)
    for gone in range(4):
        kept = [k for k in range(4) if k != gone]
        for h in range(3):
            strata = np.flatnonzero(bank.owner == h)
            own = [bank.log_weight[g] + one_mistaken(bank, g, evidence.read, kept) for g in strata]
            assert found.without[h, gone] == pytest.approx(np.logaddexp.reduce(own), abs=1e-8)


def test_words_weigh_the_vehicles() -> None:
    evidence = evidence_of(9, 2, 50, 0)
    bank = build_bank(evidence, np.zeros((2, 50), dtype=np.intp))
    expected = np.log(evidence.words.prod(axis=-1).mean(axis=1))
    assert fit(evidence, bank).log_likelihood == pytest.approx(expected, abs=1e-12)


def test_a_fault_that_changes_nothing_reads_what_sound_vehicles_of_its_charge_read() -> None:
    """Twelve volts with a low charge, fourteen with a full one, whatever the size of the fault."""
    vehicles = 48
    charge, size = np.arange(vehicles) % 2, np.arange(vehicles) // 2 % SIZES
    scatter = 0.1 * np.random.default_rng(4).normal(size=vehicles)
    predicted = np.stack([12.0 + 2.0 * charge + scatter] * 2)[:, :, None]
    evidence = Evidence(
        (0,), np.array([12.0]), predicted, np.full(predicted.shape, 0.01), np.array([16.0]), (),
        np.ones((2, vehicles, 0)), np.zeros((2, vehicles)),
    )  # fmt: skip
    strata = np.stack([SIZES * charge, SIZES * charge + size]).astype(np.intp)
    bank = build_bank(evidence, strata)
    assert len(bank.owner) == 2 + 2 * SIZES
    for full in (0, 1):
        own = predicted[0, charge == full, 0].mean()
        groups = np.unique(bank.member[:, charge == full])
        assert bank.mean[groups, 0] == pytest.approx(np.full(1 + SIZES, own), abs=1e-9)
        assert np.ptp(bank.covariance[groups, 0, 0]) < 1e-9
