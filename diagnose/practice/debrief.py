"""The debrief: each step beside the best one, what each reading excluded, where they parted, and one habit.

It is made once, after the score; it words nothing but what it takes from the rule base.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from diagnose.model.fault import FaultAt
from diagnose.model.practice import PracticeRules, Score, Step
from diagnose.model.ranking import NextTest, Ranking
from diagnose.model.reading import Reading, since_repair
from diagnose.practice.examiner import Examiner, Place, probability_at, same_test
from diagnose.practice.scoring import history

__all__ = ["Debrief", "Moved", "Replayed", "debriefed", "habit_for"]

#: share of what the best test would have told a minute, below which a test parts from the best
PARTED = 0.4
#: decibels that a reading must move a suspect by to be told, and belief in it before or after
MOVED_DB, MOVED_FROM = 3.0, 0.01
#: suspects that a reading is told to have moved, and those whose belief is drawn
MOST_MOVED, DRAWN = 3, 5
#: what stands for the habit after an unsafe act in the place of a skill
SAFETY = "safety"
SOUND_PLACE: Place = ("", None)


class Moved(NamedTuple):
    """A suspect that a reading moved, by how many decibels, and its chance afterwards."""

    fault: FaultAt | None
    db: float
    chance: float


class Replayed(NamedTuple):
    """One step beside the best one then: what both could tell [bit], minutes, what the reading moved, what was wrong.

    `alive` counts the places that were still suspected before it; `best` is None where no test paid any more, or it was
    the one taken.
    """

    step: Step
    best: NextTest | None
    bits: float | None
    parted: bool
    moved: tuple[Moved, ...]
    alive: int
    notes: tuple[str, ...]


class Debrief(NamedTuple):
    """The whole debrief; `belief` is a row a suspect: the fault (None: nothing wrong) and its chance over the steps."""

    steps: tuple[Replayed, ...]
    parted: int | None
    truth: tuple[FaultAt, ...]
    belief: tuple[tuple[FaultAt | None, tuple[float, ...]], ...]
    skill: str
    habit: str


def debriefed(
    steps: Sequence[Step], readings: Sequence[Reading], truth: Sequence[FaultAt], examiner: Examiner, score: Score,
    rules: PracticeRules, teaches: Sequence[str],
) -> Debrief:  # fmt: skip
    """Return the debrief of a case that is over."""
    found, moments = [], []
    before = history(steps, readings)
    behind = [*before[1:], tuple(readings)][: len(before)]
    for step, was, now in zip(steps, before, behind, strict=True):
        ranking, after = examiner.after(was), examiner.after(now)
        found.append(_replayed(step, was, ranking, after, examiner, score))
        moments.append(after)
    parted = next((r.step.number for r in found if r.parted), None)
    start = [examiner.after(())]
    skill = habit_for(score, steps, rules, teaches)
    habit = rules.skills[skill].habit if skill in rules.skills else rules.safety if skill == SAFETY else ""
    return Debrief(tuple(found), parted, tuple(truth), _belief([*start, *moments], truth), skill, habit)


def _replayed(
    step: Step, was: tuple[Reading, ...], ranking: Ranking, after: Ranking, examiner: Examiner, score: Score
) -> Replayed:
    notes = tuple(text for number, _, text in score.notes if number == step.number)
    best = ranking.next[0] if ranking.next and ranking.stop is None else None
    if step.act.kind != "measure" or step.act.take is None or step.read is None:
        return Replayed(step, None, None, False, (), _alive(ranking), notes)
    if "invalid" in step.flags:
        return Replayed(step, best, 0.0, best is not None, (), _alive(ranking), notes)
    worth = examiner.worth(was, step.act.take)
    parted = False
    if worth.bits is None and since_repair(was):
        best = None  # the reading that proves a repair is the best there is
    if best is not None and not same_test(best.take, step.act.take) and worth.bits is not None:
        own = worth.bits / max(step.minutes, 0.5)
        parted = own < PARTED * best.information_bits / max(best.minutes, 0.5)
    if best is not None and same_test(best.take, step.act.take):
        best = None
    return Replayed(step, best, worth.bits, parted, _moves(ranking, after), _alive(ranking), notes)


def _alive(ranking: Ranking) -> int:
    return len({e.fault.place for e in ranking.faults if e.probability > MOVED_FROM})


def _moves(before: Ranking, after: Ranking) -> tuple[Moved, ...]:
    """Return the suspects that a reading moved most, those first that stood highest."""
    faults: dict[Place, FaultAt] = {}
    for ranking in (before, after):
        for entry in ranking.faults:
            if entry.probability > MOVED_FROM:
                faults.setdefault(entry.fault.place, entry.fault)
    rows: list[tuple[float, Moved]] = []
    for place, fault in faults.items():
        old, new = probability_at(before, place), probability_at(after, place)
        rows.append((max(old, new), Moved(fault, _db(old, new), new)))
    old, new = before.no_fault, after.no_fault
    rows.append((max(old, new), Moved(None, _db(old, new), new)))
    kept = [row for row in rows if abs(row[1].db) >= MOVED_DB and row[0] > MOVED_FROM]
    kept.sort(key=lambda row: -row[0] * abs(row[1].db))
    return tuple(moved for _, moved in kept[:MOST_MOVED])


def _db(old: float, new: float) -> float:
    """Return how far odds moved [dB]."""
    old, new = (min(max(p, 1e-6), 1.0 - 1e-6) for p in (old, new))
    return 10.0 * math.log10(new / (1.0 - new) * (1.0 - old) / old)


def _belief(
    moments: Sequence[Ranking], truth: Sequence[FaultAt]
) -> tuple[tuple[FaultAt | None, tuple[float, ...]], ...]:
    """Return the chance of the truth, and of what was ever thought likeliest, at each moment."""
    faults: dict[Place, FaultAt] = {f.place: f for f in truth}
    peaks: dict[Place, float] = {}
    for ranking in moments:
        for entry in ranking.faults[:6]:
            place = entry.fault.place
            faults.setdefault(place, entry.fault)
            peaks[place] = max(peaks.get(place, 0.0), entry.probability)
    true = [f.place for f in truth]
    order = [*true, *sorted((p for p in peaks if p not in true), key=lambda p: -peaks[p])][:DRAWN]
    rows: list[tuple[FaultAt | None, tuple[float, ...]]] = [
        (faults[place], tuple(probability_at(r, place) for r in moments)) for place in order
    ]
    return (*rows, (None, tuple(r.no_fault for r in moments)))


def habit_for(score: Score, steps: Sequence[Step], rules: PracticeRules, teaches: Sequence[str]) -> str:
    """Return the skill whose habit is worth working on: safety after an unsafe act, else that of the worst mishap, else
    one that the case teaches.
    """
    if score.unsafe:
        return SAFETY
    lessons = " ".join(text for step in steps for text in step.lessons)
    if score.parts_swapped_in_vain or score.swapped_unproved or any(line == "name" for _, line, _ in score.notes):
        return "one_reading_is_none"
    if score.found and not score.proved:
        return "two_faults"
    for word, skill in (("clamp", "clamp_reading"), ("drop", "drops_under_load"), ("live", "dead_or_live_fuse")):
        if score.invalid and word in lessons:
            return skill
    if not score.found and not teaches:
        return "sound_installations"
    return next(iter(teaches), "one_reading_is_none")
