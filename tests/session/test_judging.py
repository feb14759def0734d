"""When a repair counts as proved although tests are left, judged on rankings made by hand."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry, NextTest, Ranking, Stop
from diagnose.model.reading import Reading, Take
from diagnose.session.events import Event
from diagnose.session.facts import Check, Facts, told
from diagnose.session.judging import CONDITIONS, MOST_QUESTIONS, Judged

TAKE, BESIDE = (Take("volts", (point, "chassis"), "at_rest") for point in ("a", "b"))
CHECKS = (Check(Expected(TAKE, 0.0, 0.0, 0.1, "V", None)), Check(Expected(BESIDE, 0.0, 0.0, 0.1, "V", None), True))
LEFT = NextTest(TAKE, 1.0, 0.1, (), "", ())
REPAIR = Reading(None, None, FaultAt("blown", "fuse"))


@pytest.mark.parametrize(
    ("no_fault", "failed", "proved"), [(0.99, (), True), (0.5, (), False), (0.99, (BESIDE,), False)]
)
def test_with_tests_left_a_repair_is_proved_where_it_is_nearly_sure_that_nothing_is_wrong(
    no_fault: float, failed: tuple[Take, ...], proved: bool
) -> None:
    ranking = Ranking(3, (), no_fault, (), 0.0, (), (LEFT,), None)
    facts = Facts(checks=CHECKS, checked=(TAKE, BESIDE), failed=failed, asked=5)
    judged = Judged(facts, None, SimpleNamespace(ranking=lambda _: ranking))  # type: ignore[arg-type]
    assert CONDITIONS["every repair is proved"](judged) == proved


def test_another_look_goes_on_until_the_tests_are_spent_and_has_as_many_as_the_first() -> None:
    ranking = Ranking(3, (), 0.99, (), 0.0, (), (LEFT,), None)
    adviser = SimpleNamespace(ranking=lambda _: ranking)
    ended = Facts(state="done", readings=(REPAIR,), checks=CHECKS, checked=(TAKE, BESIDE), asked=MOST_QUESTIONS)
    first = Judged(ended, None, adviser)  # type: ignore[arg-type]
    assert CONDITIONS["every repair is proved"](first)
    assert not first.may_ask
    again = told(ended, Event("reopen"))._replace(state="weigh")
    look = Judged(again, None, adviser)  # type: ignore[arg-type]
    assert look.may_ask
    assert not CONDITIONS["every repair is proved"](look)
    assert CONDITIONS["every repair is proved"](look._replace(facts=again._replace(asked=2 * MOST_QUESTIONS)))
    mended = told(again, Event("repaired", fault=REPAIR.repaired))
    assert not mended.looking, "a further repair is proved as the first was"


@pytest.mark.parametrize(
    ("state", "earlier", "looking"), [("ended", 7, True), ("stopped", 3, False), ("done", 7, True)]
)
def test_what_goes_on_after_an_end_is_counted_anew(state: str, earlier: int, looking: bool) -> None:
    facts = Facts(state=state, readings=(REPAIR,), asked=7, earlier=3)
    again = told(facts, Event("reopen"))
    assert (again.earlier, again.looking) == (earlier, looking)
    assert told(facts._replace(looking=True), Event("reopen")).looking, "a look that was put away goes on"


@pytest.mark.parametrize(("times", "found"), [(0, True), (1, True), (2, False)])
def test_what_was_mended_twice_is_not_to_be_mended_a_third_time(times: int, found: bool) -> None:
    fault, other = FaultAt("blown", "fuse"), FaultAt("blown", "other_fuse")
    leader = Entry(fault, "", 0.97, 30.0, None, True, (), (), "", "")
    ranking = Ranking(3, (leader,), 0.01, (), 0.0, (), (LEFT,), Stop("found", ""))
    facts = Facts(readings=(REPAIR,) * times + (Reading(None, None, other),) * 3)
    judged = Judged(facts, None, SimpleNamespace(ranking=lambda _: ranking))  # type: ignore[arg-type]
    assert CONDITIONS["the fault is found"](judged) == found
    assert CONDITIONS["no test pays any more"](judged), "what is found and not mended is an end"
