"""Which act comes next when repairs, tests and a call-out all cost: the one that leaves least to be spent.

A discrete problem: causes with chances, of which one is there; repairs that mend some of them and are checked at once;
tests with chances of outcomes by cause, each taken once; perhaps a call-out that mends everything. An act is judged by
its cost and by what is expected to be spent after it if only repairs followed; with more than one step the acts after
it are judged in the same way first. Belief may be given without being normalised: everything scales with it. This file
knows nothing of vehicles and readings.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.repairs import NOTHING, cost_of_overlapping, cost_of_repairs, repair_order

__all__ = [
    "Act", "Acts", "after_outcomes", "after_repair", "at_places", "cost_of_mending", "costs_of_tests", "next_act",
]  # fmt: skip

#: acts of either sort that are looked at more closely where more than one step is looked ahead
WIDEST = 8
#: a test must save this share of what is to be spent, so that rounding never chooses one
LEAST_SAVING = 1e-12


class Acts(NamedTuple):
    """What can be done about causes 0 to h - 1.

    `mends` (repairs, h), which causes a repair mends; `repair_costs` (repairs,); `outcomes` (tests, h, outcomes),
    chances by cause, rows summing to 1; `test_costs` (tests,); `service`, cost of the call-out, infinite where there is
    none; `places` (h,), the one repair of each cause, -1 for none, given where no two repairs mend the same cause.
    """

    mends: NDArray[np.bool_]
    repair_costs: Array
    outcomes: Array
    test_costs: Array
    service: float = np.inf
    places: NDArray[np.intp] | None = None


class Act(NamedTuple):
    """The act to do next: its sort, its number among its sort, and what is expected to be spent from here on with it.

    `tests` (tests,), the same for each test taken next, infinite for those not allowed.
    """

    sort: Literal["test", "repair", "service", "nothing"]
    number: int
    expected: float
    tests: Array


def at_places(
    places: NDArray[np.intp], repair_costs: Array, outcomes: Array, test_costs: Array, service: float = np.inf
) -> Acts:
    """Return the acts where each cause is mended by one repair, that of its place.

    Parameters: `places` (h,), the number of each cause's repair, -1 where only the call-out mends it; others as in
    `Acts`. That nothing is wrong is a cause too: its place costs what it takes to be sure and to say so.
    """
    mends = np.arange(len(repair_costs))[:, None] == places[None, :]
    return Acts(mends, repair_costs, outcomes, test_costs, service, places)


def cost_of_mending(beliefs: Array, acts: Acts) -> Array:
    """Return what is expected to be spent if nothing more is tested, for beliefs of shape (..., h).

    Returns: cost, shape (...), times the whole of each belief.
    """
    if acts.places is None:
        return cost_of_overlapping(beliefs, acts.mends, acts.repair_costs, acts.service)
    held = beliefs @ acts.mends.T.astype(float)
    rest = beliefs @ (acts.places < 0).astype(float)
    return cost_of_repairs(held, acts.repair_costs, acts.service, rest)


def after_outcomes(belief: Array, acts: Acts, test: int) -> Array:
    """Return the belief that each outcome of a test leaves, not normalised, shape (outcomes, h)."""
    return np.asarray(acts.outcomes[test].T * belief)


def after_repair(belief: Array, acts: Acts, repair: int) -> Array:
    """Return the belief that is left when a repair has not helped, not normalised, shape (h,)."""
    return np.where(acts.mends[repair], 0.0, belief)


def costs_of_tests(belief: Array, acts: Acts, left: NDArray[np.bool_] | None = None) -> Array:
    """Return what is expected to be spent if one test is taken and then only repairs follow.

    Parameters: `belief` (h,); `left` (tests,), whether a test may still be taken (all, if not said).
    Returns: cost by test, its own included, shape (tests,), infinite for tests not left.
    """
    count, _, outcomes = acts.outcomes.shape
    found = np.full(count, np.inf)
    which = np.arange(count) if left is None else np.flatnonzero(left)
    if len(which) == 0:
        return found
    if acts.places is None:
        shares = acts.outcomes[which].transpose(0, 2, 1) * belief
        after = cost_of_mending(shares, acts)
    else:
        by_cause = np.concatenate([acts.mends.T, (acts.places < 0)[:, None]], axis=1) * belief[:, None]
        held = (acts.outcomes[which].transpose(0, 2, 1).reshape(-1, len(belief)) @ by_cause).reshape(
            len(which), outcomes, -1
        )
        after = cost_of_repairs(held[..., :-1], acts.repair_costs, acts.service, held[..., -1])
    found[which] = acts.test_costs[which] * belief.sum() + after.sum(axis=1)
    return found


def next_act(belief: Array, acts: Acts, steps: int = 1, left: NDArray[np.bool_] | None = None) -> Act:
    """Return the act that is expected to leave least to be spent.

    Parameters: `belief` (h,), above 0 for one cause at least; `steps` looked ahead, from 1: with one step a test is
    followed by repairs alone; `left` (tests,), whether a test may still be taken.
    Returns: the act, `nothing` where neither repair nor call-out would mend what is left.
    Source: D. Heckerman, J. Breese, K. Rommelse, Decision-theoretic troubleshooting (1995), for the single step.

    >>> tells = np.array([[[0.9, 0.1], [0.1, 0.9]]])
    >>> acts = at_places(np.array([0, 1]), np.array([60.0, 25.0]), tells, np.array([4.0]))
    >>> next_act(np.array([0.6, 0.4]), acts)[:2]
    ('test', 0)
    """
    remaining = np.ones(len(acts.test_costs), dtype=bool) if left is None else left
    mending = float(cost_of_mending(belief, acts))
    tests = costs_of_tests(belief, acts, remaining)
    repairs: dict[int, float] = {}
    if steps > 1:
        for test in _best(tests):
            tests[test] = _with_test(belief, acts, test, remaining, steps)
        for repair in _candidates(belief, acts):
            repairs[repair] = _with_repair(belief, acts, repair, remaining, steps)
    test = int(np.argmin(tests)) if len(tests) else -1
    least = min([mending, *repairs.values()])
    if test >= 0 and tests[test] < least * (1.0 - LEAST_SAVING):
        return Act("test", test, float(tests[test]), tests)
    better = {r: cost for r, cost in repairs.items() if cost < mending * (1.0 - LEAST_SAVING)}
    if better:
        repair = min(better, key=lambda r: better[r])
        return Act("repair", repair, better[repair], tests)
    return _first_of_mending(belief, acts, mending, tests)


def _first_of_mending(belief: Array, acts: Acts, mending: float, tests: Array) -> Act:
    """Return the first act where only mending follows: the likeliest repair for its cost, or the call-out."""
    candidates = _candidates(belief, acts)
    if np.isfinite(acts.service) and mending >= acts.service * belief.sum() * (1.0 - LEAST_SAVING):
        return Act("service", 0, mending, tests)
    return Act("repair", candidates[0], mending, tests) if candidates else Act("nothing", 0, mending, tests)


def _candidates(belief: Array, acts: Acts) -> list[int]:
    """Return the repairs that may help, best first by chance over cost."""
    held = acts.mends.astype(float) @ belief
    useful = held > NOTHING * belief.sum()
    return [r for r in repair_order(held, acts.repair_costs).tolist() if useful[r]][:WIDEST]


def _best(tests: Array) -> list[int]:
    """Return the tests that promise most at one step."""
    return [t for t in np.argsort(tests, kind="stable").tolist()[:WIDEST] if np.isfinite(tests[t])]


def _with_test(belief: Array, acts: Acts, test: int, left: NDArray[np.bool_], steps: int) -> float:
    """Return what is expected to be spent if a test is taken and the rest chosen looking fewer steps ahead."""
    remaining = left.copy()
    remaining[test] = False
    after = after_outcomes(belief, acts, test)
    spent = float(acts.test_costs[test] * belief.sum())
    return spent + sum(_ahead(each, acts, remaining, steps - 1) for each in after if each.sum() > 0.0)


def _with_repair(belief: Array, acts: Acts, repair: int, left: NDArray[np.bool_], steps: int) -> float:
    """Return the same where a repair is tried."""
    spent = float(acts.repair_costs[repair] * belief.sum())
    after = after_repair(belief, acts, repair)
    return spent + (_ahead(after, acts, left, steps - 1) if after.sum() > NOTHING * belief.sum() else 0.0)


def _ahead(belief: Array, acts: Acts, left: NDArray[np.bool_], steps: int) -> float:
    """Return what is expected to be spent from a belief, looking some steps ahead."""
    if steps > 1:
        return next_act(belief, acts, steps, left).expected
    tests = costs_of_tests(belief, acts, left)
    return min(float(cost_of_mending(belief, acts)), float(tests.min(initial=np.inf)))
