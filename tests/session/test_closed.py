"""Which repairs of a closed walk were proved: the one that was needed, not one in vain before it."""

from __future__ import annotations

from functools import cache

import pytest

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Reading, Take
from diagnose.session.advice import Adviser
from diagnose.session.closed import _proved, proved_repairs
from diagnose.session.events import Event
from diagnose.session.facts import Check, Facts
from diagnose.session.steps import Ask, Finding
from diagnose.session.walk import OutOfPlace, Session
from tests.session.drivers import Bench, adviser, hypothesis

LAYOUT, TRUTH = "solar_only_van", FaultAt("blown", "house_fuse")
VAIN = FaultAt("no_output", "solar_panel")


@cache
def walked(vain: bool) -> tuple[tuple[Event, ...], str]:
    """Return the events of a walk and where it ended; somebody may mend another part first, in vain."""
    bench = Bench(LAYOUT, hypothesis(LAYOUT, "blown house_fuse"), 21)
    session = Session(adviser(LAYOUT))
    other = FaultAt("no_output", next(n for n, p in bench.installation.parts.items() if p.kind == "panel"))
    for _ in range(80):
        step = session.step
        if isinstance(step, Finding):
            break
        assert isinstance(step, Ask)
        if vain and step.kind == "repair" and not bench.mended:
            bench.mend(other)
            session.feed(Event("repaired", fault=other))
        else:
            session.feed(bench.event(step))
    return session.log, session.facts.state


def never() -> Adviser:
    raise AssertionError("nothing has to be walked again")


@pytest.mark.slow
def test_a_single_repair_of_a_walk_that_is_done_is_proved() -> None:
    events, state = walked(vain=False)
    assert state == "done"
    assert [fault.place for fault in proved_repairs(events, state, never)] == [TRUTH.place]


@pytest.mark.parametrize("state", ["proof", "ended", "stopped", "danger"])
@pytest.mark.slow
def test_nothing_is_proved_of_a_walk_that_is_not_done(state: str) -> None:
    assert proved_repairs(walked(vain=False)[0], state, never) == ()


@pytest.mark.slow
def test_a_repair_in_vain_does_not_count() -> None:
    events, state = walked(vain=True)
    assert state == "done"
    assert sum(event.kind == "repaired" for event in events) == 2
    found = proved_repairs(events, state, lambda: adviser(LAYOUT))
    assert [fault.place for fault in found] == [TRUTH.place]


def test_a_repair_that_was_taken_back_does_not_count() -> None:
    events, state = walked(vain=False)
    number = next(n for n, event in enumerate(events) if event.kind == "repaired")
    twice = (*events[:number], Event("repaired", fault=VAIN), Event("undo"), *events[number:])
    assert [fault.place for fault in proved_repairs(twice, state, never)] == [TRUTH.place]


@pytest.mark.slow
def test_events_that_lead_nowhere_are_out_of_place() -> None:
    events, state = walked(vain=True)
    repair = next(event for event in events if event.kind == "repaired")
    with pytest.raises(OutOfPlace):
        proved_repairs((repair, *events), state, lambda: adviser(LAYOUT))


def test_a_repair_is_proved_by_its_own_reading_and_by_no_neighbour_alone() -> None:
    proof, beside = (Take("volts", (point, "chassis"), "at_rest") for point in ("a", "b"))
    checks = tuple(Check(Expected(t, 0.0, 0.0, 0.1, "V", None), t == beside) for t in (proof, beside))
    mended = Facts(readings=(Reading(None, None, VAIN), Reading(None, None, TRUTH)), checks=checks)
    for checked, failed, counts in (
        ((proof,), (), True), ((proof, beside), (), True), ((beside,), (), False), ((), (), False),
        ((proof, beside), (proof,), False), ((proof, beside), (beside,), True),
    ):  # fmt: skip
        found = _proved(mended._replace(checked=checked, failed=failed))
        assert found == ({TRUTH.place: TRUTH} if counts else {})
