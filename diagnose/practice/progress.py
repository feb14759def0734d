"""Progress skill by skill: what was done, how well lately, and what to practise next, spaced, weakest first.

A function of kept lines; time is counted in cases, since nothing here looks at a clock.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

__all__ = ["Standing", "next_skills", "standings"]

#: weight of each earlier case against the one after it, and cases of a skill after which it counts as learned if passed
FADES, ENOUGH = 0.6, 3
#: cases after which a skill that went well comes up again, for each time it went well in a row
SPACED = (2, 5, 12)


class Standing(NamedTuple):
    """How one skill stands: cases, passed, points lately, cases since it was last met, whether it is due."""

    skill: str
    cases: int
    passed: int
    points: float
    since: int
    due: bool


def standings(lines: Sequence[Mapping[str, Any]], skills: Sequence[str]) -> tuple[Standing, ...]:
    """Return how every skill stands, in the order of the skills.

    >>> standings([{"teaches": ["a"], "passed": True, "points": 90}], ["a", "b"])[0].cases
    1
    """
    return tuple(_standing(lines, skill) for skill in skills)


def _standing(lines: Sequence[Mapping[str, Any]], skill: str) -> Standing:
    met = [number for number, line in enumerate(lines) if skill in line.get("teaches", ())]
    points, weight, share = 0.0, 0.0, 1.0
    for number in reversed(met):
        points += share * float(lines[number].get("points", 0))
        weight += share
        share *= FADES
    passed = sum(bool(lines[number].get("passed")) for number in met)
    row = 0
    for number in reversed(met):
        if not lines[number].get("passed"):
            break
        row += 1
    since = len(lines) - 1 - met[-1] if met else len(lines)
    due = not met or row == 0 or since >= SPACED[min(row, len(SPACED)) - 1]
    return Standing(skill, len(met), passed, points / weight if weight else 0.0, since, due)


def next_skills(found: Sequence[Standing], most: int = 3) -> tuple[str, ...]:
    """Return the skills to practise next: those that are due, weakest first."""
    due = sorted((s for s in found if s.due), key=lambda s: (s.points, s.cases))
    return tuple(s.skill for s in due[:most])
