"""Tests put in order by what they tell a minute, a visit to another state or zone being judged by all that it opens.

One test seldom pays for starting the engine or opening a compartment, but the tests that follow there do. So a test
that needs either is worth, per minute, what the best row of tests behind the same change tells, each further one in
the row telling a part of what it would tell alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from diagnose.model.reading import Take

__all__ = ["Offered", "by_worth"]

#: what each further test of a row is still worth, and how long a row is looked at
KEPT, ROW = 0.7, 4


class Offered(NamedTuple):
    """A test with what it is expected to tell [bit], the minutes it takes from here, and those of the test alone."""

    take: Take
    bits: float
    minutes: float
    alone: float


def by_worth(offered: Sequence[Offered], handling: float = 0.0) -> list[Offered]:
    """Return the tests, best first.

    A change is known by its state and by how many minutes it takes: tests behind the same change form one visit, and
    the best of them comes in its place.
    Parameters: `handling` [min], what every test costs beside its own minutes.

    >>> take = [Take("volts", (str(k), "b"), state) for k, state in enumerate(("now", "other", "other"))]
    >>> here = Offered(take[0], 0.21, 1.0, 1.0)
    >>> there = [Offered(t, 0.4, 2.0, 1.0) for t in take[1:]]
    >>> [one.take.where[0] for one in by_worth([here, there[0]])]
    ['0', '1']
    >>> [one.take.where[0] for one in by_worth([here, *there])]
    ['1', '2', '0']
    """
    visits: dict[tuple[str, float], list[Offered]] = {}
    for one in offered:
        visits.setdefault((one.take.when, round(one.minutes - one.alone, 6)), []).append(one)
    scored: list[tuple[float, Offered]] = []
    for (_, change), tests in visits.items():
        tests.sort(key=lambda o: -_alone(o, handling))
        if change == 0.0:
            scored += [(_alone(o, handling), o) for o in tests]
            continue
        rate = _rate(tests, change, handling)
        # within a visit the order is that of the tests alone
        scored += [(rate * _alone(o, handling) / max(_alone(tests[0], handling), 1e-12), o) for o in tests]
    scored.sort(key=lambda s: -s[0])
    return [one for _, one in scored]


def _alone(one: Offered, handling: float) -> float:
    """Return the bits a minute of a test where nothing must be changed for it."""
    return one.bits / (one.alone + handling)


def _rate(tests: Sequence[Offered], change: float, handling: float) -> float:
    """Return the most bits a minute that a row of tests behind one change tells."""
    best, bits, minutes, kept = 0.0, 0.0, change, 1.0
    for one in tests[:ROW]:
        bits, minutes, kept = bits + kept * one.bits, minutes + one.alone + handling, kept * KEPT
        best = max(best, bits / minutes)
    return best
