"""Choosing tests to know the state: published and worked problems with every digit, and random ones."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest

from diagnose.inference.identifying import cost_to_identify, next_test, plan_cost
from tests.inference.optimum import fractions, least_tests, split

#: answers of five tests in six states
SEQUENCING = np.array([[0, 0, 0, 0, 0], [0, 1, 0, 0, 1], [0, 0, 1, 1, 0], [1, 0, 0, 1, 1], [1, 1, 0, 0, 0],
                       [1, 1, 1, 1, 0]]).T  # fmt: skip
STATES = ".70 .01 .02 .10 .05 .12"


def floats(text: str) -> np.ndarray:
    return np.array([float(each) for each in text.split()])


def chain(n: int) -> np.ndarray:
    """Return the answers of probes at the boundaries of `n` segments in a row, one of which is bad."""
    return np.array([[int(segment > probe) for segment in range(n)] for probe in range(n - 1)])


def by_rule(prior: Sequence[Fraction], results: np.ndarray, weigh: bool) -> Fraction:
    """Return the cost of halving a row of segments by belief or by count, the earlier of two equal boundaries."""

    def spent(states: tuple[int, ...]) -> Fraction:
        if len(states) < 2:
            return Fraction(0)
        weights = {s: prior[s] if weigh else Fraction(1) for s in states}
        half = sum(weights.values()) / 2
        test = min(range(states[0], states[-1]), key=lambda k: abs(sum(weights[s] for s in states if s <= k) - half))
        return sum(prior[s] for s in states) + sum(spent(part) for part in split(states, results[test].tolist()))

    return spent(tuple(range(len(prior))))


def test_sequencing_of_five_tests() -> None:
    # Source: Pattipati & Alexandridis 1990 (matrix from memory), exact fractions
    prior, rows = fractions(STATES), SEQUENCING.tolist()
    assert least_tests(prior, rows, [Fraction(1)] * 5) == Fraction("2.18")
    for test, cost in enumerate(("2.86", "2.18", "2.82", "2.18", "2.89")):
        parts = split(range(6), rows[test])
        assert 1 + sum(_least(prior, rows, part) for part in parts) == Fraction(cost)
    belief, unit = floats(STATES), np.ones(5)
    assert plan_cost(belief, SEQUENCING, unit) == pytest.approx(2.86, abs=1e-12)
    assert cost_to_identify(belief, SEQUENCING, unit) == pytest.approx(2.18, abs=1e-12)
    assert next_test(belief, SEQUENCING, unit) in (1, 3)
    assert -(belief * np.log2(belief)).sum() == pytest.approx(1.454873363593605, abs=1e-12)


def _least(prior: Sequence[Fraction], rows: list[list[int]], states: Sequence[int]) -> Fraction:
    """Return the least cost from some of the states, times the belief in them."""
    part = [prior[s] for s in states]
    return Fraction(least_tests(part, [[row[s] for s in states] for row in rows], [Fraction(1)] * len(rows)))


@pytest.mark.parametrize(("n", "cost"), [(4, 2.0), (5, 2.4), (6, 2.666667), (7, 2.857143), (8, 3.0)])
def test_an_even_chain(n: int, cost: float) -> None:
    # Source: invented; exact dynamic programming in fractions
    exact = least_tests([Fraction(1, n)] * n, chain(n).tolist(), [Fraction(1)] * (n - 1))
    assert float(exact) == pytest.approx(cost, abs=5e-7)
    assert cost_to_identify(np.full(n, 1.0 / n), chain(n), np.ones(n - 1)) == pytest.approx(float(exact), abs=1e-12)


@pytest.mark.parametrize(
    ("text", "best", "halving", "greedy", "first"),
    [
        (".45 .05 .05 .45", "1.65", "2.00", None, None),
        (".05 .40 .05 .30 .20", "2.35", None, "2.45", 1),
        (".40 .05 .05 .10 .05 .05 .20 .10", "2.6", "3.0", None, None),
    ],
)
def test_an_uneven_chain(text: str, best: str, halving: str | None, greedy: str | None, first: int | None) -> None:
    # Source: half-split of a path of joints, invented; exact dynamic programming in fractions
    prior, belief = fractions(text), floats(text)
    results, unit = chain(len(prior)), np.ones(len(prior) - 1)
    assert least_tests(prior, results.tolist(), [Fraction(1)] * len(unit)) == Fraction(best)
    assert cost_to_identify(belief, results, unit) == pytest.approx(float(best), abs=1e-12)
    if halving is not None:
        assert by_rule(prior, results, weigh=False) == Fraction(halving)
    if greedy is not None:
        assert plan_cost(belief, results, unit) == pytest.approx(float(greedy), abs=1e-12)
    if first is not None:
        assert next_test(belief, results, unit) == first


def test_eight_joints_by_other_rules() -> None:
    # Source: half-split of a path of joints, invented; exact fractions
    prior = fractions(".40 .05 .05 .10 .05 .05 .20 .10")
    assert by_rule(prior, chain(8), weigh=True) == Fraction("2.7")
    end_to_end = sum(p * min(k + 1, 7) for k, p in enumerate(prior))
    assert end_to_end == Fraction("3.7")
    assert sum(Fraction(1, 8) * min(k + 1, 7) for k in range(8)) == Fraction("4.375")
    belief = np.array([float(p) for p in prior])
    assert -(belief * np.log2(belief)).sum() == pytest.approx(2.5219280948873624, abs=1e-12)


def test_the_plan_is_close_to_the_optimum_on_four_hundred_problems() -> None:
    # Source: own random problems, exact dynamic programming (tests/inference/optimum.py)
    apart, greedy = [], []
    for number in range(400):
        chance = np.random.default_rng([1990, number])
        h, tests = int(chance.integers(4, 8)), int(chance.integers(4, 8))
        belief = chance.dirichlet(np.full(h, 0.7)) + 1e-6
        belief /= belief.sum()
        results = chance.integers(0, 2, (tests, h))
        costs = np.ones(tests) if number % 2 else chance.integers(1, 6, tests).astype(float)
        best = float(least_tests(belief.tolist(), results.tolist(), costs.tolist()))
        apart.append(cost_to_identify(belief, results, costs) / best - 1.0)
        greedy.append(plan_cost(belief, results, costs) / best - 1.0)
    assert min(apart) > -1e-9
    assert np.mean(apart) <= 0.03
    assert max(apart) <= 0.12
    assert np.mean(apart) < np.mean(greedy)


def test_states_that_no_test_tells_apart_end_the_work() -> None:
    results = np.array([[0, 1, 1]])
    assert next_test(np.array([0.2, 0.4, 0.4]), results, np.ones(1)) == 0
    assert next_test(np.array([0.0, 0.5, 0.5]), results, np.ones(1)) is None
    assert cost_to_identify(np.array([0.2, 0.4, 0.4]), results, np.ones(1)) == 1.0
