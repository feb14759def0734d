"""One engine a layout for all tests of a run, and readings made by hand."""

from __future__ import annotations

from functools import cache

from diagnose.inference.ranking import Engine, Question
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.ranking import Ranking
from diagnose.model.reading import Read, Reading, Take
from diagnose.model.rules import RuleBase
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import load_layout
from diagnose.store.rules import load_rules
from diagnose.store.tables import load_tables

TOOLS = ("multimeter", "clamp", "eyes", "hands")


@cache
def rule_base() -> tuple[RuleBase, Tables]:
    return load_rules(), load_tables(rules_folder())


@cache
def engine(layout: str, seed: int = 1) -> Engine:
    return Engine(load_layout(layout), *rule_base(), seed)


def volts(a: str, b: str, value: float, when: str = "engine_running") -> Reading:
    return Reading(Take("volts", (a, b), when), Read("number", f"{value} V", value))


def word(quantity: str, place: str, said: str, when: str = "at_rest") -> Reading:
    return Reading(Take(quantity, (place,), when), Read("word", said, word=said))


def answers(layout: str, fault: FaultAt, *takes: Take, seed: int = 12) -> tuple[Reading, ...]:
    """Return what a simulated vehicle with a fault answers."""
    rules, tables = rule_base()
    hidden = Hypothesis(fault, rules.faults[fault.fault], 1.0)
    vehicle = SimulatedVehicle(load_layout(layout), rules, tables, hidden, seed)
    return tuple(Reading(take, vehicle.answer(take)) for take in takes)


def rank(layout: str, *readings: Reading, complaint: str | None = None, tools: tuple[str, ...] = TOOLS) -> Ranking:
    return engine(layout).rank(Question(readings, complaint, tools))


def chances(ranking: Ranking) -> dict[tuple[object, ...], float]:
    """Return every probability of a ranking by what it is of."""
    found: dict[tuple[object, ...], float] = {(e.fault, *e.together): e.probability for e in ranking.faults}
    return found | {("no_fault",): ranking.no_fault, ("unlisted",): ranking.unlisted}
