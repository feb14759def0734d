"""All vehicles of an evaluation, played block by block, in several processes if that is wanted.

A block is a run of vehicles of one layout with an engine of its own; how blocks are cut does not depend on how many
processes there are, so that the result does not either. No clock is looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import NamedTuple

from diagnose.evaluation.game import Answering, Play, play
from diagnose.evaluation.halving import split
from diagnose.evaluation.meter import Meter
from diagnose.evaluation.population import Case, Garage, Story
from diagnose.evaluation.scoring import Score, score, score_named
from diagnose.evaluation.textbook import follow
from diagnose.inference.ranking import Engine
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Reading
from diagnose.model.rules import RuleBase
from diagnose.model.terminals import points_of
from diagnose.model.textbook import TextbookOrder
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["Plan", "Result", "run"]

#: vehicles that are played with one engine
BLOCK = 10
#: weight of a cause that is taken out: not zero, since chances are compared as odds
NO_WEIGHT = 1e-60


class Plan(NamedTuple):
    """What is evaluated: layouts with their installations, rules, figures, how many vehicles of what story, and how
    they are played: `players` are of engine, bits (the test with most bits, whatever its minutes), textbook (the fixed
    `order`) and halving; `missing` takes each cause out of the engine's rule base. `own` are the rules and figures that
    the engine goes by where they are not those of the vehicles.
    """

    layouts: tuple[tuple[str, Installation], ...]
    rules: RuleBase
    tables: Tables
    vehicles: int
    seed: int
    story: Story
    players: tuple[str, ...] = ("engine",)
    repair: bool = False
    missing: bool = False
    order: TextbookOrder | None = None
    own: tuple[RuleBase, Tables] | None = None


class Result(NamedTuple):
    """One vehicle played by one player: what it was, how it went, and how right the end was."""

    case: Case
    player: str
    score: Score
    tests: int
    minutes: float
    end: str
    unlisted: float
    no_fault: float
    readings: tuple[str, ...]
    mended: tuple[FaultAt, ...] = ()


class Block(NamedTuple):
    """Some vehicles of one layout."""

    plan: Plan
    layout: int
    numbers: tuple[int, ...]


#: plays blocks, wherever it is, and yields what came of them
Over = Callable[[Callable[[Block], list[Result]], Sequence[Block]], Iterable[list[Result]]]


def run(
    plan: Plan, jobs: int, told: Callable[[int], None] | None = None, over: Over | None = None
) -> tuple[Result, ...]:
    """Play all vehicles.

    Parameters: `jobs`, how many processes; `told` is called with the number of vehicles played after each block;
    `over` plays blocks somewhere else, in any order and more than once if need be, and yields what came of them.
    Returns: the results by vehicle, then by player: the same wherever they were played.
    """
    found: list[Result] = []
    for results in (over or _processes(jobs))(_play_block, tuple(_blocks(plan))):
        found += results
        if told is not None:
            told(len(found) // len(plan.players))
    return tuple(sorted(found, key=lambda r: (r.case.number, plan.players.index(r.player))))


def _processes(jobs: int) -> Over:
    """Return what plays blocks in so many processes of this machine."""

    def over(play: Callable[[Block], list[Result]], blocks: Sequence[Block]) -> Iterator[list[Result]]:
        if min(jobs, len(blocks)) <= 1:
            yield from map(play, blocks)
            return
        # spawned, not forked: a fork of a process that runs threads may hang
        with ProcessPoolExecutor(min(jobs, len(blocks)), mp_context=get_context("spawn")) as pool:
            yield from pool.map(play, blocks)

    return over


def _blocks(plan: Plan) -> Iterator[Block]:
    """Cut the vehicles into blocks: vehicle k is of layout k modulo the number of layouts.

    A block is played by one engine, which keeps what it works out. They are the same for any number of workers.
    """
    for layout in range(len(plan.layouts)):
        numbers = tuple(range(layout, plan.vehicles, len(plan.layouts)))
        for first in range(0, len(numbers), BLOCK):
            yield Block(plan, layout, numbers[first : first + BLOCK])


def _play_block(block: Block) -> list[Result]:
    plan = block.plan
    name, installation = plan.layouts[block.layout]
    garage = Garage(name, installation, plan.rules, plan.tables, plan.seed, plan.story)
    engine = Engine(installation, *(plan.own or (plan.rules, plan.tables)), plan.seed)
    found = []
    for number in block.numbers:
        case = garage.case(number)
        asked = without(engine, case, installation) if plan.missing else engine
        found += [_played(plan, garage, case, player, asked) for player in plan.players]
    return found


def _played(plan: Plan, garage: Garage, case: Case, player: str, engine: Answering) -> Result:
    """Let one player play a vehicle."""
    vehicle = garage.vehicle(case, plan.story.wrong)
    if player in ("engine", "bits"):
        outcome = play(engine, vehicle, case.complaint, Play(plan.story.tools, plan.repair, player == "bits"))
        rank, said = outcome.ranking, tuple(_said(r) for r in outcome.readings)
        return Result(case, player, score(rank, case.faults), outcome.tests, outcome.minutes, outcome.end,
                      rank.unlisted, rank.no_fault, said, outcome.mended)  # fmt: skip
    meter = Meter(vehicle)
    if player == "textbook" and plan.order is not None:
        named = follow(plan.order, meter, case.complaint)
    else:
        named = split(meter, garage.bands)
    said = tuple(_said(r) for r in meter.readings)
    end = "no_fault" if named is None else "found"
    return Result(case, player, score_named(named, case.faults), len(said), meter.minutes, end, 0.0,
                  float(named is None), said)  # fmt: skip


def _said(reading: Reading) -> str:
    """Return a reading or a repair in one line."""
    if reading.repaired is not None:
        return f"repaired {reading.repaired.part} {reading.repaired.at or ''}".rstrip()
    take, read = reading.take, reading.read
    if take is None or read is None:
        return ""
    return f"{take.quantity} {' '.join(take.where)} {take.when}: {read.text}"


def without(engine: Engine, case: Case, installation: Installation) -> Engine:
    """Return an engine that does not know the causes of a case, nor those at the terminations that adjoin them."""
    points = {p for fault in case.faults for p in _points(fault, installation)}
    parts = {fault.part for fault in case.faults}
    return engine.reweighed(
        tuple(h._replace(weight=NO_WEIGHT) if _near(h, points, parts) else h for h in engine.hypotheses)
    )


def _points(fault: FaultAt, installation: Installation) -> Sequence[str]:
    """Return the points that a fault adjoins: that of its end, or all those of its part."""
    return points_of(installation.parts[fault.part]) if fault.at is None else (fault.at,)


def _near(hypothesis: Hypothesis, points: set[str], parts: set[str]) -> bool:
    fault = hypothesis.fault
    return fault is not None and (fault.part in parts or (fault.at is not None and fault.at in points))
