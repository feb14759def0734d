"""The debrief, with an examiner who says what he is told to: where the ways part, what moved, which habit."""

from __future__ import annotations

from typing import Any

from diagnose.model.practice import Act, Step
from diagnose.model.ranking import NextTest, Ranking
from diagnose.model.reading import Read, Reading, Take
from diagnose.practice.debrief import debriefed, habit_for
from diagnose.practice.examiner import Worth
from diagnose.store.practice_cases import load_practice_rules
from tests.practice.test_scoring import DROP, FUSE, MEASURE, STRAP, entry, run

BEST = NextTest(Take("lamp", ("charging",), "engine_running"), 1.0, 1.0, (), "", ())


class Teller:
    """One reading lifts the strap from 30 to 95 %; the best test would have told one bit a minute."""

    bits = 0.1

    def after(self, readings: tuple[Reading, ...]) -> Ranking:
        strap = 0.95 if readings else 0.3
        faults = (entry(STRAP, strap, True), entry(FUSE, 0.98 - strap, False))
        return Ranking(0, faults, 0.01, (), 0.0, (), (BEST,), None)

    def worth(self, readings: tuple[Reading, ...], take: Take) -> Worth:
        return Worth(self.bits, False)


def debrief(bits: float) -> Any:
    teller = Teller()
    teller.bits = bits
    read = Read("number", "0.8", 0.8)
    steps = [Step(1, MEASURE, read, 1.0, 1.0), Step(2, Act("stop", "stop"), None, 0.0, 1.0)]
    score = run(MEASURE)
    return debriefed(
        steps, [Reading(DROP, read)], (STRAP,), teller, score, load_practice_rules(), ("earth_paths",)  # type: ignore[arg-type]
    )  # fmt: skip


def test_the_ways_part_where_a_test_told_much_less_a_minute() -> None:
    assert debrief(0.1).parted == 1
    assert debrief(0.9).parted is None
    assert debrief(0.1).steps[0].best == BEST


def test_no_other_test_is_called_better_than_the_one_that_proves_a_repair() -> None:
    class Proving(Teller):
        def worth(self, readings: tuple[Reading, ...], take: Take) -> Worth:
            return Worth(None, False)

    read = Read("number", "0.02", 0.02)
    steps = [Step(1, Act("repair", "", named=(STRAP,)), None, 0.0, 0.0), Step(2, MEASURE, read, 1.0, 1.0)]
    readings = [Reading(None, None, STRAP), Reading(DROP, read)]
    told = debriefed(steps, readings, (STRAP,), Proving(), run(MEASURE), load_practice_rules(), ())  # type: ignore[arg-type]
    assert told.steps[1].best is None
    told = debriefed(steps[1:], readings[1:], (STRAP,), Proving(), run(MEASURE), load_practice_rules(), ())  # type: ignore[arg-type]
    assert told.steps[0].best == BEST


def test_what_a_reading_moved_is_told_in_decibels() -> None:
    moved = {m.fault: m for m in debrief(0.5).steps[0].moved}
    assert 15 < moved[STRAP].db < 18
    assert moved[FUSE].db < -10
    assert moved[STRAP].chance == 0.95


def test_belief_is_told_from_the_start() -> None:
    told = debrief(0.5)
    assert told.belief[0] == (STRAP, (0.3, 0.95, 0.95))
    assert told.belief[-1][0] is None


def test_a_debrief_of_nothing_done() -> None:
    told = debriefed([], [], (STRAP,), Teller(), run(), load_practice_rules(), ())  # type: ignore[arg-type]
    assert told.steps == ()


def test_the_habit_is_that_of_the_worst_mishap() -> None:
    rules = load_practice_rules()
    assert habit_for(run(MEASURE, Act("swap", "", part="charger")), [], rules, ("batteries",)) == "one_reading_is_none"
    assert habit_for(run(MEASURE), [], rules, ("batteries",)) == "batteries"
    bridged = run(Act("jumper", "", danger="x"), Act("swap", "", part="charger"))
    assert habit_for(bridged, [], rules, ("batteries",)) == "safety"
    assert debrief(0.5).habit == rules.skills["earth_paths"].habit
