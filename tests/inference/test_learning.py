"""Frequencies learnt from repairs: exact against an urn in fractions, and on simulated shops that are unlike ours."""

from __future__ import annotations

import itertools
from collections import Counter
from fractions import Fraction
from functools import cache
from math import isclose, log

import numpy as np
import pytest

from diagnose.inference.learning import (
    STRENGTHS,
    WITHIN,
    frequencies,
    learn,
    learnt_shares,
    predictive,
    weights_by_fault,
)
from diagnose.model.rules import RuleBase
from diagnose.store.installations import layout_ids, load_layout
from tests.inference.engines import rule_base

PRIOR = {"blown": Fraction(1, 2), "melted": Fraction(1, 6), "worn": Fraction(1, 4), "slack": Fraction(1, 12)}
FAMILIES = {"blown": "fuse", "melted": "fuse", "worn": "belt", "slack": "belt"}
JOBS = (0, 5, 20, 60, 200)
HELD_OUT, SHOPS = 400, 40


def rising(start: Fraction, steps: int) -> Fraction:
    """Return start (start + 1) .. (start + steps - 1)."""
    found = Fraction(1)
    for step in range(steps):
        found *= start + step
    return found


def evidence(counts: dict[str, int], strength: int) -> Fraction:
    """Return the chance of a sequence with these counts: Dirichlet and multinomial, over families and within each."""
    found = 1 / rising(Fraction(strength), sum(counts.values()))
    for family in ("fuse", "belt"):
        own = {fault: share for fault, share in PRIOR.items() if FAMILIES[fault] == family}
        whole, met = sum(own.values()), sum(counts.get(fault, 0) for fault in own)
        found *= rising(strength * whole, met) / rising(Fraction(strength, WITHIN), met)
        for fault, share in own.items():
            found *= rising(Fraction(strength, WITHIN) * share / whole, counts.get(fault, 0))
    return found


COUNTS = [dict(zip(PRIOR, times, strict=True)) for times in ((0, 0, 0, 0), (1, 0, 0, 0), (3, 1, 0, 2), (0, 0, 7, 1))]


@pytest.mark.parametrize("counts", COUNTS)
@pytest.mark.parametrize("strength", [1, 4, 30])
def test_the_next_fault_has_the_chance_of_a_dirichlet_posterior(counts: dict[str, int], strength: int) -> None:
    found = predictive(PRIOR, FAMILIES, counts, strength)  # type: ignore[arg-type]
    for fault in PRIOR:
        after = {**counts, fault: counts[fault] + 1}
        assert found[fault] == evidence(after, strength) / evidence(counts, strength)
    assert sum(found.values()) == 1


@pytest.mark.parametrize("counts", COUNTS)
def test_strengths_weigh_by_how_well_they_foretold_the_repairs(counts: dict[str, int]) -> None:
    found = learnt_shares(PRIOR, FAMILIES, counts)  # type: ignore[arg-type]
    chances = {strength: evidence(counts, strength) for strength in STRENGTHS}
    assert all(isclose(found.worth[s], chances[s] / sum(chances.values()), rel_tol=1e-12) for s in STRENGTHS)
    for fault in PRIOR:
        after = {**counts, fault: counts[fault] + 1}
        wanted = sum(evidence(after, s) for s in STRENGTHS) / sum(chances.values())
        assert isclose(found.shares[fault], wanted, rel_tol=1e-12)


def test_the_order_of_repairs_does_not_matter() -> None:
    orders = {
        tuple(learnt_shares(PRIOR, FAMILIES, {f: counts[f] for f in order}).shares.values())  # type: ignore[arg-type]
        for counts in [{"blown": 3, "worn": 2, "slack": 1}]
        for order in itertools.permutations(counts)
    }
    first = next(iter(orders))
    assert all(np.allclose([float(v) for v in each], [float(v) for v in first], rtol=1e-12) for each in orders)


def test_a_fault_never_met_moves_with_its_family() -> None:
    prior = {"flat": 0.05, "tired": 0.05, "worn": 0.9}
    met = {"flat": 5, "worn": 5}
    together = predictive(prior, {"flat": "battery", "tired": "battery", "worn": "belt"}, met, 30)
    alone = predictive(prior, {fault: fault for fault in prior}, met, 30)
    assert together["tired"] > 1.15 * prior["tired"]
    assert alone["tired"] < prior["tired"]
    assert together["flat"] > together["tired"]


def test_a_repair_of_what_has_no_share_is_refused() -> None:
    with pytest.raises(ValueError, match="no share"):
        learnt_shares({"blown": 1.0, "worn": 0.0}, FAMILIES, {"worn": 1})


def test_frequencies_show_the_shares_on_several_installations() -> None:
    fitted = [{"blown": 3.0, "worn": 1.0, "slack": 0.0}] * 2 + [{"blown": 1.0, "worn": 1.0, "slack": 2.0}] * 3
    wanted = {"blown": 0.3, "worn": 0.5, "slack": 0.2}
    factors = frequencies(fitted, wanted)
    shown = dict.fromkeys(wanted, 0.0)
    for each in fitted:
        total = sum(each[fault] * factors[fault] for fault in wanted)
        for fault in wanted:
            shown[fault] += each[fault] * factors[fault] / total / len(fitted)
    assert shown == pytest.approx(wanted, abs=1e-8)


