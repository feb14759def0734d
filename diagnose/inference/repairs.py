"""What mending is expected to cost when nothing more is tested: repairs in their best order, each checked at once.

A repair that mends what is wrong ends the job; a call-out mends everything. Where each cause has one repair the best
order is that of chance over cost, and calling out pays after some number of repairs or never; where repairs overlap the
same rule is applied to what is left after each, which is close and not always best. Masses of belief need not sum to 1:
costs scale with them, so an outcome's share of the belief can be given as it is. Nothing here tests or chooses a test.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array

__all__ = ["NOTHING", "cost_of_order", "cost_of_overlapping", "cost_of_repairs", "repair_order"]

#: belief below this share of the whole is taken as none
NOTHING = 1e-12


def repair_order(held: Array, costs: Array) -> NDArray[np.intp]:
    """Return the best order of repairs of which each mends causes of its own: by chance over cost.

    Parameters: `held` (places,), belief in the causes each repair mends; `costs` (places,) [any one unit], above 0.
    Returns: numbers of the repairs, first to last.
    Source: J. B. Kadane, H. A. Simon, Optimal strategies for a class of constrained sequential problems (from memory).

    >>> repair_order(np.array([0.40, 0.25, 0.20, 0.10, 0.05]), np.array([10.0, 2, 6, 1, 20])).tolist()
    [1, 3, 0, 2, 4]
    """
    return np.argsort(-held / costs, kind="stable")


def cost_of_repairs(held: Array, costs: Array, service: float = np.inf, rest: Array | float = 0.0) -> Array:
    """Return what is expected to be spent on repairs in their best order, with a call-out where it pays.

    Parameters: `held` (..., places), belief in the causes each repair mends; `costs` (places,); `service`, cost of the
    call-out, infinite where there is none; `rest` (...), belief in causes that only the call-out mends. Where there is
    no call-out they are left when all repairs have been tried.
    Returns: cost, shape (...), times the whole of the belief.

    >>> float(cost_of_repairs(np.array([0.40, 0.25, 0.20, 0.10, 0.05]), np.array([10.0, 2, 6, 1, 20])).round(9))
    11.75
    """
    order = np.argsort(-held / costs, axis=-1, kind="stable")
    mass = np.take_along_axis(held, order, axis=-1)
    left = np.asarray(rest)[..., None] + np.cumsum(mass[..., ::-1], axis=-1)[..., ::-1]
    spent = np.cumsum(np.where(mass > NOTHING * left[..., :1], costs[order] * left, 0.0), axis=-1)
    if not np.isfinite(service):
        return np.asarray(spent[..., -1])
    after = np.concatenate([left[..., 1:], np.broadcast_to(np.asarray(rest)[..., None], (*left.shape[:-1], 1))], -1)
    return np.asarray(np.minimum((spent + service * after).min(axis=-1), service * left[..., 0]))


def cost_of_order(
    belief: Array, mends: NDArray[np.bool_], costs: Array, order: NDArray[np.intp], service: float = np.inf
) -> float:
    """Return what is expected to be spent when repairs are tried in a given order and a call-out ends what is left.

    Parameters: `belief` (h,); `mends` (repairs, h), which causes each repair mends; `costs` (repairs,); `order`,
    numbers of repairs, some of them or all.
    Raises: ValueError where the order leaves a cause and there is no call-out.

    >>> mends = np.array([[1, 1, 0, 0], [0, 1, 1, 0], [0, 0, 1, 1]], dtype=bool)
    >>> belief = np.array([0.20, 0.25, 0.40, 0.15])
    >>> round(cost_of_order(belief, mends, np.ones(3), np.array([2, 0])), 9)
    1.45
    """
    left, spent = belief.astype(float), 0.0
    for repair in order.tolist():
        spent += float(costs[repair] * left.sum())
        left = np.where(mends[repair], 0.0, left)
    if not np.isfinite(service):
        if left.sum() > NOTHING * belief.sum():
            raise ValueError("the order leaves causes that nothing mends")
        return spent
    return spent + service * float(left.sum())


def cost_of_overlapping(belief: Array, mends: NDArray[np.bool_], costs: Array, service: float = np.inf) -> Array:
    """Return what is expected to be spent on repairs that may overlap, by chance over cost of what is left.

    Parameters: `belief` (..., h); `mends` (repairs, h); `costs` (repairs,); `service` as in `cost_of_repairs`.
    Returns: cost, shape (...), times the whole of the belief.
    """
    whole = belief.sum(axis=-1)
    left, spent = belief.astype(float), np.zeros(whole.shape)
    best = service * whole if np.isfinite(service) else np.full(whole.shape, np.inf)
    for _ in range(len(costs)):
        reached = left @ mends.T.astype(float)
        first = np.argmax(reached / costs, axis=-1)
        useful = np.take_along_axis(reached, first[..., None], axis=-1)[..., 0] > NOTHING * whole
        spent = spent + np.where(useful, costs[first] * left.sum(axis=-1), 0.0)
        left = np.where(mends[first], 0.0, left)
        if np.isfinite(service):
            best = np.minimum(best, spent + service * left.sum(axis=-1))
    return best if np.isfinite(service) else spent
