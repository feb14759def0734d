"""The figures of an evaluation: rates with their intervals, calibration, by fault and by layout, against the floors.

Pure functions of the results. What a figure has to reach is a constant here, with where it comes from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from statistics import fmean, median
from typing import NamedTuple

from diagnose.evaluation.run import Plan, Result

__all__ = ["Bin", "Floor", "Line", "Rate", "Summary", "rate", "summarize"]

#: two-sided 95 % of a normal deviate
Z = 1.959964
BINS = (0.0, 0.5, 0.8, 0.9, 0.95, 0.98, 0.995, 1.0)


class Rate(NamedTuple):
    """A mean of shares from 0 to 1 with its 95 % interval (Wilson's), of `out_of` vehicles."""

    value: float
    low: float
    high: float
    out_of: int


class Line(NamedTuple):
    """The figures of some vehicles; `name` is a player, a fault or a layout."""

    name: str
    first: Rate
    in_three: Rate
    brier: float
    minutes_median: float
    minutes_mean: float
    tests_median: float
    tests_mean: float


class Bin(NamedTuple):
    """Vehicles whose leading answer had a chance within a bin: the mean of what was said, and how often it was right.

    `agrees` tells whether what was said lies in the interval.
    """

    low: float
    high: float
    said: float
    right: Rate
    agrees: bool


class Floor(NamedTuple):
    """A figure that must reach a floor (or stay under it, where `at_most`); it does if its interval reaches it."""

    what: str
    value: float
    low: float
    high: float
    floor: float
    at_most: bool
    reached: bool


class Summary(NamedTuple):
    """All figures of a run."""

    vehicles: int
    players: tuple[Line, ...]
    by_fault: tuple[Line, ...]
    by_layout: tuple[Line, ...]
    calibration: tuple[Bin, ...]
    floors: tuple[Floor, ...]
    ends: tuple[tuple[str, int], ...]
    condemned: Rate
    failures: tuple[Result, ...]


def rate(shares: Sequence[float]) -> Rate:
    """Return a mean of shares with its 95 % interval.

    Raises: ValueError for no shares.
    Source: E. B. Wilson, Probable inference, the law of succession, and statistical inference (1927, from memory).

    >>> found = rate([1.0] * 8 + [0.0] * 2)
    >>> round(found.low, 4), found.value, round(found.high, 4)
    (0.4902, 0.8, 0.9433)
    """
    if not shares:
        raise ValueError("no vehicles, no rate")
    n, p = len(shares), fmean(shares)
    middle = (p + Z * Z / (2 * n)) / (1 + Z * Z / n)
    half = Z / (1 + Z * Z / n) * math.sqrt(p * (1 - p) / n + Z * Z / (4 * n * n))
    return Rate(p, max(middle - half, 0.0), min(middle + half, 1.0), n)


def summarize(plan: Plan, results: Sequence[Result]) -> Summary:
    """Return the figures of a run; the first player is the one that is judged."""
    judged = [r for r in results if r.player == plan.players[0]]
    broken = [r for r in judged if r.case.faults]
    kinds = sorted({r.case.faults[0].fault for r in broken})
    ends = sorted({r.end for r in judged})
    return Summary(
        len(judged),
        tuple(_line(p, [r for r in results if r.player == p]) for p in plan.players),
        tuple(_line(k, [r for r in broken if r.case.faults[0].fault == k]) for k in kinds),
        tuple(_line(n, [r for r in judged if r.case.layout == n]) for n, _ in plan.layouts if _any(judged, n)),
        calibration(judged),
        tuple(_floors(plan, results)),
        tuple((end, sum(r.end == end for r in judged)) for end in ends),
        rate([float(r.score.condemned) for r in judged]),
        tuple(r for r in judged if failed(plan, r)),
    )


def failed(plan: Plan, result: Result) -> bool:
    """Return whether a vehicle was not played as it should be."""
    if plan.missing:
        return result.score.leader != "unlisted"
    if plan.repair:
        return not proved(result)
    return result.score.both < 1.0 if plan.story.faults > 1 else result.score.first < 1.0


def proved(result: Result) -> bool:
    """Return whether all faults were mended and a reading has proved it."""
    mended = {f.place for f in result.mended}
    return result.end in ("repaired", "no_fault") and all(f.place in mended for f in result.case.faults)


def calibration(results: Sequence[Result]) -> tuple[Bin, ...]:
    """Return how often the leading answer was right, by the chance it was given."""
    found = []
    for low, high in pairwise(BINS):
        here = [r for r in results if low <= r.score.leading < high or (high == 1.0 and r.score.leading >= 1.0)]
        if here:
            right, said = rate([r.score.one for r in here]), fmean(min(r.score.leading, 1.0) for r in here)
            found.append(Bin(low, high, said, right, right.low <= said <= right.high))
    return tuple(found)


def _any(results: Sequence[Result], layout: str) -> bool:
    return any(r.case.layout == layout for r in results)


def _line(name: str, results: Sequence[Result]) -> Line:
    minutes, tests = [r.minutes for r in results], [r.tests for r in results]
    return Line(
        name, rate([r.score.first for r in results]), rate([r.score.in_three for r in results]),
        fmean((1.0 - r.score.chance) ** 2 for r in results), median(minutes), fmean(minutes), median(tests),
        fmean(tests),
    )  # fmt: skip


def _floors(plan: Plan, results: Sequence[Result]) -> list[Floor]:
    """Return the figures of the engine that have a floor in a run of this kind."""
    judged = [r for r in results if r.player == plan.players[0]]
    broken = [r for r in judged if r.case.faults]
    sound = [r for r in judged if not r.case.faults]
    if plan.missing:
        return _of(broken, ("unlisted is first", lambda r: float(r.score.leader == "unlisted"), 0.50))
    if plan.repair:
        return _of(judged, ("all faults found, mended and proved", lambda r: float(proved(r)), 0.95))
    if plan.story.faults > 1:
        return _of(
            broken,
            ("one of two faults first", lambda r: r.score.one, 0.98),
            ("both among the first three", lambda r: r.score.both, 0.65),
        )
    noisy = plan.story.wrong > 0.0 or plan.story.sound > 0.0
    floors = _of(judged, ("right place first", lambda r: r.score.first, 0.95 if noisy else 0.98))
    if not noisy:
        floors += _of(judged, ("right place in three", lambda r: r.score.in_three, 0.99))
        floors.append(_mean("Brier score", [(1.0 - r.score.chance) ** 2 for r in judged], 0.02))
    floors.append(_mean("unlisted, on average", [r.unlisted for r in judged], 0.01))
    floors += _of(sound, ("sound called sound", lambda r: r.score.first, 0.97))
    others = [r for r in results if r.player == "textbook"]
    if others and not noisy:
        share = median(r.minutes for r in judged) / median(r.minutes for r in others)
        floors.append(Floor("minutes beside the textbook's (medians)", share, share, share, 0.60, True, share <= 0.60))
    return floors


def _of(results: Sequence[Result], *wanted: tuple[str, Callable[[Result], float], float]) -> list[Floor]:
    found = []
    for what, share, floor in wanted if results else ():
        r = rate([share(each) for each in results])
        found.append(Floor(what, r.value, r.low, r.high, floor, False, r.high >= floor))
    return found


def _mean(what: str, values: Sequence[float], most: float) -> Floor:
    """Return a mean that must stay under a figure, with the interval of its standard error."""
    mean = fmean(values)
    spread = math.sqrt(fmean((v - mean) ** 2 for v in values) / max(len(values) - 1, 1))
    return Floor(what, mean, max(mean - Z * spread, 0.0), mean + Z * spread, most, True, mean - Z * spread <= most)
