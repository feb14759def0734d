"""What is thought of an installation after some readings: the ranking, its reasons, the tests worth taking next.

These records are made by `inference` and shown by `present`; the keys of the JSON are their field names.
"""

from __future__ import annotations

from typing import NamedTuple

from diagnose.model.causes import LikelyCause
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take

__all__ = ["Doubt", "Entry", "NextTest", "Ranking", "Reason", "Size", "Stop", "WhyNot"]


class Size(NamedTuple):
    """The size of a fault: middle, and the ends of its 90 % range, in `unit`."""

    value: float
    low: float
    high: float
    unit: str


class Reason(NamedTuple):
    """A reading (numbered from 1) that speaks for or against a fault, by how many decibels, in words."""

    reading: int
    db: float
    says: str


class Entry(NamedTuple):
    """One entry of the ranking: a fault, with others that occur together with it or cannot be told from it.

    `causes` are what may have brought it about, likeliest first; they share the entry's probability, and what their
    chances lack to 1 is a cause that has no name.
    """

    fault: FaultAt
    name: str
    probability: float
    evidence_db: float
    size: Size | None
    convicted: bool
    reasons_for: tuple[Reason, ...]
    reasons_against: tuple[Reason, ...]
    remedy: str
    proof: str
    together: tuple[FaultAt, ...] = ()
    alternatives: tuple[FaultAt, ...] = ()
    causes: tuple[LikelyCause, ...] = ()


class Doubt(NamedTuple):
    """A reading that is probably wrong, and what it should have been."""

    reading: int
    chance_wrong: float
    expected: str
    says: str


class NextTest(NamedTuple):
    """A test worth taking: what it costs, what it tells, what is expected under the leading suspects."""

    take: Take
    minutes: float
    information_bits: float
    expect: tuple[tuple[str, str], ...]
    why: str
    cautions: tuple[str, ...]


class Stop(NamedTuple):
    """Why no further test is asked for."""

    because: str
    says: str


class WhyNot(NamedTuple):
    """What speaks against one suspect, and the reading that would bring it back."""

    label: str
    probability: float
    reasons: tuple[Reason, ...]
    would_return: str


class Ranking(NamedTuple):
    """The whole answer; `no_fault_says` explains the operating states of `no_fault_because`, in their order; `vain` are
    the repairs, numbered from 0, that the readings show no need of.
    """

    readings_used: int
    faults: tuple[Entry, ...]
    no_fault: float
    no_fault_because: tuple[tuple[str, float], ...]
    unlisted: float
    doubtful: tuple[Doubt, ...]
    next: tuple[NextTest, ...]
    stop: Stop | None
    dangers: tuple[str, ...] = ()
    no_fault_says: tuple[str, ...] = ()
    vain: tuple[int, ...] = ()
