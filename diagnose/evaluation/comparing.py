"""Two runs on the same vehicles held against each other: by fault, what got better and worse, and by chance or not.

Pure functions of what was kept of the runs. It must not play a vehicle.
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import sha256
from itertools import zip_longest
from statistics import fmean, median
from typing import NamedTuple

from diagnose.evaluation.pairs import adjusted, sign_chance, signed_rank_chance
from diagnose.evaluation.population import Case
from diagnose.evaluation.run import Plan, Result

__all__ = ["CHANCE", "Change", "Kept", "Terms", "Vehicle", "changes", "kept", "other_vehicles"]

#: a change that chance brings about less often than this is called one
CHANCE = 0.05


class Terms(NamedTuple):
    """How the vehicles of a run were played: what must be alike in two runs that are compared.

    `layouts` with a digest of what is fitted.
    """

    tools: tuple[str, ...]
    wrong: float
    repair: bool
    missing: bool
    layouts: tuple[tuple[str, str], ...]


class Vehicle(NamedTuple):
    """One vehicle and how it went: shares `first` and `in_three` [0 to 1], the chance given to the truth, the end."""

    case: Case
    first: float
    in_three: float
    chance: float
    tests: int
    minutes: float
    end: str


class Kept(NamedTuple):
    """What is kept of a run: its terms, and the vehicles as the first player left them."""

    terms: Terms
    vehicles: tuple[Vehicle, ...]


class Change(NamedTuple):
    """What became of some vehicles; `name` is a fault, or all.

    `better` and `worse` count those whose true place is further or less far in front; `slower` and `faster` those
    that took more or fewer minutes. The chances are of the two paired tests: for faults, of all faults together.
    """

    name: str
    out_of: int
    first: tuple[float, float]
    in_three: tuple[float, float]
    minutes: tuple[float, float]
    better: int
    worse: int
    faster: int
    slower: int
    chance_first: float
    chance_minutes: float

    @property
    def verdicts(self) -> tuple[str, ...]:
        """Return what is more than chance: better, worse, faster, slower."""
        found = []
        if self.chance_first < CHANCE:
            found.append("better" if self.better > self.worse else "worse")
        if self.chance_minutes < CHANCE:
            found.append("faster" if self.faster > self.slower else "slower")
        return tuple(found)


def kept(plan: Plan, results: Sequence[Result]) -> Kept:
    """Return what is to be kept of a run."""
    story = plan.story
    layouts = tuple((name, sha256(fitted.model_dump_json().encode()).hexdigest()[:16]) for name, fitted in plan.layouts)
    vehicles = [
        Vehicle(r.case, r.score.first, r.score.in_three, r.score.chance, r.tests, r.minutes, r.end)
        for r in results if r.player == plan.players[0]
    ]  # fmt: skip
    return Kept(Terms(story.tools, story.wrong, plan.repair, plan.missing, layouts), tuple(vehicles))


def other_vehicles(old: Kept, new: Kept) -> str | None:
    """Return in words why two runs are not of the same vehicles, None where they are."""
    for name, one, other in zip(Terms._fields, old.terms, new.terms, strict=True):
        if one != other:
            return f"other {name}" if isinstance(one, tuple) else f"`--{name}` is not as it was"
    for before, after in zip_longest(old.vehicles, new.vehicles):
        if before is None or after is None:
            return f"it has {len(new.vehicles)} vehicles, the other {len(old.vehicles)}"
        if before.case != after.case:
            return f"its vehicle {after.case.number} is not that of the other"
    return None


def changes(old: Kept, new: Kept) -> tuple[Change, ...]:
    """Return what changed: for all vehicles first, then for each fault that was hidden first in some.

    Parameters: two runs of the same vehicles.
    """
    pairs = list(zip(old.vehicles, new.vehicles, strict=True))
    names = sorted({_name(before) for before, _ in pairs})
    by_fault = [_change(name, [pair for pair in pairs if _name(pair[0]) == name]) for name in names]
    first = adjusted([change.chance_first for change in by_fault])
    minutes = adjusted([change.chance_minutes for change in by_fault])
    told = zip(by_fault, first, minutes, strict=True)
    return (_change("all", pairs), *(c._replace(chance_first=p, chance_minutes=q) for c, p, q in told))


def _name(vehicle: Vehicle) -> str:
    faults = vehicle.case.faults
    return faults[0].fault if faults else "nothing wrong"


def _change(name: str, pairs: Sequence[tuple[Vehicle, Vehicle]]) -> Change:
    before, after = [old for old, _ in pairs], [new for _, new in pairs]
    better = sum(new.first > old.first for old, new in pairs)
    worse = sum(new.first < old.first for old, new in pairs)
    longer = [round(new.minutes - old.minutes, 6) for old, new in pairs]
    return Change(
        name, len(pairs),
        (fmean(v.first for v in before), fmean(v.first for v in after)),
        (fmean(v.in_three for v in before), fmean(v.in_three for v in after)),
        (median(v.minutes for v in before), median(v.minutes for v in after)),
        better, worse, sum(d < 0 for d in longer), sum(d > 0 for d in longer),
        sign_chance(better, worse), signed_rank_chance(longer),
    )  # fmt: skip
