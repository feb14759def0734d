"""What the vehicles of a hypothesis read on the whole: mean and covariance by group, measured from sound vehicles.

Every vehicle of a hypothesis has a twin, the same vehicle with nothing wrong (the first hypothesis). What a fault does
to the twin's readings is known far better from a few vehicles than the readings themselves, which charge, set points
and joints scatter; so a group's moments are those of its twins' whole class plus those of the change. A reading that a
fault leaves alone has then the very moments that it has with nothing wrong, and moves nothing. (Control variates;
Owen 2013, chapter 8.)
"""

from __future__ import annotations

from collections.abc import Iterator
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
    """Vehicles of each hypothesis sorted into groups, all in one list, hypothesis after hypothesis: `member` (h, m),
    the number of each vehicle's group; `share` (h, m), its weight in the group, summing to 1 where the group has any;
    `owner` (g,), the hypothesis of each; `size` (g,), how many vehicles' worth it holds; `total` (g,), the sum of
    weights; `order` (h * m,), the vehicles as they stand in the groups, of which each begins at `starts` (g,).
    """

    member: Labels
    share: Array
    owner: Labels
    size: Array
    total: Array
    order: Labels
    starts: Labels

    @property
    def one_of(self) -> Labels:
        """One vehicle of each group, by its place in the list of all."""
        return self.order[self.starts]

    def sums(self, values: Array) -> Array:
        """Return the weighted sum of numbers (h, m, k) over the vehicles of each group, (g, k)."""
        weighted = (values * self.share[:, :, None]).reshape(len(self.order), values.shape[2])
        return np.asarray(np.add.reduceat(weighted[self.order], self.starts, axis=0))

    def within(self, wide: Groups) -> Labels:
        """Return the wider group that each group lies in, (g,)."""
        return wide.member.ravel()[self.one_of]


class Moments(NamedTuple):
    """`mean` (g, n) and `covariance` (g, n, n) of groups in one list."""

    mean: Array
    covariance: Array


def grouped(label: Labels, weight: Array) -> Groups:
    """Sort the vehicles of each hypothesis by a label, in the order of the labels.

    Parameters: `label`, from 0, and `weight` (h, m).
    """
    hypotheses, vehicles = label.shape
    key = (np.arange(hypotheses)[:, None] * (int(label.max(initial=0)) + 1) + label).ravel()
    order = np.argsort(key, kind="stable")
    fresh = np.concatenate([[True], key[order][1:] != key[order][:-1]])
    starts = np.flatnonzero(fresh)
    member = np.empty_like(key)
    member[order] = np.cumsum(fresh) - 1
    total = np.bincount(member, weight.ravel(), len(starts))
    share = weight.ravel() / np.maximum(total, 1e-300)[member]
    count = 1.0 / np.maximum(np.bincount(member, share**2, len(starts)), 1e-300)
    owner = order[starts] // vehicles
    size = np.where(total > 0.0, count, 0.0)
    return Groups(member.reshape(label.shape), share.reshape(label.shape), owner, size, total, order, starts)


def paired_moments(
    values: Array, twin: Array, label: Labels, kind: Labels, sort: Labels, weight: Array, groups: Groups, least: Array
) -> Moments:  # fmt: skip
    """Return mean and covariance of each group, the noise of the meter left out.

    Parameters: `values`, `twin` (h, m, n), readings with the fault and of the twins with nothing wrong; `label` (h, m),
    the group; `kind` (h, m), the class of the twin, by which its own readings scatter; `sort` (h, m), a coarser label
    than that of the group, within which the change follows the twin's readings by one rule; `weight` (h, m); `groups`,
    those of label and weight; `least` (n,), scatter of the twin's readings below which no change follows it: what the
    meter hides.
    """
    change = values - twin
    even = _evened(sort, weight)
    classes, sorts = grouped(kind, even), grouped(sort, weight)
    usual = classes.sums(twin)
    away = twin - usual[classes.member]
    spread = _shrunk(away, classes, grouped(np.zeros_like(label), even))
    shift, centre = (_group_mean(one, groups, sorts) for one in (change, twin))
    left, apart = (one - mean[groups.member] for one, mean in ((change, shift), (twin, centre)))
    slope = _slopes(apart, left, sorts, least)
    left -= _followed(slope, apart, sorts)
    rest = _shrunk(left, groups, sorts)
    middle, base = _of_classes(groups, classes, usual, spread)
    follow = slope[groups.within(sorts)]
    # a group's own twins are not quite those of their whole class; the change follows that difference too
    shift = shift + (follow @ (middle - centre)[..., None])[..., 0]
    own = follow + np.eye(values.shape[2])
    return Moments(middle + shift, own @ base @ np.swapaxes(own, 1, 2) + rest)


def _evened(sort: Labels, weight: Array) -> Array:
    """Return weights of which each sort of vehicles has the same on average."""
    sorts = grouped(sort, np.ones(weight.shape))
    return np.asarray(weight / np.maximum(sorts.sums(weight[:, :, None])[sorts.member, 0], 1e-300))


