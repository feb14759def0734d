"""A whole small run: the same for one and for two processes; a broken engine scores badly; causes are taken out."""

from __future__ import annotations

from statistics import fmean

import pytest

from diagnose.evaluation import run as running
from diagnose.evaluation.population import Garage
from diagnose.evaluation.run import run, without
from diagnose.evaluation.summary import summarize
from diagnose.inference.ranking import Engine, Question
from diagnose.model.ranking import Ranking
from tests.evaluation.small import plan, small_installation, story
from tests.inference.engines import TOOLS, rule_base

PLAYERS = ("engine", "textbook", "halving")


class Confused(Engine):
    """An engine that turns the order of its entries round."""

    def rank(self, question: Question) -> Ranking:
        ranking = super().rank(question)
        chances = [e.probability for e in ranking.faults]
        turned = [e._replace(probability=p) for e, p in zip(ranking.faults[::-1], chances, strict=True)]
        return ranking._replace(faults=tuple(turned))


@pytest.mark.slow
def test_one_and_two_processes_give_the_same_and_each_player_plays_each_vehicle() -> None:
    told: list[int] = []
    alone = run(plan(6, PLAYERS), 1, told.append)
    assert told[-1] == 6
    assert [(r.case.number, r.player) for r in alone] == [(k, p) for k in range(6) for p in PLAYERS]
    assert run(plan(6, PLAYERS), 2) == alone
    assert fmean(r.score.first for r in alone if r.player == "engine") >= 0.6
    summarize(plan(6, PLAYERS), alone)


@pytest.mark.slow
def test_a_broken_engine_scores_badly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(running, "Engine", Confused)
    results = run(plan(6), 1)
    assert fmean(r.score.first for r in results) <= 0.2
    assert fmean((1.0 - r.score.chance) ** 2 for r in results) > 0.5


def test_a_cause_that_is_taken_out_has_no_chance_left() -> None:
    rules, tables = rule_base()
    garage = Garage("small", small_installation(), rules, tables, 5, story())
    engine = Engine(small_installation(), rules, tables, 1)
    case = garage.case(0)
    (fault,) = case.faults
    asked = Question((), None, TOOLS)
    known = [e.fault for e in engine.rank(asked).faults if e.probability > 1e-9]
    left = [e.fault for e in without(engine, case, small_installation()).rank(asked).faults if e.probability > 1e-9]
    assert any(f.part == fault.part for f in known)
    assert left
    assert all(f.part != fault.part for f in left)
    assert [e.fault for e in engine.rank(asked).faults if e.probability > 1e-9] == known


def test_a_cause_that_is_taken_out_is_no_second_fault_either() -> None:
    rules, tables = rule_base()
    engine = Engine(small_installation(), rules, tables, 1)
    case = Garage("small", small_installation(), rules, tables, 5, story()).case(0)
    gone = {n for n, h in enumerate(engine.hypotheses) if h.fault is not None and h.fault.part == case.faults[0].part}
    first = next(n for n, h in enumerate(engine.hypotheses) if n and h.weight > 0.0 and n not in gone)
    told, other = engine, without(engine, case, small_installation())
    beside = [
        one._two.prior(one.believe(Question((), None, TOOLS)).prior, [first], 0.5)[list(gone)].sum()
        for one in (told, other)
    ]
    assert beside[0] > 1e-3
    assert beside[1] < 1e-30
