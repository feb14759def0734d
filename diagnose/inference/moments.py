"""What the vehicles of a hypothesis read on the whole: mean and covariance by group, measured from sound vehicles.

Every vehicle of a hypothesis has a twin, the same vehicle with nothing wrong (the first hypothesis). What a fault does
to the twin's readings is known far better from a few vehicles than the readings themselves, which charge, set points
and joints scatter; so a group's moments are those of its twins' whole class plus those of the change. A reading that a
fault leaves alone has then the very moments that it has with nothing wrong, and moves nothing. (Control variates;
Owen 2013, chapter 8.)
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array

__all__ = ["Groups", "Moments", "grouped", "paired_moments"]

#: vehicles' worth of the wider spread that the spread of a small group is drawn to, and of its mean
SHRINK, SHRINK_MEAN = 6.0, 2.0
#: where nearly each vehicle has a group of its own, the scatter within groups is widened at most so many times
MOST_WIDENED = 4.0

Labels = NDArray[np.intp]


class Groups(NamedTuple):
    """Vehicles of each hypothesis sorted into groups: `member` (h, m), number of the group within its hypothesis;
    `share` (h, groups, m), weight of each vehicle in each group, summing to 1 where a group has any; `size`
    (h, groups), how many vehicles' worth it holds; `total` (h, groups), the sum of weights.
    """

    member: Labels
    share: Array
    size: Array
    total: Array


class Moments(NamedTuple):
    """`mean` (h, groups, n) and `covariance` (h, groups, n, n)."""

    mean: Array
    covariance: Array


def grouped(label: Labels, weight: Array) -> Groups:
    """Sort the vehicles of each hypothesis by a label, numbered anew from 0 within each.

    Parameters: `label`, `weight` (h, m).
    """
    order = np.sort(label, axis=1)
    fresh = np.concatenate([np.zeros((len(label), 1), dtype=bool), order[:, 1:] != order[:, :-1]], axis=1)
    rank = np.cumsum(fresh, axis=1)
    member = np.empty_like(rank)
    np.put_along_axis(member, np.argsort(label, axis=1, kind="stable"), rank, axis=1)
    groups = int(rank.max(initial=0)) + 1
    held = (member[:, None, :] == np.arange(groups)[None, :, None]) * weight[:, None, :].astype(float)
    total = held.sum(axis=2)
    share = held / np.maximum(total, 1e-300)[:, :, None]
    count = 1.0 / np.maximum((share**2).sum(axis=2), 1e-300)
    return Groups(member, share, np.where(total > 0.0, count, 0.0), total)


def paired_moments(values: Array, twin: Array, label: Labels, kind: Labels, sort: Labels, weight: Array) -> Moments:
    """Return mean and covariance of each group, the noise of the meter left out.

    Parameters: `values`, `twin` (h, m, n), readings with the fault and of the twins with nothing wrong; `label` (h, m),
    the group; `kind` (h, m), the class of the twin, by which its own readings scatter; `sort` (h, m), a coarser label
    than that of the group, within which the change follows the twin's readings by one rule; `weight` (h, m).
    """
    change = values - twin
    even = _evened(sort, weight)
    classes, sorts, groups = grouped(kind, even), grouped(sort, weight), grouped(label, weight)
    usual = classes.share @ twin
    away = twin - np.take_along_axis(usual, classes.member[:, :, None], axis=1)
    spread = _shrunk(away, classes, grouped(np.zeros_like(label), even))
    shift, centre = (_group_mean(one, groups, sorts) for one in (change, twin))
    left, apart = (
        one - np.take_along_axis(mean, groups.member[:, :, None], axis=1)
        for one, mean in ((change, shift), (twin, centre))
    )
    slope = _slopes(apart, left, sorts)
    left = left - (np.take_along_axis(slope, sorts.member[:, :, None, None], axis=1) @ apart[..., None])[..., 0]
    rest = _shrunk(left, groups, sorts)
    of_class = classes.member[:, :, None] == np.arange(classes.share.shape[1])
    belongs = groups.share @ of_class.astype(float)
    middle = belongs @ usual
    between = usual[:, None] - middle[:, :, None]
    base = np.einsum("hgc,hcij->hgij", belongs, spread)
    base += np.einsum("hgc,hgci,hgcj->hgij", belongs, between, between)
    follow = slope[np.arange(len(slope))[:, None], _within(groups, sorts)]
    # a group's own twins are not quite those of their whole class; the change follows that difference too
    shift = shift + (follow @ (middle - centre)[..., None])[..., 0]
    own = follow + np.eye(values.shape[2])
    return Moments(middle + shift, own @ base @ np.swapaxes(own, 2, 3) + rest)


def _evened(sort: Labels, weight: Array) -> Array:
    """Return weights of which each sort of vehicles has the same on average."""
    sorts = grouped(sort, np.ones(weight.shape))
    average = (sorts.share * weight[:, None, :]).sum(axis=2)
    return np.asarray(weight / np.maximum(np.take_along_axis(average, sorts.member, axis=1), 1e-300))


def _group_mean(values: Array, groups: Groups, sorts: Groups) -> Array:
    """Return the mean of each group, that of a small one drawn to its sort's."""
    around = np.take_along_axis(sorts.share @ values, _within(groups, sorts)[:, :, None], axis=1)
    count = groups.size[:, :, None]
    return np.asarray((count * (groups.share @ values) + SHRINK_MEAN * around) / (count + SHRINK_MEAN))


