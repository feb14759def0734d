"""Bins of a number joined to the few bands that tell most: cut where they best separate what is still thought of.

Pure functions of a table of belief; bands leave no gap and never overlap, since they are runs of bins.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.elimination import Array

__all__ = ["best_cuts", "held_back"]

#: bands of one card at most, and the share of all information that the fewest good enough must keep
MOST, KEPT = 4, 0.93


def held_back(joint: Array) -> Array:
    """Return, by row of a joint table, what it adds to the information, belief in each column left out.

    Parameters: `joint` (answers, places), summing to 1. The information of all rows is the sum of the result less that
    of the row of column sums.

    >>> table = np.array([[0.5, 0.0], [0.0, 0.5]])
    >>> float(held_back(table).sum() - (0.5 * np.log2(0.5)) * 2)
    1.0
    """
    rows = joint.sum(axis=-1)
    with np.errstate(divide="ignore", invalid="ignore"):
        inner = np.where(joint > 0.0, joint * np.log2(joint), 0.0).sum(axis=-1)
        outer = np.where(rows > 0.0, rows * np.log2(rows), 0.0)
    return np.asarray(inner - outer)


def best_cuts(joint: Array) -> tuple[int, ...]:
    """Return the bins at which bands begin, after the first: as few bands as keep nearly all that the bins tell.

    Parameters: `joint` (bins, places), belief in each bin at each place.

    >>> best_cuts(np.array([[0.2, 0.0], [0.3, 0.0], [0.0, 0.5]]))
    (2,)
    """
    bins = len(joint)
    total = np.concatenate([np.zeros((1, joint.shape[1])), np.cumsum(joint, axis=0)])
    worth = np.full((bins, bins + 1), -np.inf)
    for first in range(bins):
        worth[first, first + 1 :] = held_back(total[first + 1 :] - total[first])
    best = [worth[0]]
    came = [np.zeros(bins + 1, dtype=np.intp)]
    for _ in range(min(MOST, bins) - 1):
        through = np.concatenate([best[-1][:bins, None] + worth, np.full((1, bins + 1), -np.inf)])
        came.append(np.argmax(through, axis=0))
        best.append(through.max(axis=0))
    none, full = float(best[0][bins]), float(held_back(joint).sum())
    wanted = none + KEPT * max(full - none, 0.0)
    bands = next((k for k in range(1, len(best)) if best[k][bins] >= wanted - 1e-12), len(best) - 1)
    cuts, end = [], bins
    for k in range(bands, 0, -1):
        end = int(came[k][end])
        cuts.append(end)
    return tuple(sorted(c for c in cuts if 0 < c < bins))