@cache
def weights(name: str) -> dict[str, float]:
    return weights_by_fault(load_layout(name), rules())


def rules() -> RuleBase:
    return rule_base()[0]


def test_without_repairs_nothing_changes() -> None:
    lessons, weight = learn(rules(), [])
    assert weight == 0.0
    assert all(each.weight_after == each.weight_before and each.proved == 0 for each in lessons)


def test_one_repair_changes_little_and_many_change_much() -> None:
    tray = weights("crew_cab_tray")
    few, light = learn(rules(), [(tray, "wrong_setting")])
    many, heavy = learn(rules(), [(tray, "wrong_setting")] * 200)
    by_few, by_many = ({each.fault: each for each in lessons} for lessons in (few, many))
    assert all(0.95 < each.weight_after / each.weight_before < 1.05 for each in few if each.fault != "wrong_setting")
    one = by_few["wrong_setting"]
    assert one.weight_before < one.weight_after < 2.0 * one.weight_before
    assert one.share_after < 1.5 * one.share_before
    assert by_many["wrong_setting"].share_after > 0.8
    assert 0.0 < light < 0.02 < 0.7 < heavy < 1.0
    assert sum(each.share_after for each in many) == pytest.approx(1.0)


def test_what_can_sit_nowhere_here_moves_with_its_family() -> None:
    tray = weights("crew_cab_tray")
    lessons = {each.fault: each for each in learn(rules(), [(tray, "discharged")] * 50)[0]}
    absent = [each for each in lessons.values() if each.share_before == 0.0]
    assert [each.fault for each in absent] == ["protection_open"]
    own = [each for each in lessons.values() if each.family == "battery"]
    moved = sum(each.share_after for each in own) / sum(each.share_before for each in own)
    assert absent[0].weight_after == pytest.approx(absent[0].weight_before * moved)


class Shop:
    """A shop whose faults come with other frequencies than ours: each times a log-normal factor."""

    def __init__(self, number: int, spread: float) -> None:
        self.chance = np.random.Generator(np.random.PCG64([20, number]))
        self.fitted = [weights(name) for name in layout_ids()]
        self.faults = list(self.fitted[0])
        self.ours = np.array([[each[fault] for fault in self.faults] for each in self.fitted])
        factors = np.exp(spread * self.chance.standard_normal(len(self.faults)))
        self.own = self.ours * factors

    def jobs(self, count: int) -> list[tuple[int, int]]:
        """Return jobs as the numbers of an installation and of a fault."""
        found = []
        for _ in range(count):
            at = int(self.chance.integers(len(self.fitted)))
            found.append((at, int(self.chance.choice(len(self.faults), p=self.own[at] / self.own[at].sum()))))
        return found

    def gain(self, learnt_from: list[tuple[int, int]], held_out: list[tuple[int, int]]) -> float:
        """Return how much better the learnt frequencies foretell jobs than those that ship [nats a job]."""
        lessons, _ = learn(rules(), [(self.fitted[at], self.faults[fault]) for at, fault in learnt_from])
        learnt = self.ours * np.array([each.weight_after / each.weight_before for each in lessons])
        after = sum(log(learnt[at, fault] / learnt[at].sum()) for at, fault in held_out)
        before = sum(log(self.ours[at, fault] / self.ours[at].sum()) for at, fault in held_out)
        return (after - before) / len(held_out)


@cache
def gains(spread: float) -> dict[int, list[float]]:
    """Return the gain of each shop by how many jobs it has closed, the first of them being among the later ones."""
    found: dict[int, list[float]] = {count: [] for count in JOBS}
    for number in range(SHOPS):
        shop = Shop(number, spread)
        held_out, jobs = shop.jobs(HELD_OUT), shop.jobs(max(JOBS))
        for count in JOBS:
            found[count].append(shop.gain(jobs[:count], held_out))
    return found


@pytest.mark.parametrize("spread", [0.5, 1.0])
@pytest.mark.slow
def test_a_shop_unlike_ours_is_foretold_better_the_more_jobs_it_has_closed(spread: float) -> None:
    mean = {count: float(np.mean(each)) for count, each in gains(spread).items()}
    assert mean[0] == 0.0
    assert all(mean[count] > 0.0 for count in JOBS[1:]), mean
    assert list(mean.values()) == sorted(mean.values()), mean
    # What could be gained at most is the distance of the shop from ours; most of it is, after 200 jobs.
    assert mean[200] > (0.2 if spread == 1.0 else 0.05), mean


@pytest.mark.slow
def test_a_shop_like_ours_loses_next_to_nothing() -> None:
    mean = {count: float(np.mean(each)) for count, each in gains(0.0).items()}
    assert all(gain > -0.01 for gain in mean.values()), mean


def test_counts_stand_beside_the_faults() -> None:
    tray = weights("crew_cab_tray")
    done = ["blown", "blown", "open_circuit"]
    lessons, _ = learn(rules(), [(tray, fault) for fault in done])
    assert {each.fault: each.proved for each in lessons if each.proved} == Counter(done)
