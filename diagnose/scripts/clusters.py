"""States that are nearly alike put together, so that as little as possible is lost: the pair that costs least first.

Pure numbers: what the states are is not known here.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np

from diagnose.circuit.elimination import Array

__all__ = ["clustered"]

#: difference (half the sum of absolute differences) below which two states are one however many there may be
ALIKE = 0.02


def clustered(
    states: Array, reach: Array, keys: Sequence[Hashable], most: int, names: Sequence[int] | None = None
) -> list[list[int]]:
    """Return groups of states, at most `most` of them unless keys differ too much.

    Parameters: `states` (n, features); `reach` (n,), how likely each is; `keys`, only states of one key come together;
    `names`, what each is called in the groups (its number, if not said).
    Returns: groups in the order of their first members.

    >>> clustered(np.array([[1.0, 0.0], [0.99, 0.01], [0.0, 1.0]]), np.array([0.5, 0.2, 0.3]), [0, 0, 0], 3)
    [[0, 1], [2]]
    """
    count = len(states)
    called = list(range(count) if names is None else names)
    if not count:
        return []
    centre, weight = states.astype(float).copy(), np.maximum(reach.astype(float), 1e-12)
    members = [[n] for n in range(count)]
    number = {key: k for k, key in enumerate(dict.fromkeys(keys))}
    kind = np.array([number[key] for key in keys])
    apart = np.full((count, count), np.inf)
    for n in range(count):
        apart[n] = _apart(centre, kind, n)
    alive = count
    while alive > 1:
        rarer = weight[:, None] * weight / (weight[:, None] + weight)
        cost = np.where(apart < ALIKE, 0.0, rarer * apart**2)
        first, second = np.unravel_index(int(np.argmin(cost)), cost.shape)
        if not np.isfinite(cost[first, second]) or (alive <= most and cost[first, second] > 0.0):
            break
        one, other = sorted((int(first), int(second)))
        total = weight[one] + weight[other]
        centre[one] = (weight[one] * centre[one] + weight[other] * centre[other]) / total
        weight[one] = total
        members[one] += members[other]
        members[other] = []
        kind[other] = -1 - other
        apart[other], apart[:, other] = np.inf, np.inf
        apart[one] = np.where(kind == kind[one], _apart(centre, kind, one), np.inf)
        apart[:, one] = apart[one]
        alive -= 1
    return [[called[n] for n in sorted(own)] for own in members if own]


def _apart(centre: Array, kind: Array, n: int) -> Array:
    """Return how far one state is from all others, infinite from itself and from those of another key."""
    away = 0.5 * np.abs(centre - centre[n]).sum(axis=1)
    away[(kind != kind[n]) | (np.arange(len(centre)) == n)] = np.inf
    return np.asarray(away)
