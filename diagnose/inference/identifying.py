"""Which test comes next where the only aim is to know the state and every test answers surely, once.

The tests left are judged by the cost of the plan that follows when each later test is the one that tells most for its
cost; what that plan would do at each outcome is worked out to the end. So the cost found is that of a real plan,
never more than that of the greedy one. It suits tens of states; nothing here mends anything.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array

__all__ = ["cost_to_identify", "next_test", "plan_cost"]

States = tuple[int, ...]


def next_test(belief: Array, results: NDArray[np.intp], costs: Array, steps: int = 2) -> int | None:
    """Return the number of the test to take next, or None where no test tells the states apart any further.

    Parameters: `belief` (h,), chances of the states, 0 for those ruled out; `results` (tests, h), the answer of each
    test in each state; `costs` (tests,), above 0; `steps`, tests that are chosen freely before the greedy plan begins.
    """
    return _Planner(belief, results, costs).best(tuple(np.flatnonzero(belief > 0).tolist()), steps)[1]


def plan_cost(belief: Array, results: NDArray[np.intp], costs: Array) -> float:
    """Return the expected cost of the greedy plan: the test that tells most for its cost, until nothing more is told.

    Parameters: as in `next_test`; `belief` sums to 1.
    """
    return _Planner(belief, results, costs).greedy(tuple(np.flatnonzero(belief > 0).tolist()))


def cost_to_identify(belief: Array, results: NDArray[np.intp], costs: Array, steps: int = 2) -> float:
    """Return the expected cost of identifying the state when each test is chosen by `next_test`.

    Parameters: as in `next_test`; `belief` sums to 1.

    >>> chain = np.array([[0, 1, 1, 1], [0, 0, 1, 1], [0, 0, 0, 1]])
    >>> round(cost_to_identify(np.array([0.45, 0.05, 0.05, 0.45]), chain, np.ones(3)), 9)
    1.65
    """
    planner = _Planner(belief, results, costs)

    def spent(states: States) -> float:
        _, test = planner.best(states, steps)
        if test is None:
            return 0.0
        return planner.price(states, test) + sum(spent(part) for part in planner.split(states, test))

    return spent(tuple(np.flatnonzero(belief > 0).tolist()))


class _Planner:
    """Costs of plans by the states that are left, each worked out once; costs count with the belief in those states."""

    def __init__(self, belief: Array, results: NDArray[np.intp], costs: Array) -> None:
        self.belief, self.results, self.costs = belief, results, costs
        self._greedy: dict[States, float] = {}
        self._best: dict[tuple[States, int], tuple[float, int | None]] = {}

    def split(self, states: States, test: int) -> list[States]:
        """Return the states by the answer of a test."""
        parts: dict[int, list[int]] = {}
        for state in states:
            parts.setdefault(int(self.results[test, state]), []).append(state)
        return [tuple(part) for part in parts.values()]

    def price(self, states: States, test: int) -> float:
        """Return the cost of a test times the belief in the states left."""
        return float(self.costs[test] * self.belief[list(states)].sum())

    def telling(self, states: States) -> list[int]:
        """Return the tests whose answer is not the same in all states left."""
        if len(states) < 2:
            return []
        rows = self.results[:, list(states)]
        return [int(t) for t in np.flatnonzero((rows != rows[:, :1]).any(axis=1))]

    def greedy(self, states: States) -> float:
        """Return the cost of the greedy plan from here."""
        if states not in self._greedy:
            tests = self.telling(states)
            cost = 0.0
            if tests:
                test = max(tests, key=lambda t: self._bits(states, t) / self.costs[t])
                cost = self.price(states, test) + sum(self.greedy(part) for part in self.split(states, test))
            self._greedy[states] = cost
        return self._greedy[states]

    def best(self, states: States, steps: int) -> tuple[float, int | None]:
        """Return the least cost from here where some tests are chosen freely, and the first of them."""
        if (states, steps) not in self._best:
            found: tuple[float, int | None] = (np.inf, None)
            for test in self.telling(states):
                cost = self.price(states, test)
                for part in self.split(states, test):
                    cost += self.best(part, steps - 1)[0] if steps > 1 else self.greedy(part)
                if cost < found[0] - 1e-12:
                    found = (cost, test)
            self._best[(states, steps)] = found if found[1] is not None else (0.0, None)
        return self._best[(states, steps)]

    def _bits(self, states: States, test: int) -> float:
        """Return what a test tells about the states left, times the belief in them."""
        whole = float(self.belief[list(states)].sum())
        shares = [float(self.belief[list(part)].sum()) for part in self.split(states, test)]
        return -sum(share * float(np.log2(share / whole)) for share in shares if share > 0.0)
