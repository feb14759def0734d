"""States of belief on one level that are nearly alike made one, so that a tree of thousands of paths has some hundred
cards and no test stands twice on a path.

What a state is asked next is not known here.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.scripts.clusters import clustered
from diagnose.scripts.standing import Limits, Pending, Standing, Table

__all__ = ["merged"]

#: how much a difference in what is done counts, in what needs nobody more so, and one between places for which the same
#: is done
ACTS, NOBODY, PLACES = 2.0, 2.0, 0.5


def merged(pending: list[Pending], table: Table, limits: Limits, last: bool) -> tuple[list[Pending], list[int]]:
    """Return standings with those that are alike made one, and for each of `pending` the number of its group.

    Only those with the same danger and the same number of answers that were not had are put together, the cheapest
    pair first: cost is what a pair differs by, squared, times how likely the rarer is. Those that end at once, and
    those after the `last` question, stay as they are.
    """
    numbers = [-1] * len(pending)
    asked: list[int] = []
    groups: list[list[int]] = []
    # a sign told at the first questions says nothing of what to bring; told later, each stands beside what was found
    signs: list[int] = []
    for k, (standing, because) in enumerate(pending):
        if because is not None and len(standing.taken) <= len(table.danger):
            signs.append(k)
        elif because is not None or last or standing.cannot >= limits.unusable:
            groups.append([k])
        else:
            asked.append(k)
    groups += ([signs] if signs else []) + clustered(
        np.array([_features(pending[k][0], table) for k in asked]),
        np.array([pending[k][0].reach for k in asked]),
        [(pending[k][0].cannot, pending[k][0].danger) for k in asked], limits.width, asked,
    )  # fmt: skip
    joined: list[Pending] = []
    for number, members in enumerate(groups):
        first, *others = sorted(members, key=lambda k: (-pending[k][0].reach, k))
        standing = pending[first][0]
        for k in others:
            standing = _joined(standing, pending[k][0])
        joined.append((standing, pending[first][1]))
        for k in members:
            numbers[k] = number
    return joined, numbers


def _features(standing: Standing, table: Table) -> Array:
    """Return belief by place, by what is done, which decides on what is brought along, and in what needs nobody, by
    which a person is sent or not; and what is known of versions.
    """
    grains = table.grains
    known = np.zeros(0) if table.versions is None else table.by_version(standing.weights)
    held = np.add.reduceat(standing.weights, grains.starts)
    done = np.bincount(grains.acts, held)
    return np.concatenate([PLACES * held, ACTS * done, [standing.unlisted, NOBODY * done[0]], known])


def _joined(one: Standing, other: Standing) -> Standing:
    """Return two standings as one, weighted by how likely each is."""
    reach = one.reach + other.reach
    share = other.reach / max(reach, 1e-300)
    return one._replace(
        weights=(1.0 - share) * one.weights + share * other.weights,
        unlisted=(1.0 - share) * one.unlisted + share * other.unlisted,
        reach=reach, taken=one.taken | other.taken, dry=max(one.dry, other.dry),
        minutes=max(one.minutes, other.minutes),
    )  # fmt: skip