def _scatter(values: Array, share: Array) -> Array:
    """Return sums of products by group, (h, groups, n, n)."""
    found = np.empty((*share.shape[:2], values.shape[2], values.shape[2]))
    for group in range(share.shape[1]):
        found[:, group] = np.swapaxes(values * share[:, group, :, None], 1, 2) @ values
    return found


def _shrunk(away: Array, groups: Groups, wide: Groups) -> Array:
    """Return covariances by group, each drawn to that of the wider group it lies in, and widened since neither they nor
    the means are known from few vehicles.

    Parameters: `away` (h, m, n), from the group's mean, which takes a vehicle's worth of each group's scatter.
    """
    row, inside = np.arange(len(away))[:, None], _within(groups, wide)
    taken = np.zeros(wide.size.shape)
    np.add.at(taken, (np.broadcast_to(row, inside.shape), inside), groups.size > 0.0)
    free = wide.size / np.maximum(np.maximum(wide.size - taken, wide.size / MOST_WIDENED), 1e-9)
    around = (_scatter(away, wide.share) * free[:, :, None, None])[row, inside]
    size = groups.size[:, :, None, None]
    drawn = (size * _scatter(away, groups.share) + SHRINK * around) / (size + SHRINK)
    return np.asarray(drawn * (1.0 + 1.0 / np.maximum(size, 1.0) + 2.0 / (size + SHRINK)))


def _within(groups: Groups, wide: Groups) -> Labels:
    """Return the wider group that each group lies in, (h, groups)."""
    first = np.argmax(groups.share > 0.0, axis=2)
    return np.take_along_axis(wide.member, first, axis=1)


def _slopes(away: Array, left: Array, sorts: Groups) -> Array:
    """Return how the change follows the twin's readings, by sort (h, sorts, n, n): ridge regression."""
    n = away.shape[2]
    scale = np.sqrt(np.maximum((away**2).mean(axis=1, keepdims=True), 1e-24))
    unit = away / scale
    inner = _scatter(unit, sorts.share)
    ridge = n / np.maximum(sorts.size, 1.0)
    inner[:, :, np.arange(n), np.arange(n)] += ridge[:, :, None]
    outer = np.empty_like(inner)
    for group in range(sorts.share.shape[1]):
        outer[:, group] = np.swapaxes(unit * sorts.share[:, group, :, None], 1, 2) @ left
    found = np.linalg.solve(inner, outer) / np.swapaxes(scale, 1, 2)[:, None]
    return np.asarray(np.swapaxes(found, 2, 3))
