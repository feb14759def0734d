"""Trainees of three kinds: the engine first, the fixed textbook order second, chance far below. Kept figures hold."""

from __future__ import annotations

import pytest

from diagnose.store.practice_figures import load_figures
from tests.practice.figures import figures_of
from tests.practice.players import FAR_BELOW, PLAYERS, Row, alone, in_order, leads, sample, scores, table

#: cases that all three play, and of them those whose figures are worked out anew
PLAYED, AGAIN = 10, 5
#: share of cases in which the engine must be first, and the three in order
FIRST = 0.8


def rows(*points: int) -> dict[str, Row]:
    return {player: Row(each, 9.0, (), each > 0) for player, each in zip(PLAYERS, points, strict=True)}


def test_who_leads() -> None:
    assert leads(rows(90, 80, 0))
    assert leads(rows(90, 90, 0))
    assert not alone(rows(90, 90, 0))
    assert not leads(rows(90, 91, 0))


def test_the_order_of_the_three() -> None:
    assert in_order(rows(90, 80, 45))
    assert in_order(rows(90, 0, 0))
    assert not in_order(rows(90, 80, 46))
    assert not in_order(rows(90, 91, 0))
    assert not in_order(rows(90, 10, 20))


def test_the_table_of_the_trainees() -> None:
    lines = table({"tray-fuse-01": rows(100, 80, 0), "tray-two-01": rows(90, 100, 0)})
    assert lines[2] == "| engine | 95.0 | 100% | 100% | 9.0 |"
    assert lines[4] == "| chance | 0.0 | 0% | 100% | 9.0 |"
    assert lines[-2:] == ["| 5 | 1 | 90, 100, 0 | 0% | 0% | 0% |", "| all | 2 | 95, 90, 0 | 50% | 50% | 50% |"]


def test_the_sample_is_drawn_and_spread_over_levels_and_layouts() -> None:
    cases = sample(PLAYED)
    assert [case.case.id for case in sample(AGAIN)] == [case.case.id for case in cases][:AGAIN]
    assert {case.case.level for case in cases[:AGAIN]} == {1, 2, 3, 4, 5}
    assert len({case.installation.title for case in cases}) >= PLAYED - 1


@pytest.mark.slow
def test_kept_figures_are_those_that_the_engine_works_out() -> None:
    """After a change of the engine: `python -m tests.practice.figures --all`."""
    known = load_figures()
    for case in sample(AGAIN):
        assert figures_of(case) == known[case.case.id], case.case.id


@pytest.mark.slow
def test_the_engine_is_first_the_textbook_second_chance_far_below() -> None:
    known = load_figures()
    found = {}
    for case in sample(PLAYED):
        played = scores(case, known[case.case.id].best_minutes)
        found[case.case.id] = {p: Row(s.points, s.minutes, s.gates, s.found) for p, s in played.items()}
    engine, textbook, chance = (sum(one[p].points for one in found.values()) / len(found) for p in PLAYERS)
    assert engine > textbook > chance
    assert chance < FAR_BELOW * engine
    assert sum(leads(one) for one in found.values()) >= FIRST * len(found)
    assert sum(in_order(one) for one in found.values()) >= FIRST * len(found)
