"""What an event changes in the facts: only readings of its own test, wherever they stand."""

from __future__ import annotations

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take
from diagnose.session.events import Event
from diagnose.session.facts import Facts, told

FIRST, SECOND, THIRD = (Take("volts", (point, "chassis"), "at_rest") for point in ("a", "b", "c"))


def read(take: Take, value: float = 12.6) -> Reading:
    return Reading(take, Read("number", f"{value} V", value))


def test_a_doubted_reading_is_kept_where_it_is_read_again_and_no_other_is() -> None:
    for pending, taken, kept in ((FIRST, FIRST, (FIRST,)), (FIRST, SECOND, ()), (SECOND, FIRST, ())):
        facts = told(Facts(state="doubt", pending=read(pending)), Event("reading", reading=read(taken)))
        assert facts.kept == kept
        assert facts.pending is None
        assert facts.readings == (read(taken),)


def test_a_reading_taken_back_is_not_checked_any_more_and_the_others_are() -> None:
    every = (FIRST, SECOND, THIRD)
    facts = Facts(readings=tuple(read(t) for t in every), checked=every, failed=every)
    after = told(facts, Event("retract", number=2))
    assert after.readings == (read(FIRST), read(THIRD))
    assert after.checked == after.failed == (FIRST, THIRD)


def test_a_contradicted_reading_that_cannot_be_repeated_is_dropped_wherever_it_stands() -> None:
    for number in range(3):
        before = tuple(read(t) for t in (FIRST, SECOND, THIRD))
        facts = told(Facts(state="again", readings=before), Event("cannot", reading=before[number]))
        assert facts.readings == (*before[:number], *before[number + 1 :])


def test_a_reading_before_a_repair_stays_when_it_is_taken_anew() -> None:
    before = (read(FIRST), Reading(None, None, FaultAt("blown", "input_fuse")))
    facts = told(Facts(state="again", readings=before), Event("reading", reading=read(FIRST, 13.1)))
    assert facts.readings == (*before, read(FIRST, 13.1))
