"""Orders of repairs against every other order, and worked examples with every digit."""

from __future__ import annotations

from fractions import Fraction
from itertools import permutations

import numpy as np
import pytest

from diagnose.inference.repairs import cost_of_order, cost_of_overlapping, cost_of_repairs, repair_order

#: chances and costs of independent repairs (invented, solved exactly): best order, its cost, by chance, by cost, worst
EXAMPLES = [
    (".40 .25 .20 .10 .05", "10 2 6 1 20", (1, 3, 0, 2, 4), 11.75, 14.45, 12.20, 34.05),
    (".35 .25 .20 .12 .08", "6 2 9 1 4", (1, 3, 0, 2, 4), 9.37, 11.42, 10.38, 17.47),
]


def numbers(text: str) -> np.ndarray:
    return np.array([float(each) for each in text.split()])


def by_fractions(chances: str, costs: str, order: tuple[int, ...]) -> Fraction:
    """Return the expected cost of an order, in fractions."""
    p, c = ([Fraction(each) for each in text.split()] for text in (chances, costs))
    return sum((c[r] * (1 - sum((p[e] for e in order[:k]), Fraction(0))) for k, r in enumerate(order)), Fraction(0))


@pytest.mark.parametrize(("chances", "costs", "order", "best", "by_chance", "by_cost", "worst"), EXAMPLES)
def test_order_of_repairs(
    chances: str, costs: str, order: tuple[int, ...], best: float, by_chance: float, by_cost: float, worst: float
) -> None:
    # Source: Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995 (rule); numbers invented, exact fractions
    held, price = numbers(chances), numbers(costs)
    every = [float(by_fractions(chances, costs, each)) for each in permutations(range(5))]
    assert (min(every), max(every)) == (pytest.approx(best, abs=1e-12), pytest.approx(worst, abs=1e-12))
    assert tuple(repair_order(held, price).tolist()) == order
    assert float(cost_of_repairs(held, price)) == pytest.approx(best, abs=1e-12)
    single = np.eye(5, dtype=bool)
    told = [cost_of_order(held, single, price, np.array(each)) for each in permutations(range(5))]
    assert told == pytest.approx(every, abs=1e-12)
    assert cost_of_order(held, single, price, np.argsort(-held)) == pytest.approx(by_chance, abs=1e-12)
    assert cost_of_order(held, single, price, np.argsort(price)) == pytest.approx(by_cost, abs=1e-12)


def test_a_call_out_after_some_repairs() -> None:
    # Source: Heckerman, Breese & Rommelse 1995 (rule); numbers invented, exact fractions
    held, price, single = numbers(EXAMPLES[0][0]), numbers(EXAMPLES[0][1]), np.eye(5, dtype=bool)
    order = np.array(EXAMPLES[0][2])
    after = [cost_of_order(held, single, price, order[:k], 15.0) for k in range(6)]
    assert after == pytest.approx([15.0, 13.25, 12.5, 13.0, 11.5, 11.75], abs=1e-12)
    assert float(cost_of_repairs(held, price, 15.0)) == pytest.approx(11.5, abs=1e-12)
    assert float(cost_of_repairs(held, price, 3.0)) == pytest.approx(3.0, abs=1e-12)


def test_overlapping_repairs() -> None:
    # Source: published example of dependent actions in decision-theoretic troubleshooting (from memory)
    belief, mends = numbers(".2 .25 .4 .15"), np.array([[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1]], dtype=bool)
    costs = {(2, 0): 1.45, (1, 0, 2): 1.50, (0, 2): 1.55, (1, 2, 0): 1.55, (2, 1, 0): 1.65, (0, 1, 2): 1.70}
    for order, cost in costs.items():
        assert cost_of_order(belief, mends, np.ones(3), np.array(order)) == pytest.approx(cost, abs=1e-12), order
    assert float(cost_of_overlapping(belief, mends, np.ones(3))) == pytest.approx(1.50, abs=1e-12)


def test_an_order_that_leaves_a_cause_needs_a_call_out() -> None:
    single = np.eye(2, dtype=bool)
    with pytest.raises(ValueError, match="leaves causes"):
        cost_of_order(np.array([0.5, 0.5]), single, np.ones(2), np.array([0]))


@pytest.mark.parametrize("seed", range(20))
def test_the_best_order_with_a_call_out_is_the_best_of_all(seed: int) -> None:
    chance = np.random.default_rng(seed)
    belief, price, service = chance.dirichlet(np.ones(5)), chance.uniform(1, 20, 4), float(chance.uniform(5, 40))
    held, rest, mends = belief[:4], float(belief[4]), np.eye(4, 5, dtype=bool)
    orders = [each[:k] for each in permutations(range(4)) for k in range(5)]
    least = min(cost_of_order(belief, mends, price, np.array(o, dtype=int), service) for o in orders)
    assert float(cost_of_repairs(held, price, service, rest)) == pytest.approx(least, abs=1e-9)
    assert float(cost_of_overlapping(belief, mends, price, service)) == pytest.approx(least, abs=1e-9)
