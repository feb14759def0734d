"""What makes a case hard, and when a play has solved it."""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.practice import CaseFault, PracticeCase
from diagnose.model.ranking import Ranking
from diagnose.practice.policy import Played, level_of, solved, suspects_after
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
