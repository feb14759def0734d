"""One vehicle played by the engine: its next test is answered until it stops, and what it thinks then.

The score is kept elsewhere; nothing is drawn here.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Protocol

from diagnose.inference.candidates import minutes_after
from diagnose.inference.ranking import Question
from diagnose.inference.stopping import MOST_REPAIRS
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import NextTest, Ranking
from diagnose.model.reading import Reading
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["MOST_MINUTES", "MOST_TESTS", "Answering", "Outcome", "Play", "Ranking", "play"]

#: limits of one session: tests, and minutes of work
MOST_TESTS, MOST_MINUTES = 25, 60.0
REPAIR_TESTS, REPAIR_MINUTES = 60, 180.0
#: what is thought before anything was asked
EMPTY = Ranking(0, (), 0.0, (), 0.0, (), (), None)


class Answering(Protocol):
    """Whatever ranks faults: the engine."""

    def rank(self, question: Question) -> Ranking: ...


class Play(NamedTuple):
    """How a vehicle is played: tools, whether what is found is mended, and whether bits count instead of bits a
    minute.
    """

    tools: tuple[str, ...]
    repair: bool = False
    by_bits: bool = False


class Outcome(NamedTuple):
    """How it ended: the last ranking, the readings, tests, minutes, why it stopped, and what was mended."""

    ranking: Ranking
    readings: tuple[Reading, ...]
    tests: int
    minutes: float
    end: str
    mended: tuple[FaultAt, ...] = ()


def play(engine: Answering, vehicle: SimulatedVehicle, complaint: str | None, way: Play) -> Outcome:
    """Play one vehicle to the end.

    Returns: the outcome; `end` is a word of the ranking's stop, or tests, minutes, or nothing where no test is offered.
    """
    readings: list[Reading] = []
    mended: list[FaultAt] = []
    minutes, tests = 0.0, 0
    most_tests, most_minutes = (REPAIR_TESTS, REPAIR_MINUTES) if way.repair else (MOST_TESTS, MOST_MINUTES)
    ranking = EMPTY
    while True:
        try:
            ranking = engine.rank(Question(tuple(readings), complaint, way.tools))
        except RuntimeError:  # told as an end of its own: one vehicle must not take the others with it
            return Outcome(ranking, tuple(readings), tests, minutes, "broke down", tuple(mended))
        end = "" if ranking.stop is None else ranking.stop.because
        if way.repair and end == "found" and ranking.faults:
            fault = ranking.faults[0].fault
            if mended.count(fault) < MOST_REPAIRS:
                mended.append(fault)
                vehicle = vehicle.mended(fault)
                readings.append(Reading(None, None, fault))
                continue
        if not end and not ranking.next:
            end = "nothing offered"
        if not end and (tests >= most_tests or minutes >= most_minutes):
            end = "tests" if tests >= most_tests else "minutes"
        if end:
            return Outcome(ranking, tuple(readings), tests, minutes, end, tuple(mended))
        take = _chosen(ranking.next, way).take
        minutes += minutes_after(readings, [take], vehicle.installation, vehicle.rules, vehicle.tables)[0]
        tests += 1
        readings.append(Reading(take, vehicle.told(take)))


def _chosen(offered: Sequence[NextTest], way: Play) -> NextTest:
    return max(offered, key=lambda t: t.information_bits) if way.by_bits else offered[0]
