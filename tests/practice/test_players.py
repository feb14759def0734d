"""Trainees of three kinds: the engine first, the fixed textbook order second, chance far below. Kept figures hold."""

from __future__ import annotations

import pytest

from diagnose.store.practice_cases import case_path
from diagnose.store.practice_figures import load_figures
from tests.practice.figures import figures_of, loaded
from tests.practice.players import PLAYERS, Row, leads, scores, table

#: cases whose figures are worked out anew, those of one installation together
AGAIN = ("pair-fuse-01", "pair-hot-02", "pair-light-02", "canopy-panel-02")
#: cases that all three play
PLAYED = ("pair-fuse-01", "pair-hot-02", "pair-light-02", "canopy-eyes-01", "canopy-lie-01", "canopy-panel-02")
#: share of cases in which no other trainee may have more points than the engine, and the part of the engine's mean
#: points that chance may have at most
FIRST, FAR_BELOW = 0.8, 0.5


def rows(*points: int) -> dict[str, Row]:
    return {player: Row(each, 9.0, ()) for player, each in zip(PLAYERS, points, strict=True)}


def test_who_leads() -> None:
    assert leads(rows(90, 80, 0))
    assert leads(rows(90, 90, 0))
    assert not leads(rows(90, 90, 0), tied=False)
    assert not leads(rows(90, 91, 0))


def test_the_table_of_the_trainees() -> None:
    lines = table({"a": rows(100, 80, 0), "b": rows(90, 100, 0)})
    assert lines[0] == "engine: 95.0 points, passed 100%, 9.0 min"
    assert lines[-1] == "2 cases: engine first in 50%, alone in 50%"


@pytest.mark.slow
@pytest.mark.parametrize("case", AGAIN)
def test_kept_figures_are_those_that_the_engine_works_out(case: str) -> None:
    """After a change of the engine: `python -m tests.practice.figures`, with the ids."""
    assert figures_of(loaded(case_path(case))) == load_figures()[case]


@pytest.mark.slow
def test_the_engine_is_first_the_textbook_second_chance_far_below() -> None:
    known = load_figures()
    found = {}
    for name in PLAYED:
        played = scores(loaded(case_path(name)), known[name].best_minutes)
        found[name] = {p: Row(s.points, s.minutes, s.gates) for p, s in played.items()}
    engine, textbook, chance = (sum(one[p].points for one in found.values()) / len(found) for p in PLAYERS)
    assert engine > textbook > chance
    assert chance < FAR_BELOW * engine
    assert sum(leads(one) for one in found.values()) >= FIRST * len(found)