def _of_classes(groups: Groups, classes: Groups, usual: Array, spread: Array) -> tuple[Array, Array]:
    """Return mean and covariance of the twins of each group, a mixture of the classes that they belong to.

    Parameters: `usual` (c, n), `spread` (c, n, n) of the classes.
    """
    both = groups.member.ravel() * len(classes.owner) + classes.member.ravel()
    pair, number = np.unique(both, return_inverse=True)
    of_group, of_class = pair // len(classes.owner), pair % len(classes.owner)
    belongs = np.bincount(number, groups.share.ravel(), len(pair))
    starts = np.searchsorted(of_group, np.arange(len(groups.owner)))
    middle = np.add.reduceat(belongs[:, None] * usual[of_class], starts, axis=0)
    between = usual[of_class] - middle[of_group]
    whole = spread[of_class]
    whole += between[:, :, None] * between[:, None, :]
    whole *= belongs[:, None, None]
    return middle, np.add.reduceat(whole, starts, axis=0)


def _group_mean(values: Array, groups: Groups, sorts: Groups) -> Array:
    """Return the mean of each group, that of a small one drawn to its sort's."""
    around, count = sorts.sums(values)[groups.within(sorts)], groups.size[:, None]
    return np.asarray((count * groups.sums(values) + SHRINK_MEAN * around) / (count + SHRINK_MEAN))


def _scatter(values: Array, groups: Groups) -> Array:
    """Return sums of products by group, (g, n, n)."""
    n = values.shape[2]
    sorted_by_group = values.reshape(len(groups.order), n)[groups.order]
    weighted = sorted_by_group * groups.share.ravel()[groups.order, None]
    found = np.empty((len(groups.owner), n, n))
    for k in range(n):
        sums = np.add.reduceat(weighted[:, k, None] * sorted_by_group[:, k:], groups.starts, axis=0)
        found[:, k, k:] = found[:, k:, k] = sums
    return found


def _shrunk(away: Array, groups: Groups, wide: Groups) -> Array:
    """Return covariances by group, each drawn to that of the wider group it lies in, and widened since neither they nor
    the means are known from few vehicles.

    Parameters: `away` (h, m, n), from the group's mean, which takes a vehicle's worth of each group's scatter.
    """
    inside = groups.within(wide)
    taken = np.bincount(inside, groups.size > 0.0, len(wide.owner))
    free = wide.size / np.maximum(np.maximum(wide.size - taken, wide.size / MOST_WIDENED), 1e-9)
    around = (_scatter(away, wide) * free[:, None, None])[inside]
    size = groups.size[:, None, None]
    drawn = (size * _scatter(away, groups) + SHRINK * around) / (size + SHRINK)
    return np.asarray(drawn * (1.0 + 1.0 / np.maximum(size, 1.0) + 2.0 / (size + SHRINK)))


def _each(groups: Groups) -> Iterator[tuple[Labels, Labels, Array]]:
    """Yield the first group of every hypothesis, then the second of those that have one, and so on: the hypotheses,
    their groups, and which vehicles these hold (hypotheses, m).
    """
    begins = np.searchsorted(groups.owner, np.arange(len(groups.member)))
    counts = np.bincount(groups.owner, minlength=len(groups.member))
    for turn in range(int(counts.max(initial=0))):
        those = np.flatnonzero(counts > turn)
        numbers = begins[those] + turn
        yield those, numbers, groups.member[those] == numbers[:, None]


def _followed(slope: Array, apart: Array, sorts: Groups) -> Array:
    """Return what the change follows of the twin's readings, (h, m, n)."""
    found = np.zeros(apart.shape)
    for those, numbers, inside in _each(sorts):
        found[those] += (apart[those] * inside[:, :, None]) @ np.swapaxes(slope[numbers], 1, 2)
    return found


def _slopes(away: Array, left: Array, sorts: Groups, least: Array) -> Array:
    """Return how the change follows the twin's readings, by sort (s, n, n): ridge regression, in which a reading that
    hardly scatters counts for as little.
    """
    n = away.shape[2]
    scale = np.sqrt(np.maximum((away**2).mean(axis=1, keepdims=True), least**2))
    unit = away / scale
    inner = _scatter(unit, sorts)
    inner[:, np.arange(n), np.arange(n)] += (n / np.maximum(sorts.size, 1.0))[:, None]
    outer = np.empty_like(inner)
    weighted = unit * sorts.share[:, :, None]
    for those, numbers, inside in _each(sorts):
        outer[numbers] = np.swapaxes(weighted[those] * inside[:, :, None], 1, 2) @ left[those]
    found = np.linalg.solve(inner, outer) / np.swapaxes(scale, 1, 2)[sorts.owner]
    return np.asarray(np.swapaxes(found, 1, 2))
