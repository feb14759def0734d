"""From the facts of a walk to what is asked now, or to how it ended.

It puts together what the adviser says; it must not word it.
"""

from __future__ import annotations

from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry, NextTest
from diagnose.session import cautions
from diagnose.session.advice import Adviser
from diagnose.session.facts import Facts
from diagnose.session.judging import MOST_QUESTIONS, Judged, doubted
from diagnose.session.shopping import what_to_buy
from diagnose.session.steps import Ask, Finding, Reminder
from diagnose.session.transitions import ENDS

__all__ = ["step_of"]

#: suspects named where the walk ends without a fault found
NAMED = 3


def step_of(facts: Facts, adviser: Adviser) -> Ask | Finding:
    """Return what is asked in the state of a walk, or how it ended."""
    if facts.state in ENDS:
        return _end(facts, adviser)
    return _ASKS[facts.state](facts, adviser)


def _plain(facts: Facts, adviser: Adviser) -> Ask:
    """Return a question of the start, with the cautions of where the vehicle stands and of the complaint."""
    ids: tuple[str, ...] = ()
    if facts.state == "tools" or (facts.state == "meter" and facts.tools is not None):
        ids = cautions.for_standing(facts.standing, adviser.rules)
    if facts.state == "meter":
        ids += ("volts_sockets", "eyes_and_rings")
    if facts.state == "alarm" and facts.complaint:
        ids += cautions.for_complaint(facts.complaint, adviser.rules)
    return Ask(facts.state, cautions=cautions.reminders(ids, adviser.rules))


def _test(facts: Facts, adviser: Adviser) -> Ask:
    best = adviser.ranking(facts).next[0]
    return Ask(
        "test", facts.asked + 1, best.take, _of_take(facts, adviser, best), best.why, best.minutes, best.expect
    )  # fmt: skip


def _of_take(facts: Facts, adviser: Adviser, test: NextTest | None) -> tuple[Reminder, ...]:
    """Return the cautions of a test, or of the check that is wanted; at the first, those of the place come too."""
    wanted = facts.wanted
    take = test.take if test is not None else wanted.expected.take if wanted is not None else None
    if take is None:
        return ()
    ids = cautions.for_take(take, adviser.installation, adviser.rules)
    if facts.asked == 0 and not facts.mended:
        ids = (*cautions.for_standing(facts.standing, adviser.rules), *ids)
    return cautions.reminders(ids, adviser.rules, facts.given, take.when != facts.condition)


def _doubt(facts: Facts, adviser: Adviser) -> Ask:
    pending = facts.pending
    assert pending is not None
    assert pending.take is not None
    ids = cautions.for_take(pending.take, adviser.installation, adviser.rules)
    shown = cautions.reminders(ids, adviser.rules, facts.given | frozenset(ids))
    return Ask("doubt", facts.asked + 1, pending.take, shown, pending=pending, slips=adviser.slips(pending))


def _again(facts: Facts, adviser: Adviser) -> Ask:
    doubt = doubted(Judged(facts, None, adviser))
    assert doubt is not None
    reading = facts.readings[doubt.reading - 1]
    assert reading.take is not None
    ids = cautions.for_take(reading.take, adviser.installation, adviser.rules)
    shown = cautions.reminders(ids, adviser.rules, facts.given, reading.take.when != facts.condition)
    return Ask("again", facts.asked + 1, reading.take, shown, doubt.says, pending=reading, slips=(doubt.expected,))


def _repair(facts: Facts, adviser: Adviser) -> Ask:
    entry = adviser.ranking(facts).faults[0]
    ids = cautions.for_repair(entry.fault, adviser.installation, adviser.rules)
    shown = cautions.reminders(ids, adviser.rules)
    return Ask("repair", cautions=shown, finding=found(entry, facts, adviser))


def _proof(facts: Facts, adviser: Adviser) -> Ask:
    check = facts.wanted
    assert check is not None
    take = check.expected.take
    minutes = adviser.rules.tests[take.quantity].minutes
    shown = _of_take(facts, adviser, None)
    return Ask("proof", facts.asked, take, shown, minutes=minutes, expected=check.expected, neighbour=check.neighbour)


def found(entry: Entry, facts: Facts, adviser: Adviser) -> Finding:
    """Return the finding of a fault: what to buy, how long it takes, what speaks for and against it."""
    rule = adviser.rules.faults[entry.fault.fault]
    others = tuple(e for e in adviser.ranking(facts).faults[1 : 1 + NAMED] if e.probability >= 0.01)
    buy = what_to_buy(entry, adviser.installation, rule)
    return Finding("found", entry=entry, suspects=others, buy=buy, minutes=rule.repair.minutes, mended=facts.mended)


def _end(facts: Facts, adviser: Adviser) -> Finding:
    """Return how the walk ended."""
    proved = tuple(t for t in facts.checked if t not in facts.failed)
    if facts.state == "danger":
        return Finding("danger", facts.alarm or "", dangers=adviser.dangers(facts), mended=facts.mended)
    if facts.state == "done":
        needed = facts.needed(adviser.ranking(facts).vain) if len(facts.mended) > 1 else facts.mended
        vain = tuple(dict.fromkeys(fault for fault in facts.mended if fault not in needed))
        return Finding("repaired", mended=needed, proved=proved, watch=facts.failed, vain=vain)
    if facts.state == "stopped":
        return Finding("stopped", mended=facts.mended)
    ranking = adviser.ranking(facts)
    if facts.left is not None:
        return found(_entry_of(facts.left, ranking.faults), facts, adviser)._replace(because="left")
    because = ranking.stop.because if ranking.stop is not None else "tests_spent"
    if because in ("repaired", "found") or (facts.mended and because != "unlisted"):
        because = "not_proved"
    says = ranking.stop.says if ranking.stop is not None else ""
    if not Judged(facts, None, adviser).may_ask:
        says = f"{MOST_QUESTIONS} tests were asked for, and no more are"
    entries = tuple(e for e in ranking.faults[:NAMED] if e.probability >= 0.02)
    settle = adviser.settling(facts) if because in ("inseparable", "tests_spent", "not_proved") else None
    taken = {r.take for r in facts.readings}
    settle = None if settle is None or settle.take in taken else settle
    return Finding(
        because, says, suspects=entries, states=ranking.no_fault_because if because == "no_fault" else (),
        settle=settle, mended=facts.mended, proved=proved,
    )  # fmt: skip


def _entry_of(fault: FaultAt, entries: tuple[Entry, ...]) -> Entry:
    return next((e for e in entries if e.fault == fault), entries[0])


_ASKS = {
    "alarm": _plain,
    "standing": _plain,
    "tools": _plain,
    "meter": _plain,
    "complaint": _plain,
    "seen": _plain,
    "test": _test,
    "doubt": _doubt,
    "again": _again,
    "repair": _repair,
    "proof": _proof,
}
