"""The exact optimum of small troubleshooting problems, by dynamic programming over everything that can have happened.

It shares no code with the policy it judges: plain lists and, for worked examples, exact fractions. Causes are
numbered; a belief is a tuple of masses that need not sum to 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

import numpy as np

from diagnose.inference.policy import Act, Acts, after_outcomes, after_repair, at_places, next_act

Number = Fraction | float
Mass = tuple[Number, ...]


class Case(NamedTuple):
    """One problem: `mends`, causes by repair; `tests`, for each and each of its outcomes the chances by cause."""

    prior: tuple[Number, ...]
    mends: tuple[frozenset[int], ...]
    repair_costs: tuple[Number, ...]
    tests: tuple[tuple[tuple[Number, ...], ...], ...]
    test_costs: tuple[Number, ...]
    service: Number | None = None


def fractions(text: str) -> tuple[Fraction, ...]:
    """Return the numbers of a line as exact fractions."""
    return tuple(Fraction(each) for each in text.split())


def yes_or_no(*rows: str) -> tuple[tuple[tuple[Number, ...], ...], ...]:
    """Return tests with two outcomes from lines that hold the chance of the first by cause."""
    return tuple((row, tuple(1 - p for p in row)) for row in map(fractions, rows))


def acts_of(case: Case) -> Acts:
    """Return a problem in the arrays of the policy, by place where no two repairs mend the same cause."""
    h = len(case.prior)
    outcomes = np.array([[[float(row[c]) for row in test] for c in range(h)] for test in case.tests])
    outcomes = outcomes.reshape(len(case.tests), h, -1 if case.tests else 2)
    costs, test_costs = (np.array([float(c) for c in each]) for each in (case.repair_costs, case.test_costs))
    service = np.inf if case.service is None else float(case.service)
    if sum(len(each) for each in case.mends) == len(frozenset().union(*case.mends)):
        places = [next((r for r, each in enumerate(case.mends) if c in each), -1) for c in range(h)]
        return at_places(np.array(places), costs, outcomes, test_costs, service)
    mends = np.array([[c in each for c in range(h)] for each in case.mends])
    return Acts(mends, costs, outcomes, test_costs, service)


def optimum(case: Case, use_tests: bool = True, first: int | None = None) -> Number:
    """Return the least expected cost; `first` makes that test the first act."""
    seen: dict[tuple[frozenset[int], frozenset[tuple[int, int]]], Number] = {}

    def test(belief: Mass, number: int, gone: frozenset[int], known: frozenset[tuple[int, int]]) -> Number:
        spent = case.test_costs[number] * sum(belief)
        for outcome, row in enumerate(case.tests[number]):
            after = tuple(b * p for b, p in zip(belief, row, strict=True))
            if sum(after) > 0:
                spent += best(after, gone, known | {(number, outcome)})
        return spent

    def best(belief: Mass, gone: frozenset[int], known: frozenset[tuple[int, int]]) -> Number:
        whole = sum(belief)
        if (gone, known) in seen:
            return seen[(gone, known)]
        ways = [] if case.service is None else [case.service * whole]
        for mended, cost in zip(case.mends, case.repair_costs, strict=True):
            if any(belief[c] > 0 for c in mended):
                after = tuple(0 * b if c in mended else b for c, b in enumerate(belief))
                rest = best(after, gone | mended, known) if sum(after) > 0 else 0
                ways.append(cost * whole + rest)
        taken = {number for number, _ in known}
        for number in range(len(case.tests) if use_tests else 0):
            if number not in taken:
                ways.append(test(belief, number, gone, known))
        seen[(gone, known)] = min(ways)
        return seen[(gone, known)]

    if first is not None:
        return test(case.prior, first, frozenset(), frozenset())
    return best(case.prior, frozenset(), frozenset())


def followed(case: Case, steps: int) -> float:
    """Return the expected cost when every act is the one that the policy names, worked out over all that may happen."""
    acts = acts_of(case)

    def spent(belief: np.ndarray, left: np.ndarray) -> float:
        whole = float(belief.sum())
        if whole <= 1e-15:
            return 0.0
        act: Act = next_act(belief, acts, steps, left)
        if act.sort == "service":
            return acts.service * whole
        if act.sort == "repair":
            return float(acts.repair_costs[act.number]) * whole + spent(after_repair(belief, acts, act.number), left)
        assert act.sort == "test"
        remaining = left.copy()
        remaining[act.number] = False
        after = after_outcomes(belief, acts, act.number)
        return float(acts.test_costs[act.number]) * whole + sum(spent(each, remaining) for each in after)

    return spent(np.array([float(p) for p in case.prior]), np.ones(len(case.tests), dtype=bool))


def least_tests(prior: Sequence[Number], results: Sequence[Sequence[int]], costs: Sequence[Number]) -> Number:
    """Return the least expected cost of identifying the state by sure tests, `results` (tests, states)."""
    seen: dict[tuple[int, ...], Number] = {}

    def best(states: tuple[int, ...]) -> Number:
        if states not in seen:
            ways = [
                costs[t] * sum(prior[s] for s in states) + sum(best(part) for part in parts)
                for t, parts in enumerate(split(states, row) for row in results)
                if len(parts) > 1
            ]
            seen[states] = min(ways, default=0)
        return seen[states]

    return best(tuple(range(len(prior))))


def split(states: Sequence[int], row: Sequence[int]) -> list[tuple[int, ...]]:
    """Return the states by the answer of a test."""
    return [tuple(s for s in states if row[s] == answer) for answer in sorted({row[s] for s in states})]
