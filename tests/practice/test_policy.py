"""What makes a case hard, and when a play has solved it."""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.practice import CaseFault, PracticeCase
from diagnose.model.ranking import NextTest, Ranking, Stop
from diagnose.model.reading import Read, Reading, Take
from diagnose.practice.policy import Played, level_of, played, solved, suspects_after
from diagnose.session.proving import Check
from tests.practice.test_scoring import FUSE, STRAP, entry


def case(*faults: str, tools: tuple[str, ...] = ("multimeter", "clamp", "eyes"), **more: Any) -> PracticeCase:
    told = tuple(CaseFault(fault=f, part="tray_strap") for f in faults)
    return PracticeCase(
        id="case-1", title="t", story="s", installation="canopy", level=1, faults=told, tools=tools, **more
    )


@pytest.mark.parametrize(
    ("one", "depth", "rank", "level"),
    [
        (case("blown"), 3, 1, 1),
        (case("blown"), 9, 1, 2),
        (case("high_resistance"), 9, 20, 4),
        (case("intermittent"), 3, 1, 3),
        (case("blown", tools=("eyes", "hands")), 3, 1, 2),
        (case(), 3, 0, 2),
        (case("blown", "open_circuit"), 1, 1, 5),
        (case("blown", misread=({"lamp": "charging", "read": "on"},)), 1, 1, 5),
    ],
)
def test_level(one: PracticeCase, depth: int, rank: int, level: int) -> None:
    assert level_of(one, 20, depth, rank) == level


def test_suspects_are_places_and_not_faults() -> None:
    both = (entry(STRAP, 0.5, False), entry(FaultAt("open_circuit", "tray_strap"), 0.3, False), entry(FUSE, 0.2, False))
    assert suspects_after(Ranking(0, both, 0.0, (), 0.0, (), (), None)) == 2


def test_a_sound_vehicle_is_solved_by_leaving_it_alone() -> None:
    def play(no_fault: float, *mended: FaultAt) -> Played:
        last = Ranking(0, (entry(STRAP, 0.3, False),), no_fault, (), 0.0, (), (), None)
        return Played(9.0, 5, 5, mended, "no_fault", (), last)

    assert solved(play(0.6), ())
    assert not solved(play(0.2), ())
    assert not solved(play(0.6, STRAP), ())
    assert solved(play(0.6, STRAP), (STRAP,))
    assert not solved(play(0.6, STRAP), (STRAP, FUSE))
    assert not solved(play(0.6, STRAP, FUSE), (STRAP,))


@pytest.mark.parametrize(
    ("after_proof", "other", "tests"), [(0.85, 0.1, 2), (0.7, 0.25, 2), (0.6, 0.25, 3), (0.6, 0.04, 3)]
)
def test_a_play_goes_on_after_the_proof_only_while_a_second_fault_is_likely(
    after_proof: float, other: float, tests: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    drop, proof = Take("volts", ("tray", "chassis"), "engine_running"), Take("volts", ("a", "b"), "engine_running")
    offered = (NextTest(drop, 1.0, 1.0, (), "", ()),)

    class Engine:
        tools = ()

        def after(self, readings: list[Reading]) -> Ranking:
            mended = any(r.repaired for r in readings)
            found = Stop("found", "") if readings and not mended else None
            sound = after_proof if len(readings) == 3 else 0.9 if len(readings) > 3 else 0.1
            leader = other if mended else 0.9
            told = Ranking(0, (entry(STRAP, leader, True),), sound, (), 0.0, (), (), found)
            return told._replace(next=offered)

    class Vehicle:
        installation = rules = tables = None

        def told(self, take: Take) -> Read:
            return Read("number", "0.8", 0.8)

        def mended(self, fault: FaultAt) -> Vehicle:
            return self

    told = (Check(Expected(proof, 0.0, 0.0, 0.1, "V", None), False),)
    monkeypatch.setattr("diagnose.practice.policy.checks_after", lambda *_: told)
    monkeypatch.setattr("diagnose.practice.policy.minutes_after", lambda *_: [2.0])
    found = played(Engine(), Vehicle())  # type: ignore[arg-type]
    assert (found.tests, found.depth, found.minutes, found.end) == (tests, 1, 2.0 * tests, "repaired")
    assert found.mended == (STRAP,)
    assert [m.test.take for m in found.moves if not isinstance(m, FaultAt)][:2] == [drop, proof]


@pytest.mark.parametrize(("sound", "end"), [((0.1, 0.85), "no_fault"), ((0.9, 0.75, 0.85), "no_fault")])
def test_a_play_ends_where_a_sound_vehicle_is_thought_sound(
    sound: tuple[float, ...], end: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    drop = Take("volts", ("tray", "chassis"), "engine_running")

    class Engine:
        def after(self, readings: list[Reading]) -> Ranking:
            told = Ranking(0, (entry(STRAP, 0.04, False),), sound[len(readings)], (), 0.0, (), (), None)
            return told._replace(next=(NextTest(drop, 1.0, 1.0, (), "", ()),))

    class Vehicle:
        installation = rules = tables = None

        def told(self, take: Take) -> Read:
            return Read("number", "0.01", 0.01)

    monkeypatch.setattr("diagnose.practice.policy.minutes_after", lambda *_: [1.0])
    found = played(Engine(), Vehicle())  # type: ignore[arg-type]
    assert (found.end, found.tests, found.mended) == (end, len(sound) - 1, ())
    assert solved(found, ())
