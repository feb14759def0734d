"""The conditions of the ways of a walk: each a name that stands in the table of `transitions`, and when it holds.

A condition looks at facts and asks the adviser; it must not change anything.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from diagnose.inference.stopping import MOST_REPAIRS
from diagnose.model.ranking import Doubt, Ranking
from diagnose.model.reading import since_repair
from diagnose.session.advice import Adviser
from diagnose.session.events import Event
from diagnose.session.facts import Facts

__all__ = ["CONDITIONS", "MOST_QUESTIONS", "NO_ALARM", "Judged", "doubted"]

#: tests that are asked for from the start of a walk, or from where it goes on, to its end, at most
MOST_QUESTIONS = 20
NO_ALARM = "none"
#: belief that nothing is wrong any more at which a proved repair needs no further test
SOUND = 0.75


class Judged(NamedTuple):
    """What a condition looks at: the facts after an event, the event (None at a fork), and whom to ask."""

    facts: Facts
    event: Event | None
    adviser: Adviser

    @property
    def ranking(self) -> Ranking:
        """Return the ranking for the facts."""
        return self.adviser.ranking(self.facts)

    @property
    def may_ask(self) -> bool:
        """Return whether a further test may be asked for."""
        return self.facts.asked - self.facts.earlier < MOST_QUESTIONS


def doubted(judged: Judged) -> Doubt | None:
    """Return a reading since the last repair that the others contradict and that nobody has confirmed yet."""
    readings = judged.facts.readings
    since = since_repair(readings)
    for doubt in judged.ranking.doubtful:
        take = readings[doubt.reading - 1].take
        if doubt.reading > since and take is not None and take not in judged.facts.kept:
            return doubt
    return None


def _unexplained(judged: Judged) -> bool:
    reading = judged.event.reading if judged.event is not None else None
    if reading is None or reading.take is None or reading.take in judged.facts.kept:
        return False
    if judged.adviser.dangers(judged.facts):
        return False  # a danger is believed before it is doubted
    return not judged.adviser.explained(reading)


def _alarming_complaint(judged: Judged) -> bool:
    rule = judged.adviser.complaint(judged.facts.complaint)
    return rule is not None and rule.danger


def _proved(judged: Judged) -> bool:
    facts = judged.facts
    if not facts.checks or facts.wanted is not None or facts.unproved:
        return False
    ranking, stop = judged.ranking, judged.ranking.stop
    suspected = bool(ranking.faults) and ranking.faults[0].probability >= 0.5
    if stop is not None and stop.because in ("repaired", "no_fault"):
        return True
    if stop is not None and stop.because == "found":
        return False
    # A neighbour outside its band is looked into: one sound reading in twenty is, so the ranking decides.
    more = stop is None and bool(ranking.next) and judged.may_ask
    enough = ranking.no_fault >= SOUND and not facts.failed and not facts.looking
    return not suspected and (enough or not more)


def _found(judged: Judged) -> bool:
    stop = judged.ranking.stop
    if stop is None or stop.because != "found":
        return False
    fault = judged.ranking.faults[0].fault
    mended = sum(other.place == fault.place for other in judged.facts.mended)
    return judged.facts.left != fault and mended < MOST_REPAIRS


def _spent(judged: Judged) -> bool:
    ranking = judged.ranking
    stop = ranking.stop
    goes_on = stop is None or (stop.because == "repaired" and bool(ranking.next))
    return not goes_on or not ranking.next or not judged.may_ask


CONDITIONS: dict[str, Callable[[Judged], bool]] = {
    "": lambda judged: True,
    "a sign of danger is named": lambda judged: judged.facts.alarm not in (None, NO_ALARM),
    "the complaint itself is a sign of danger": _alarming_complaint,
    "a reading means danger": lambda judged: bool(judged.adviser.dangers(judged.facts)),
    "danger has not been asked for": lambda judged: judged.facts.alarm is None,
    "it is not known where it stands": lambda judged: judged.facts.standing is None,
    "the tools are not known": lambda judged: judged.facts.tools is None,
    "the meter is not proved": lambda judged: judged.facts.meter is None and "multimeter" in (judged.facts.tools or ()),
    "the complaint is not known": lambda judged: judged.facts.complaint is None,
    "more may have been seen": lambda judged: not judged.facts.all_seen,
    "nothing explains it": _unexplained,
    "a repair is still to be proved": lambda judged: judged.facts.wanted is not None and not judged.facts.unproved,
    "every repair is proved": _proved,
    "the others contradict a reading": lambda judged: judged.may_ask and doubted(judged) is not None,
    "the fault is found": _found,
    "no test pays any more": _spent,
}
