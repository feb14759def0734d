"""The score of one case: gates first, then separate lines, in the order of severity of the rule base.

It judges what was done by what could be known then; it words only what was wrong with a step.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from diagnose.model.fault import FaultAt
from diagnose.model.practice import PracticeRules, Score, Step
from diagnose.model.ranking import Ranking
from diagnose.model.reading import Reading
from diagnose.practice.examiner import Examiner, Place, entry_at, probability_at
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.session.proving import as_expected, checks_after

__all__ = ["Best", "history", "scored"]

#: belief below which a fault is excluded, and from which on it is convicted whatever single reading did it
EXCLUDED, SURE = 0.01, 0.6
#: belief in a sound vehicle that readings must have reached for it to be called one
SOUND_ENOUGH = 0.4


class Best(NamedTuple):
    """What the best policy, and the textbook order, are expected to take [min]."""

    minutes: float
    textbook: float | None = None


class _Account:
    """What adds up over the steps."""

    def __init__(self) -> None:
        self.named: dict[Place, bool] = {}
        self.sound: bool | None = None
        self.redundant = self.wrong = self.vain = self.unproved = 0
        self.squares: list[float] = []
        self.notes: list[tuple[int, str, str]] = []


def history(steps: Sequence[Step], readings: Sequence[Reading]) -> list[tuple[Reading, ...]]:
    """Return what an engine could weigh before each step: what was invalid is not among it."""
    found, count = [], 0
    for step in steps:
        found.append(tuple(readings[:count]))
        repaired = step.act.kind == "repair" and "unsafe" not in step.flags
        valid = step.act.kind == "measure" and step.read is not None and step.read.kind != "skipped"
        if repaired or (valid and not {"invalid", "unsafe"} & set(step.flags)):
            count += 1
    return found


def scored(
    steps: Sequence[Step], readings: Sequence[Reading], hidden: Sequence[FaultAt], left: bool, examiner: Examiner,
    points: PracticeRules, best: Best,
) -> Score:  # fmt: skip
    """Return the score.

    Parameters: `readings` that were valid; `hidden`, the truth; `left`, whether a fault is still in the vehicle at the
    end; `best`, expected minutes of the best policy [min].
    """
    account, true = _Account(), {f.place for f in hidden}
    for step, before in zip(steps, history(steps, readings), strict=True):
        _judge(step, before, true, examiner, account)
    found = account.sound is True and not account.named if not true else true <= set(account.named)
    convicted = all(account.named.values()) and (bool(account.named) or account.sound is not None)
    proved = not left and (_proved(readings, examiner) if any(r.repaired for r in readings) else not true)
    unsafe = sum("unsafe" in s.flags for s in steps)
    invalid = sum("invalid" in s.flags for s in steps)
    gates = [text for wrong, text in (
        (unsafe > 0, "an unsafe act"), (not found, _unfound(true, account)),
        (found and not proved, "no reading proves that it is well now"),
        (found and not convicted, "a name was given without a reading that convicts"),
    ) if wrong]  # fmt: skip
    minutes = steps[-1].clock if steps else 0.0
    score = Score(
        not gates, found, proved, unsafe, minutes, best.minutes,
        sum(s.act.kind == "measure" and s.read is not None for s in steps), account.redundant, invalid, account.vain,
        account.wrong, 0, convicted, account.unproved, best.textbook,
        sum(account.squares) / len(account.squares) if account.squares else None, tuple(gates), tuple(account.notes),
    )  # fmt: skip
    return score._replace(points=_points(score, points))


def _unfound(true: set[Place], account: _Account) -> str:
    """Return why a case counts as not found: a sound vehicle has nothing to be found."""
    if true:
        return "what is wrong was not found"
    if account.named:
        return "a fault was named or mended where nothing is wrong"
    return (
        "it was not said that nothing is wrong" if account.sound is None else "called sound before readings showed it"
    )


def _judge(step: Step, before: Sequence[Reading], true: set[Place], examiner: Examiner, account: _Account) -> None:
    act = step.act
    if "unsafe" in step.flags:
        return
    if act.kind == "measure" and act.take is not None and step.read is not None and "invalid" not in step.flags:
        if examiner.worth(before, act.take).redundant:
            account.redundant += 1
            account.notes.append((step.number, "redundant", "it could not change what was still suspected"))
    elif act.kind == "swap":
        _swapped(step, {(act.part, None)}, before, true, examiner, account)
    elif act.kind in ("repair", "diagnosis", "suspects"):
        places = [f.place for f in act.named]
        if act.kind == "repair":
            _swapped(step, set(places), before, true, examiner, account)
        known = _until_mended(before, places) if act.kind == "diagnosis" else before
        ranking = examiner.after(known)
        _excluded(step, places, ranking, account)
        if act.kind != "suspects":
            _named(step, places, ranking, known, true, account)


def _until_mended(readings: Sequence[Reading], places: Sequence[Place]) -> Sequence[Reading]:
    """Return the readings before the first repair of what is named: a name given after it tells what it was."""
    mended = [k for k, r in enumerate(readings) if r.repaired is not None and r.repaired.place in places]
    return readings[: mended[0]] if mended else readings


def _excluded(step: Step, places: Sequence[Place], ranking: Ranking, account: _Account) -> None:
    """Count what is named although readings exclude it, or kept though it should have been dropped."""
    chances = [(place[0], probability_at(ranking, place)) for place in places]
    if not places and step.act.kind == "diagnosis":
        chances = [("a sound vehicle", ranking.no_fault)]
    for part, chance in chances:
        if chance < EXCLUDED:
            account.wrong += 1
            kept = "kept among the suspects" if step.act.kind == "suspects" else "named"
            account.notes.append((step.number, "inference", f"{part} was {kept} although the readings exclude it"))


def _named(
    step: Step, places: Sequence[Place], ranking: Ranking, before: Sequence[Reading], true: set[Place],
    account: _Account,
) -> None:  # fmt: skip
    if step.act.kind == "diagnosis":
        right = set(places) <= true and bool(places) if true else not places
        if step.act.confidence is not None:
            account.squares.append((step.act.confidence - float(right)) ** 2)
        if not places:
            account.sound = bool(before) and ranking.no_fault >= SOUND_ENOUGH
            account.named = {}
    for place in places:
        entry = entry_at(ranking, place)
        enough = entry is not None and (entry.convicted or probability_at(ranking, place) >= SURE)
        account.named[place] = account.named.get(place, False) or (enough and bool(before))
        if not account.named[place]:
            account.notes.append((step.number, "name", "named before any reading convicts it"))


def _swapped(
    step: Step, places: set[Place], before: Sequence[Reading], true: set[Place], examiner: Examiner, account: _Account
) -> None:
    """Count a part that was changed in vain, or rightly but by luck."""
    parts = {part for part, _ in places}
    if not parts & {part for part, _ in true}:
        account.vain += 1
        account.notes.append((step.number, "part", "a sound part was changed or mended"))
        return
    entries = [e for e in examiner.after(before).faults if e.fault.part in parts]
    if not any(e.convicted or e.probability >= SURE for e in entries):
        account.unproved += 1
        account.notes.append((step.number, "part", "the right part, but changed before a reading convicted it"))


def _proved(readings: Sequence[Reading], examiner: Examiner) -> bool:
    """Return whether a reading after the last repair shows that the vehicle is well.

    It does if it is as it should be, and was not before, or proves best, or could not be so with the fault.
    """
    last = max(k for k, r in enumerate(readings) if r.repaired is not None)
    after = [r for r in readings[last + 1 :] if r.take is not None and r.read is not None]
    fault = readings[last].repaired
    if not after or fault is None:
        return False
    stop = examiner.after(readings).stop
    if stop is not None and stop.because == "repaired":
        return True
    wanted = {c.expected.take for c in checks_after(fault, examiner, readings[: last + 1], examiner.tools, 1)[:1]}
    earlier = {r.take: r.read for r in readings[:last] if r.take is not None and r.read is not None}
    now = {r.take: r.read for r in after if r.take is not None and r.read is not None}
    engine = (examiner.installation, examiner.rules, examiner.tables, tuple(now))
    broken = Hypothesis(fault, examiner.rules.faults[fault.fault], 1.0)
    well, ill = (expected_readings(*engine, vehicle, 1) for vehicle in (SOUND, broken))
    for band, faulty in zip(well, ill, strict=True):
        read = now[band.take]
        told = band.take in wanted or (band.take in earlier and not as_expected(band, earlier[band.take]))
        if as_expected(band, read) and (told or not as_expected(faulty, read)):
            return True
    return False


def _points(score: Score, rules: PracticeRules) -> int:
    """Return the points: nothing where it is unsolved, and each line's whole less its mishaps."""
    if not score.found:
        return 0
    weights = rules.points
    time = min(1.0, score.best_minutes / score.minutes) if score.minutes else 1.0
    mishaps = {
        "solved": 0.0, "wrong_parts": score.parts_swapped_in_vain + 0.5 * score.swapped_unproved,
        "proof": float(not score.proved), "inference": score.wrong_inferences, "invalid": score.invalid,
        "redundant": score.redundant,
    }  # fmt: skip
    total = weights["time"].whole * time
    total += sum(max(weights[n].whole - weights[n].each * count, 0.0) for n, count in mishaps.items())
    return round(total)
