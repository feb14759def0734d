"""The engine as examiner: what it thought at each moment, what each test could have told, what it would have done.

It judges one moment at a time and remembers what it said; it keeps no score.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import NamedTuple

from diagnose.inference.direct import is_direct
from diagnose.inference.ranking import Engine, Question
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.ranking import Entry, Ranking
from diagnose.model.reading import Reading, Take, since_repair
from diagnose.model.rules import RuleBase
from diagnose.prediction.sights import SOUND_WORD

__all__ = ["Examiner", "Place", "Worth", "entry_at", "probability_at", "same_test"]

#: bits below which a test could not have changed what is still suspected
NOTHING_TOLD = 0.02
#: chance that a reading is wrong from which on repeating it is no waste
DOUBTFUL = 0.15

Place = tuple[str, str | None]


class Worth(NamedTuple):
    """What a test could have told [bit], or None where that was not worked out, and whether it was redundant."""

    bits: float | None
    redundant: bool


def entry_at(ranking: Ranking, place: Place) -> Entry | None:
    """Return the likeliest entry that stands for a place: as its fault, with another, or not to be told from it."""
    for entry in ranking.faults:
        if place in {f.place for f in (entry.fault, *entry.together, *entry.alternatives)}:
            return entry
    return None


def probability_at(ranking: Ranking, place: Place) -> float:
    """Return the chance that something is wrong at a place, alone or with another."""
    held = 0.0
    for entry in ranking.faults:
        if place in {f.place for f in (entry.fault, *entry.together, *entry.alternatives)}:
            held += entry.probability
    return held


def same_test(one: Take, other: Take) -> bool:
    """Return whether two tests ask the same: probes changed over read the same with another sign.

    >>> same_test(Take("volts", ("a", "b"), "loaded"), Take("volts", ("b", "a"), "loaded"))
    True
    """
    return one == other or one == turned_round(other)


def turned_round(take: Take) -> Take:
    """Return a test with its probes changed over."""
    return take._replace(where=take.where[::-1])


class Examiner(Engine):
    """The engine of one case, asked for one moment of it after another."""

    def __init__(
        self, installation: Installation, rules: RuleBase, tables: Tables, complaint: str | None, tools: Sequence[str],
        seed: int = 1,
    ) -> None:  # fmt: skip
        """Prepare; nothing is solved before the first question."""
        super().__init__(installation, rules, tables, seed)
        self.complaint, self.tools = complaint, tuple(tools)
        self._said: dict[tuple[Reading, ...], Ranking] = {}

    def turned(self, complaint: str | None, tools: Sequence[str]) -> Examiner:
        """Return the examiner of another case of the same installation, who knows the predictions worked out here."""
        other = copy.copy(self)
        other.complaint, other.tools, other._said = complaint, tuple(tools), {}
        return other

    def after(self, readings: Sequence[Reading]) -> Ranking:
        """Return what is thought after some readings."""
        key = tuple(readings)
        if key not in self._said:
            self._said[key] = self.rank(Question(key, self.complaint, self.tools))
        return self._said[key]

    def worth(self, readings: Sequence[Reading], take: Take) -> Worth:
        """Return what a test was worth when it was taken, after some readings."""
        ranking, since = self.after(readings), since_repair(readings)
        before = [k for k, r in enumerate(readings, 1) if k > since and r.take is not None and same_test(r.take, take)]
        if before:
            doubts = {d.reading for d in ranking.doubtful if d.chance_wrong >= DOUBTFUL}
            return Worth(0.0, not doubts & set(before))
        if since:
            return Worth(None, False)  # what is read after a repair proves it
        for test in ranking.next:
            if same_test(test.take, take):
                return Worth(test.information_bits, False)
        # eyes and hands find the same in every state; the clock alone knows in which it was
        plain = take._replace(when="at_rest") if take.quantity in SOUND_WORD else take
        question = Question(tuple(readings), self.complaint, self.tools)
        bits = self.bits_told(question, plain)
        if bits is None:
            plain = turned_round(plain)
            bits = self.bits_told(question, plain)
        if bits is None:
            return Worth(None, False)
        leader = ranking.faults[0].fault if ranking.faults else None
        straight = leader is not None and is_direct(plain, leader, self.installation)
        seen = any(r.take is not None and leader is not None and is_direct(r.take, leader, self.installation)
                   for r in readings)  # fmt: skip
        return Worth(bits, bits < NOTHING_TOLD and not (straight and not seen))
