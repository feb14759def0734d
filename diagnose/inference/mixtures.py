"""How much a number is expected to tell about which place is at fault, from a Gaussian for each stratum of size.

Counting outcomes in bins would promise information that is only the chance of small samples, so each stratum is
described by its mean and spread; those that read as a sound vehicle does are taken together with it, which costs
nothing since they cannot be told from it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array

__all__ = ["Parts", "number_information", "parts_of"]

#: strata alike in mean (in spreads) and in spread (as a factor) are one; at most so many others are kept
SAME_MEAN, SAME_SPREAD, SAME_CHANCE, MOST = 0.3, 1.3, 0.05, 90
#: share of readings that are slips, which may fall into any bin
SLIP = 0.02
#: where edges may lie about the mean of a stratum, in spreads, and half the number of edges
STEPS = np.array([-2.0, -1.0, -0.33, 0.33, 1.0, 2.0])
BINS = 28


class Parts(NamedTuple):
    """Strata of all hypotheses in one list.

    `rows` (p,), numbers of hypotheses; `members` (p, m), weights of vehicles, rows summing to 1; `share` (p,) of all
    belief; `place` (p,), numbers of places, and the belief `held` in each place.
    """

    rows: NDArray[np.intp]
    members: Array
    share: Array
    place: NDArray[np.intp]
    held: Array


def parts_of(weights: Array, belief: Array, strata: NDArray[np.intp], places: NDArray[np.intp]) -> Parts:
    """Sort the vehicles of each hypothesis into strata.

    Parameters: `weights` (h, m), rows summing to 1; `belief` (h,), summing to 1; `strata` (h, m); `places` (h,).
    Returns: the strata that hold any weight, those of the first hypothesis of all (nothing wrong) among them.
    """
    rows, members, share = [], [], []
    for level in range(int(strata.max()) + 1):
        inside = weights * (strata == level)
        total = inside.sum(axis=1)
        some = np.flatnonzero(total > 1e-6)
        rows.append(some)
        members.append(inside[some] / total[some, None])
        share.append(total[some] * belief[some])
    row, held = np.concatenate(rows), np.concatenate(share)
    return Parts(row, np.concatenate(members), held, places[row], np.bincount(places[row], held))


def number_information(
    parts: Parts, values: Array, noise: Array, unsteady: Array, usual_mean: float, usual_spread: float
) -> float:
    """Return the information between a number and the place at fault.

    A stratum holds few vehicles, so its mean is that of all sound vehicles and the mean change that the fault makes
    to its own: the same vehicles under both, so that a fault that changes nothing is seen to change nothing.
    Parameters: `values`, `noise`, `unsteady` (chance to be called so), each (h, m), nothing wrong first; `usual_mean`,
    `usual_spread`, those of many sound vehicles after the readings so far.
    Returns: bits.
    """
    sound = values[0]
    change = values[parts.rows] - sound
    shift = (parts.members * change).sum(axis=1)
    usual = (parts.members * sound).sum(axis=1)
    mean = usual_mean + shift
    own = (parts.members * (change - shift[:, None]) ** 2).sum(axis=1)
    both = (parts.members * (change - shift[:, None]) * (sound - usual[:, None])).sum(axis=1)
    noisy = (parts.members * noise[parts.rows] ** 2).sum(axis=1)
    base = int(np.flatnonzero(parts.rows == 0)[0])
    # Where the circuit is not straight, vehicles moved by a straight law still differ: what a fault shares with a sound
    # vehicle must not seem to tell them apart.
    seen = float(parts.members[base] @ (sound - usual[base]) ** 2)
    spread = np.sqrt(np.maximum(max(usual_spread**2, seen) + own + 2.0 * both, 0.05 * own) + noisy + 1e-12)
    chance = (parts.members * unsteady[parts.rows]).sum(axis=1)
    ratio = spread / spread[base]
    alike = np.abs(mean - mean[base]) < SAME_MEAN * np.minimum(spread, spread[base])
    alike &= (ratio < SAME_SPREAD) & (ratio > 1.0 / SAME_SPREAD) & (np.abs(chance - chance[base]) < SAME_CHANCE)
    other = np.flatnonzero(~alike)
    if not other.size:
        return 0.0
    other = other[np.argsort(-parts.share[other])[:MOST]]
    kept = np.concatenate([[base], other])
    mixed = np.zeros((len(parts.held), len(kept)))
    mixed[parts.place[other], np.arange(1, len(kept))] = parts.share[other]
    mixed[:, 0] = np.maximum(parts.held - mixed.sum(axis=1), 0.0)
    numbers = _steady(mixed, parts.held, mean[kept], spread[kept], chance[kept])
    return numbers + _words(mixed, parts.held, chance[kept])


def _steady(mixed: Array, held: Array, mean: Array, spread: Array, chance: Array) -> float:
    """Return the information of the numbers, sorted into bins.

    Parameters: `mixed` (places, strata), belief in each stratum of each place; `held` (places,), its sums.
    """
    edges = _edges(mean, spread, mixed.sum(axis=0))
    below = np.pad(_normal((edges[:, None] - mean) / spread), ((1, 1), (0, 0)))
    below[-1] = 1.0
    inside = (1.0 - chance) * ((1.0 - SLIP) * np.diff(below, axis=0) + SLIP / (len(edges) + 1))
    joint = inside @ mixed.T
    whole = joint.sum(axis=1, keepdims=True) * held
    return float((joint * np.log2(np.maximum(joint, 1e-300) / np.maximum(whole, 1e-300))).sum())


def _edges(mean: Array, spread: Array, share: Array) -> Array:
    """Return the edges of bins: half of them cut the belief evenly, half the strata, so that a rare one has its own."""
    at = (mean[:, None] + STEPS * spread[:, None]).ravel()
    order = np.argsort(at)
    weight = np.cumsum(np.repeat(share, len(STEPS))[order])
    evenly = np.searchsorted(weight, weight[-1] * (np.arange(BINS) + 0.5) / BINS)
    cut = np.linspace(0, len(at) - 1, BINS).astype(int)
    return np.unique(at[order[np.concatenate([np.minimum(evenly, len(at) - 1), cut])]])


def _normal(z: Array) -> Array:
    """Return the normal distribution function, to 2e-4."""
    z = np.clip(z, -8.0, 8.0)
    return np.asarray(1.0 / (1.0 + np.exp(-z * (1.5976 + 0.070566 * z * z))))


def _words(mixed: Array, held: Array, chance: Array) -> float:
    """Return the information of a reading's being called unsteady."""
    by_place = mixed @ chance / np.maximum(held, 1e-300)
    overall = float(by_place @ held)
    if overall <= 1e-9:
        return 0.0
    return float((held * by_place * np.log2(np.maximum(by_place, 1e-12) / overall)).sum())
