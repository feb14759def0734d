"""The engine as trainee: its policy played on a vehicle to a proved repair, and what makes a case hard.

It plays and counts; what is kept of it is the business of `store`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from diagnose.inference.candidates import minutes_after
from diagnose.inference.stopping import MOST_REPAIRS
from diagnose.model.fault import FaultAt
from diagnose.model.practice import PracticeCase
from diagnose.model.ranking import NextTest, Ranking
from diagnose.model.reading import Read, Reading, Take, since_repair
from diagnose.practice.examiner import Examiner
from diagnose.session.proving import checks_after
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["Move", "Played", "level_of", "played", "solved", "suspects_after"]

#: limits of one play: tests, and minutes of work [min]
MOST_TESTS, MOST_MINUTES = 40, 90.0
#: share of belief that the suspects after a complaint hold together
HELD = 0.95
#: belief that nothing is wrong, and that nothing more is wrong after a proof, from which on a play ends
WELL, WELL_AFTER = 0.8, 0.65


class Move(NamedTuple):
    """One test of the policy: what was thought before it, why it came, what it read."""

    before: Ranking
    test: NextTest
    read: Read


class Played(NamedTuple):
    """How a play went: minutes [min], tests, tests before the first repair, what was mended, the end, the moves."""

    minutes: float
    tests: int
    depth: int
    mended: tuple[FaultAt, ...]
    end: str
    moves: tuple[Move | FaultAt, ...]
    last: Ranking


def played(examiner: Examiner, vehicle: SimulatedVehicle, lies: dict[Take, Read] | None = None) -> Played:
    """Play one vehicle by the engine's policy: test, mend what is found, prove it, look again.

    Parameters: `lies`, readings that are mistaken when first taken.
    """
    readings: list[Reading] = []
    mended: list[FaultAt] = []
    moves: list[Move | FaultAt] = []
    proofs: list[NextTest] = []
    left = dict(lies or {})
    minutes, tests, depth = 0.0, 0, 0
    while True:
        ranking = examiner.after(readings)
        end = _end(ranking, readings)
        if end == "found" and not proofs and mended.count(ranking.faults[0].fault) < MOST_REPAIRS:
            fault = ranking.faults[0].fault
            mended.append(fault)
            moves.append(fault)
            depth = depth or tests
            vehicle = vehicle.mended(fault)
            readings.append(Reading(None, None, fault._replace(size=None)))
            proofs = _proofs(fault, examiner, readings)
            continue
        if not end and not ranking.next and not proofs:
            end = "nothing offered"
        if (end and not proofs) or tests >= MOST_TESTS or minutes >= MOST_MINUTES:
            return Played(minutes, tests, depth or tests, tuple(mended), end or "too long", tuple(moves), ranking)
        test = proofs.pop() if proofs else ranking.next[0]
        minutes += minutes_after(readings, [test.take], vehicle.installation, vehicle.rules, vehicle.tables)[0]
        tests += 1
        read = left.pop(test.take, None) or vehicle.told(test.take)
        moves.append(Move(ranking, test, read))
        readings.append(Reading(test.take, read))


def _end(ranking: Ranking, readings: Sequence[Reading]) -> str:
    """Return why no further test is taken, or nothing.

    After a repair that was proved it is enough that a second fault is unlikely; before any repair, that a first one is.
    The score asks for no more either, and who reads on at a sound vehicle meets sooner or later what looks like a
    fault.
    """
    if ranking.stop is not None:
        return ranking.stop.because
    if not readings or readings[-1].repaired is not None:
        return ""
    if since_repair(readings):
        return "repaired" if ranking.no_fault >= WELL_AFTER else ""
    return "no_fault" if ranking.no_fault >= WELL else ""


def _proofs(fault: FaultAt, examiner: Examiner, readings: Sequence[Reading]) -> list[NextTest]:
    """Return the test that proves a repair, where there is one with these tools."""
    checks = checks_after(fault, examiner, readings, examiner.tools, 1)[:1]
    return [NextTest(c.expected.take, 0.0, 0.0, (), "it proves the repair", ()) for c in checks]


def solved(found: Played, truth: Sequence[FaultAt]) -> bool:
    """Return whether a play mended all that was wrong and nothing else; or called a sound vehicle sound."""
    if truth:
        return {fault.place for fault in truth} == {fault.place for fault in found.mended}
    likeliest = max((entry.probability for entry in found.last.faults), default=0.0)
    return not found.mended and found.last.no_fault > likeliest


def suspects_after(ranking: Ranking) -> int:
    """Return how many places hold nearly all of the belief."""
    held, places = 0.0, set()
    for entry in ranking.faults:
        if held >= HELD * sum(e.probability for e in ranking.faults):
            break
        held += entry.probability
        places.add(entry.fault.place)
    return len(places)


def level_of(case: PracticeCase, suspects: int, depth: int, rank: int) -> int:
    """Return the level of a case, 1 to 5.

    Parameters: `suspects`, places suspected after the complaint; `depth`, tests of the policy before it names the
    fault; `rank` of the truth after the complaint, from 1, or 0 for a sound vehicle.
    Two faults or a reading that lies make 5. Else a point each for: more than 6 tests, a complaint that points
    elsewhere (the truth not among the first twelve), a fault of degree, few tools, a sound vehicle; two for one that
    comes and goes.
    """
    if len(case.faults) > 1 or case.misread:
        return 5
    kinds = {fault.fault for fault in case.faults}
    points = 1 + (depth > 6) + (depth > 12) + (rank > 12) + (not case.faults)
    points += bool(kinds & {"high_resistance", "undersized", "lost_capacity"}) + 2 * ("intermittent" in kinds)
    points += len(set(case.tools) & {"multimeter", "clamp"}) < 2
    return min(points, 4)
