"""How right a ranking is: the right place first or among three, the chance given to the truth, a part condemned in
vain.

Pure functions of a ranking and the truth. Right means part and end; in a group of k that no test tells apart a hit
counts 1/k.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry, Ranking

__all__ = ["Score", "group_utility", "score", "score_named", "utility"]

#: a leading part that is convicted and believed at least this much would be replaced
REPLACED = 0.5


class Score(NamedTuple):
    """`first`, `in_three`: shares from 0 to 1; `chance` of the truth; `leader` and its chance; `one`, `both`: of two
    faults one is first, all are in the first three; `condemned`, a sound part would be replaced.
    """

    first: float
    in_three: float
    chance: float
    leader: str
    leading: float
    one: float
    both: float
    condemned: bool


def _share(entry: Entry, truth: FaultAt) -> float:
    """Return how much of an entry names a fault: whole, 1/k of a group of k, or nothing."""
    if any(f.place == truth.place for f in entry.together):
        return 1.0
    group = (entry.fault, *entry.alternatives)
    return 1.0 / len(group) if any(f.place == truth.place for f in group) else 0.0


def score(ranking: Ranking, truth: Collection[FaultAt]) -> Score:
    """Return how right a ranking is.

    Parameters: `truth`, the faults that are there; none of a sound vehicle.
    Returns: the score. A fault is first only where no other answer (nothing wrong, unlisted) has more chance.
    """
    entries = ranking.faults
    top = entries[0] if entries else None
    others = max(ranking.no_fault, ranking.unlisted)
    ahead = top is not None and top.probability >= others
    leader, leading = _leader(ranking, top if ahead else None)
    condemned = ahead and top is not None and _condemned(top, truth)
    if not truth:
        right = float(leader == "nothing wrong")
        return Score(right, right, ranking.no_fault, leader, leading, right, right, condemned)
    shares = [[_share(e, t) for e in entries[:3]] for t in truth]
    first = [each[0] if each and ahead else 0.0 for each in shares]
    three = [max(each, default=0.0) for each in shares]
    chance = [sum(e.probability * _share(e, t) for e in entries) for t in truth]
    return Score(first[0], three[0], chance[0], leader, leading, max(first), min(three), condemned)


def _condemned(top: Entry, truth: Collection[FaultAt]) -> bool:
    """Return whether a part would be replaced that is sound."""
    guilty = any(_share(top, t) > 0.0 or t.part == top.fault.part for t in truth)
    return top.convicted and top.probability >= REPLACED and not guilty


def _leader(ranking: Ranking, top: Entry | None) -> tuple[str, float]:
    """Return the leading answer and its chance; entries of one place are taken together."""
    if top is not None:
        held = sum(e.probability for e in ranking.faults if e.fault.place == top.fault.place and not e.together)
        named = " ".join(str(p) for p in (top.fault.fault, top.fault.part, top.fault.at, top.fault.to) if p)
        beside = "".join(f" with {f.fault} {f.part}" for f in top.together)
        return named + beside, min(max(held, top.probability), 1.0)
    if ranking.no_fault >= ranking.unlisted:
        return "nothing wrong", ranking.no_fault
    return "unlisted", ranking.unlisted


def score_named(named: FaultAt | None, truth: Collection[FaultAt]) -> Score:
    """Return how right somebody is who names one fault, or says that nothing is wrong, without any chance."""
    leader = "nothing wrong" if named is None else " ".join(str(p) for p in (named.fault, named.part, named.at) if p)
    hits = [float(named is not None and named.place == t.place) for t in truth] or [float(named is None)]
    guilty = named is None or any(named.part == t.part for t in truth)
    return Score(hits[0], hits[0], hits[0], leader, 1.0, max(hits), min(hits), not guilty)


def utility(named: Collection[str], true: Collection[str], parts: int) -> float:
    """Return what a list of parts named as faulty is worth to who must find the faulty ones.

    Parameters: `parts`, how many there are in all.
    Returns: 1 for an exact hit, less for what is named in vain or missed.
    Source: the metric of a published competition of diagnosis programs (from memory).

    >>> utility({"a", "b"}, {"a"}, 33)
    0.9545454545454546
    """
    wrong, missed = len(set(named) - set(true)), len(set(true) - set(named))
    count = len(set(named))
    rest = parts - count
    in_vain = wrong * (count + 1) / (parts * (count + 1)) if count == 0 else wrong * (count + 1) / (parts * (wrong + 1))
    unseen = missed * (rest + 1) / (parts * (missed + 1))
    return 1.0 - in_vain - unseen


def group_utility(reported: Sequence[Collection[str]], possible: Sequence[Collection[str]], parts: int) -> float:
    """Return the worth of a report of several possible answers, any one of which may be the true one.

    Parameters: `reported`, the answers given; `possible`, those that no test can tell apart, the truth among them.
    Returns: the mean of `utility` over all pairs, by that of the whole group reported.
    """
    def mean(answers: Sequence[Collection[str]]) -> float:
        every = [utility(a, t, parts) for a in answers for t in possible]
        return sum(every) / len(every)

    return mean(reported) / mean(possible)
