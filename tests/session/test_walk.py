"""One walk event by event: the questions of the start, danger, what is taken back, what is doubted, what is proved."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from diagnose.model.expected import Expected
from diagnose.model.reading import Read, Reading, Take
from diagnose.session.advice import Adviser
from diagnose.session.events import Event
from diagnose.session.facts import Check, Facts
from diagnose.session.steps import Ask, Finding
from diagnose.session.walk import OutOfPlace, Session
from tests.session.drivers import Bench, adviser, hypothesis

LAYOUT = "solar_only_van"  # the smallest: quickest to rank
START = (
    Event("alarm", "none"), Event("standing", "off_road"), Event("tools", "multimeter,clamp,eyes,hands"),
    Event("meter", "12.6 V", Reading(None, Read("number", "12.6 V", 12.6))), Event("complaint", "solar_does_nothing"),
    Event("seen"),
)  # fmt: skip


def volts(a: str, b: str, value: float, when: str = "sun_only") -> Event:
    return Event("reading", reading=Reading(Take("volts", (a, b), when), Read("number", f"{value} V", value)))


def begun(*events: Event) -> Session:
    return Session(adviser(LAYOUT), (*START, *events))


def asked(session: Session) -> Ask:
    assert isinstance(session.step, Ask)
    return session.step


def test_danger_is_asked_first_and_the_engine_waits() -> None:
    session = Session(adviser("canopy"))
    kinds = []
    for event in START[:5]:
        kinds.append(asked(session).kind)
        session.feed(event)
    assert kinds == ["alarm", "standing", "tools", "meter", "complaint"]
    assert adviser("canopy")._engine is None, "nothing has been solved for the questions of the start"


def test_without_a_multimeter_no_meter_is_proved() -> None:
    session = Session(adviser(LAYOUT), (*START[:2], Event("tools", "eyes")))
    assert asked(session).kind == "complaint"


@pytest.mark.parametrize("sign", ["smoke", "wet"])
def test_a_sign_of_danger_ends_the_walk_until_it_is_safe(sign: str) -> None:
    session = Session(adviser(LAYOUT), [Event("alarm", sign)])
    assert isinstance(session.step, Finding)
    assert (session.step.because, session.step.says) == ("danger", sign)
    assert asked(Session(adviser(LAYOUT), [Event("alarm", sign), Event("reopen")])).kind == "alarm"


def test_a_complaint_of_danger_asks_once_more() -> None:
    session = Session(adviser(LAYOUT), (*START[:4], Event("complaint", "plug_melted")))
    assert asked(session).kind == "alarm"
    assert asked(session).cautions
    session.feed(Event("alarm", "none"))
    assert asked(session).kind == "seen"


def test_a_reading_that_means_danger_stops_and_can_be_taken_back() -> None:
    session = begun(volts("house_pos", "house_neg", 16.4))
    assert isinstance(session.step, Finding)
    assert session.step.dangers
    session.feed(Event("retract", number=1))
    assert asked(session).kind == "test"


def test_every_event_can_be_taken_back() -> None:
    events = (*START, volts("house_pos", "house_neg", 13.2), volts("panel_pos", "panel_neg", 17.9))
    session = Session(adviser(LAYOUT))
    trail = []
    for event in events:
        trail.append((session.facts, session.step))
        session.feed(event)
    for facts, step in reversed(trail):
        session.feed(Event("undo"))
        assert (session.facts, session.step) == (facts, step)
    with pytest.raises(OutOfPlace):
        session.feed(Event("undo"))


def test_a_walk_read_from_its_log_stands_where_it_stood() -> None:
    session = begun(volts("house_pos", "house_neg", 13.2), Event("why"), Event("undo"), Event("stop"), Event("reopen"))
    session.feed(Event("alarm", "none"))
    again = Session(adviser(LAYOUT), session.log)
    assert (again.facts, again.step, again.log) == (session.facts, session.step, session.log)


def test_an_event_out_of_place_changes_nothing() -> None:
    session = begun()
    before = session.facts, session.log
    with pytest.raises(OutOfPlace):
        session.feed(Event("keep"))
    assert (session.facts, session.log) == before


def test_a_value_that_nothing_explains_is_asked_again_and_kept_if_it_stands() -> None:
    session = begun()
    take = Take("volts", ("house_pos", "house_neg"), "sun_only")
    session.feed(Event("reading", reading=Reading(take, Read("number", "1.32 V", 1.32))))
    assert asked(session).kind == "doubt"
    assert "decimal" in asked(session).slips
    assert session.facts.readings == ()
    session.feed(Event("keep"))
    assert session.facts.readings[0].read == Read("number", "1.32 V", 1.32)
    assert session.facts.kept == (take,)


def test_a_doubted_value_is_replaced_by_what_is_read_then() -> None:
    session = begun(volts("house_pos", "house_neg", 1.32), volts("house_pos", "house_neg", 13.2))
    assert [r.read.value for r in session.facts.readings if r.read] == [13.2]


def test_late_evidence_and_a_change_of_tools_are_taken_at_any_time() -> None:
    session = begun()
    before = asked(session).take
    session.feed(Event("tools", "eyes"))
    assert asked(session).take != before
    assert asked(session).take.quantity in ("look", "lamp", "works")  # type: ignore[union-attr]
    session.feed(volts("house_pos", "house_neg", 13.2))
    assert len(session.facts.readings) == 1


def test_nothing_gets_round_the_question_about_danger() -> None:
    for event in (Event("tools", "eyes"), Event("complaint", ""), volts("house_pos", "house_neg", 13.2)):
        assert asked(Session(adviser(LAYOUT), [event])).kind == "alarm"


def test_a_repair_that_is_taken_back_is_not_proved() -> None:
    fault = hypothesis(LAYOUT, "blown").fault
    session = begun(Event("repaired", fault=fault))
    assert asked(session).kind == "proof"
    session.feed(Event("retract", number=1))
    assert asked(session).kind == "test"
    assert session.facts.mended == ()


def test_another_reading_while_one_is_doubted_is_taken_for_what_it_is() -> None:
    session = begun(volts("house_pos", "house_neg", 1.32), volts("house_pos", "house_neg", 13.2, "at_rest"))
    assert [r.take.when for r in session.facts.readings if r.take] == ["at_rest"]
    assert session.facts.kept == ()


def test_what_cannot_be_taken_is_not_asked_again() -> None:
    session = begun()
    take = asked(session).take
    session.feed(Event("cannot", reading=Reading(take, Read("skipped", "skipped"))))
    assert asked(session).take != take


def test_a_walk_ends_with_the_repair_proved() -> None:
    bench = Bench(LAYOUT, hypothesis(LAYOUT, "blown"), 4)
    session = Session(adviser(LAYOUT))
    finding = bench.walk(session)
    assert finding.because == "repaired"
    assert finding.proved
    kinds = [each.ask.kind for each in bench.asked]
    assert kinds.index("repair") < kinds.index("proof")


@pytest.mark.slow
def test_a_repair_that_does_not_help_is_not_believed() -> None:
    bench = Bench(LAYOUT, hypothesis(LAYOUT, "blown"), 4)
    bench.mend = lambda fault: None  # type: ignore[method-assign]
    session = Session(adviser(LAYOUT))
    try:
        finding = bench.walk(session, most=24)
    except AssertionError:
        return  # it asks on, and that is no proof either
    assert finding.because != "repaired"


def test_a_repair_that_is_left_is_said_with_what_to_buy() -> None:
    bench = Bench(LAYOUT, hypothesis(LAYOUT, "blown"), 4)
    session = Session(adviser(LAYOUT))
    while not isinstance(session.step, Finding):
        fault = session.step.finding.entry.fault if session.step.finding and session.step.finding.entry else None
        session.feed(Event("leave", fault=fault) if session.step.kind == "repair" else bench.event(session.step))
    assert session.step.because == "left"
    assert "fuse" in session.step.buy


def recorded(count: int = 6) -> tuple[tuple[Event, ...], tuple[str, ...], Session]:
    """Return the events of a walk with some answers, where each led, and the walk as it was led by them."""
    bench = Bench(LAYOUT, hypothesis(LAYOUT, "blown house_fuse"), 12)
    session, states = begun(), ["standing", "tools", "meter", "complaint", "seen", "test"]
    while len(states) < len(START) + count and isinstance(session.step, Ask):
        session.feed(bench.event(session.step))
        states.append(session.facts.state)
    return session.log, tuple(states), session


def test_a_walk_whose_states_are_recorded_stands_where_it_stood_and_weighs_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for count in range(1, 7):
        log, states, told = recorded(count)
        again = Session(adviser(LAYOUT), log, states)
        assert (again.step, again.facts, again.meaning()) == (told.step, told.facts, told.meaning())
        assert told.facts.condition or told.facts.state != "test" or told.facts.mended, "cautions were shown"
    weighed, given = list[int](), told.ranking
    monkeypatch.setattr(Adviser, "ranking", lambda self, facts: weighed.append(len(facts.readings)) or given)
    Session(adviser(LAYOUT), log, states)
    assert set(weighed) <= {len(told.facts.readings)}, "the answers before the last are not weighed again"


@pytest.mark.parametrize(("wrong", "at"), [("standing", 6), ("nowhere", 6), ("repair", -1), ("standing", -1)])
def test_recorded_states_that_do_not_fit_are_judged_anew(wrong: str, at: int) -> None:
    log, states, told = recorded(2)
    changed = list(states)
    changed[at] = wrong
    again = Session(adviser(LAYOUT), log, changed)
    assert (again.step, again.facts) == (told.step, told.facts)
    assert Session(adviser(LAYOUT), log, states[:-1]).facts.state == told.facts.state


def test_to_ask_why_leads_nowhere() -> None:
    session = Session(adviser(LAYOUT), START[:2])
    before = session.facts
    assert asked(session).kind == "tools"
    session.feed(Event("why"))
    assert (asked(session).kind, session.facts) == ("tools", before)
    assert [event.kind for event in session.log] == ["alarm", "standing", "why"]


@pytest.mark.parametrize("good", [True, False])
def test_a_check_that_failed_counts_by_its_last_reading(good: bool) -> None:
    def take() -> Take:  # anew each time, as it is read from a record
        return Take("volts", ("a", "b"), "at_rest")

    checks = (Check(Expected(take(), 0.0, 0.0, 0.1, "V", None)),)
    session = Session(SimpleNamespace(as_expected=lambda expected, read: good))  # type: ignore[arg-type]
    before = Facts(checks=checks, checked=(take(),), failed=(take(),))
    after = session._checked(before, Reading(take(), Read("number", "0.05 V", 0.05)))
    assert after.checked == (take(),)
    assert after.failed == (() if good else (take(),))
