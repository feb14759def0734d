"""Playing a vehicle: when it ends, what it costs, what is mended; the engine is a script."""

from __future__ import annotations

from diagnose.evaluation.game import MOST_TESTS, Play, play
from diagnose.inference.candidates import minutes_after
from diagnose.inference.ranking import Question
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import NextTest, Ranking
from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from tests.evaluation.small import entry, ranking, small_installation
from tests.inference.engines import TOOLS, engine, rule_base

FUSE = FaultAt("blown", "input_fuse")
LAMP = Take("lamp", ("charging",), "engine_running")
LOOK, POSTS = Take("look", ("input_fuse",), "at_rest"), Take("volts", ("start_pos", "chassis"), "engine_running")


class Script:
    """An engine that asks for what it is told to, and then ends."""

    def __init__(self, *offers: tuple[Take, ...], then: Ranking) -> None:
        self.offers, self.then = list(offers), then
        self.asked: list[Question] = []

    def rank(self, question: Question) -> Ranking:
        self.asked.append(question)
        if not self.offers:
            return self.then
        tests = tuple(NextTest(t, 1.0, float(k), (), "", ()) for k, t in enumerate(self.offers.pop(0)))
        return ranking(entry(FUSE, 0.5), sound=0.5)._replace(next=tests)


def vehicle(*faults: FaultAt) -> SimulatedVehicle:
    rules, tables = rule_base()
    hidden = [Hypothesis(f, rules.faults[f.fault], 1.0) for f in faults]
    return SimulatedVehicle(small_installation(), rules, tables, hidden[0], 3, also=hidden[1:])


def test_it_answers_the_first_test_until_it_stops() -> None:
    found = ranking(entry(FUSE, 0.99), stop="found")
    script = Script((LAMP, LOOK), (POSTS,), then=found)
    outcome = play(script, vehicle(FUSE), "never_full", Play(TOOLS))
    assert (outcome.end, outcome.tests, outcome.ranking) == ("found", 2, found)
    assert [r.take for r in outcome.readings] == [LAMP, POSTS]
    assert outcome.readings[0].read == vehicle(FUSE).answer(LAMP)
    assert script.asked[-1].complaint == "never_full"


def test_by_bits_it_takes_the_test_with_most_of_them() -> None:
    outcome = play(Script((LAMP, LOOK), then=ranking(stop="found")), vehicle(FUSE), None, Play(TOOLS, by_bits=True))
    assert [r.take for r in outcome.readings] == [LOOK]


def test_it_ends_where_nothing_is_offered_and_where_tests_run_out() -> None:
    assert play(Script(then=ranking(entry(FUSE, 0.5))), vehicle(FUSE), None, Play(TOOLS)).end == "nothing offered"
    endless = Script(*[(LOOK,)] * 100, then=ranking())
    outcome = play(endless, vehicle(FUSE), None, Play(TOOLS))
    assert (outcome.end, outcome.tests) == ("tests", MOST_TESTS)
    slow = Script(*[(POSTS,), (LOOK,)] * 50, then=ranking())
    costly = play(slow, vehicle(FUSE), None, Play(TOOLS))
    assert costly.end == "tests"
    assert costly.minutes == sum(2.0 if k % 2 == 0 else 1.5 for k in range(25))


def test_an_engine_that_breaks_down_is_told_and_not_raised() -> None:
    class Broken:
        def rank(self, question: Question) -> Ranking:
            raise RuntimeError("no solution")

    outcome = play(Broken(), vehicle(FUSE), None, Play(TOOLS))
    assert (outcome.end, outcome.ranking.faults) == ("broke down", ())


def test_what_is_found_is_mended_and_looked_at_again() -> None:
    class Mender(Script):
        def rank(self, question: Question) -> Ranking:
            self.asked.append(question)
            mended = [r.repaired for r in question.readings if r.repaired]
            if not mended:
                return ranking(entry(FUSE, 0.99), stop="found")
            if len(question.readings) == 1:
                return ranking(entry(FUSE, 0.9))._replace(next=(NextTest(LAMP, 1.0, 1.0, (), "", ()),))
            return ranking(entry(FUSE, 0.9), stop="repaired")

    outcome = play(Mender(then=ranking()), vehicle(FUSE), None, Play(TOOLS, repair=True))
    assert (outcome.end, outcome.mended) == ("repaired", (FUSE,))
    assert outcome.readings[0] == Reading(None, None, FUSE)
    assert outcome.readings[1].read == Read("word", "on", word="on")


def test_minutes_are_those_of_the_engine() -> None:
    rules, tables = rule_base()
    asked = engine("crew_cab_tray")
    offered = asked.rank(Question((), None, TOOLS)).next
    for test in offered:
        assert minutes_after((), [test.take], asked.installation, rules, tables) == [test.minutes]
    taken = (Reading(offered[0].take, Read("number", "12.1", 12.1)),)
    for test in asked.rank(Question(taken, None, TOOLS)).next:
        assert minutes_after(taken, [test.take], asked.installation, rules, tables) == [test.minutes]
