"""Tests of significance for pairs: the same vehicles before and after a change.

Pure arithmetic on numbers; it must not know what they are of.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from statistics import NormalDist

__all__ = ["EXACT", "adjusted", "sign_chance", "signed_rank_chance"]

#: pairs that differ up to which all their signs are counted out; beyond it the normal limit serves
EXACT = 60


def sign_chance(better: int, worse: int) -> float:
    """Return the chance, two-sided, that pairs which differ fall as unevenly as these where no side is favoured.

    For pairs that are right or wrong it is McNemar's exact test.
    Source: McNemar, Note on the sampling error of the difference between correlated proportions (1947, from memory).

    >>> sign_chance(9, 1), sign_chance(3, 3), sign_chance(0, 0)
    (0.021484375, 1.0, 1.0)
    """
    several = better + worse
    tail = sum(math.comb(several, count) for count in range(min(better, worse) + 1))
    return min(2 * tail / (1 << several), 1.0)


def signed_rank_chance(differences: Sequence[float]) -> float:
    """Return the chance, two-sided, of ranks as uneven as these where a difference has either sign alike.

    Differences of nothing are left out; equal ones share their ranks.
    Source: Wilcoxon, Individual comparisons by ranking methods (1945, from memory).

    >>> signed_rank_chance([1.0, 2.0, 3.0, 4.0, 5.0, 0.0]), signed_rank_chance([2.0, -2.0]), signed_rank_chance([])
    (0.0625, 1.0, 1.0)
    """
    changed = [round(d, 6) for d in differences if round(d, 6)]
    if not changed:
        return 1.0
    ranks = _double_ranks([abs(d) for d in changed])
    whole = sum(ranks)
    low = sum(rank for rank, d in zip(ranks, changed, strict=True) if d > 0)
    low = min(low, whole - low)
    if len(ranks) <= EXACT:
        sums = [1] + [0] * whole
        for rank in ranks:
            sums = [ways + (sums[total - rank] if total >= rank else 0) for total, ways in enumerate(sums)]
        return min(2 * sum(sums[: low + 1]) / (1 << len(ranks)), 1.0)
    spread = math.sqrt(sum(rank * rank for rank in ranks))
    return 2.0 * NormalDist().cdf((2 * low - whole) / spread)


def adjusted(chances: Sequence[float]) -> tuple[float, ...]:
    """Return chances that hold for all together where several are looked at, in their order.

    Source: Holm, A simple sequentially rejective multiple test procedure (1979, from memory).

    >>> adjusted([0.01, 0.04, 0.03])
    (0.03, 0.06, 0.06)
    """
    found = [0.0] * len(chances)
    least = 0.0
    for place, number in enumerate(sorted(range(len(chances)), key=lambda n: chances[n])):
        least = max(least, min((len(chances) - place) * chances[number], 1.0))
        found[number] = least
    return tuple(found)


def _double_ranks(sizes: Sequence[float]) -> list[int]:
    """Return twice the rank of each, equal ones sharing theirs: whole numbers."""
    below, ranks = 0, {}
    for size, times in sorted(Counter(sizes).items()):
        ranks[size] = 2 * below + times + 1
        below += times
    return [ranks[size] for size in sizes]
