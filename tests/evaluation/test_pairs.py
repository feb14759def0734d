"""Paired tests of significance against scipy, and the exact one against all signs counted out in fractions."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from scipy.stats import binomtest, false_discovery_control, rankdata, wilcoxon

from diagnose.evaluation.pairs import EXACT, adjusted, sign_chance, signed_rank_chance


@pytest.mark.parametrize("better", range(0, 30, 3))
@pytest.mark.parametrize("worse", [0, 1, 7, 200])
def test_the_sign_test_is_that_of_scipy(better: int, worse: int) -> None:
    # Source: scipy.stats.binomtest
    wanted = binomtest(better, better + worse).pvalue if better + worse else 1.0
    assert sign_chance(better, worse) == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_signed_ranks_with_ties_by_counting_all_signs(seed: int) -> None:
    chance = np.random.default_rng(seed)
    found = [float(d) / 2 for d in chance.integers(-3, 5, size=11)]
    changed = [d for d in found if d]
    ranks = [Fraction(float(r)) for r in rankdata(np.abs(changed))]
    middle = sum(ranks) / 2
    here = abs(sum(r for r, d in zip(ranks, changed, strict=True) if d > 0) - middle)
    sums = [sum(r for r, up in zip(ranks, signs, strict=True) if up) for signs in product((0, 1), repeat=len(ranks))]
    wanted = Fraction(sum(abs(total - middle) >= here for total in sums), len(sums))
    assert signed_rank_chance(found) == pytest.approx(float(wanted), rel=1e-12)


@pytest.mark.parametrize("several", [5, 20, EXACT, EXACT + 1, 200])
def test_signed_ranks_are_those_of_scipy(several: int) -> None:
    # Source: scipy.stats.wilcoxon
    found = np.random.default_rng(several).normal(0.2, 1.0, several).round(3)
    method = "exact" if several <= EXACT else "asymptotic"
    assert signed_rank_chance(found.tolist()) == pytest.approx(wilcoxon(found, method=method).pvalue, rel=1e-6)


def test_signed_ranks_of_many_ties_are_those_of_scipy() -> None:
    found = np.random.default_rng(3).integers(-4, 6, 300) / 2
    wanted = wilcoxon(found[found != 0], method="asymptotic").pvalue
    assert signed_rank_chance(found.tolist()) == pytest.approx(wanted, rel=1e-6)


def test_a_sign_the_other_way_round_is_as_unlikely() -> None:
    found = [1.0, 2.5, -0.5, 4.0, 3.0]
    assert signed_rank_chance(found) == signed_rank_chance([-d for d in found])


def test_several_chances_are_corrected_one_after_the_other() -> None:
    chances = [0.001, 0.2, 0.03, 0.9, 0.012]
    assert adjusted(chances) == pytest.approx((0.005, 0.4, 0.09, 0.9, 0.048))
    assert adjusted([]) == ()
    assert adjusted([0.01, 0.011]) == (0.02, 0.02), "the second is never less than the first"
    # Holm's is never milder than the control of false discoveries, and never harder than Bonferroni's.
    milder = false_discovery_control(chances)
    assert all(low <= p <= min(5 * raw, 1.0) for low, p, raw in zip(milder, adjusted(chances), chances, strict=True))
