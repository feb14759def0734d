"""Shops whose faults are not as frequent as ours: what they learn from their jobs shortens the walks that follow.

A shop is a frequency of each fault, drawn about those that ship. Its jobs and its fresh vehicles are simulated from it;
what the jobs proved is learnt by the real code, written, laid over the rules that ship and read again. The vehicles
are then played to the end with and without it, and the belief of both is compared after the same readings.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, log
from pathlib import Path
from statistics import fmean, median
from tempfile import TemporaryDirectory
from typing import NamedTuple

import numpy as np
from scipy.stats import wilcoxon

from diagnose.evaluation.game import Play, play
from diagnose.evaluation.population import Garage
from diagnose.evaluation.scoring import Score, score
from diagnose.inference.learning import learn, weights_by_fault
from diagnose.inference.ranking import Engine, Question
from diagnose.model.rules import RuleBase
from diagnose.store.learnt_rules import write_learnt
from diagnose.store.rule_folders import rule_folders
from diagnose.store.rules import load_rules
from tests.evaluation.small import small_installation, story
from tests.inference.engines import TOOLS, rule_base

#: how far the frequencies of a shop lie from ours, as the deviation of their logarithm
SPREAD = 2.0
SHOPS, JOBS, FRESH = 6, 200, 40
#: readings after which both beliefs are compared, those of the walk without what was learnt
AFTER = range(4)
#: what is so small that it is no worsening: twice the deviation of a share of this many vehicles
NO_WORSE = 2.0 * (0.05 * 0.95 / (SHOPS * FRESH)) ** 0.5


class Walk(NamedTuple):
    """A vehicle played to its end, and how right the belief was after the first readings of the walk without."""

    minutes: float
    end: Score
    stages: tuple[Score, ...]


def frequent(seed: int) -> RuleBase:
    """Return the rules that ship with the frequencies of a shop."""
    rules = rule_base()[0]
    chance = np.random.Generator(np.random.PCG64(seed))
    faults = {}
    for name, rule in rules.faults.items():
        weight = rule.frequency.weight * exp(SPREAD * chance.standard_normal())
        frequency = rule.frequency.model_copy(update={"weight": weight})
        faults[name] = rule.model_copy(update={"frequency": frequency})
    return rules.model_copy(update={"faults": faults})


def learnt(garage: Garage, into: Path) -> RuleBase:
    """Return the rules that ship with what the jobs of a shop have proved laid over them."""
    weights = weights_by_fault(garage.installation, rule_base()[0])
    proved = [garage.case(1000 + number).faults[0].fault for number in range(JOBS)]
    lessons, _ = learn(rule_base()[0], [(weights, fault) for fault in proved])
    write_learnt(str(into), lessons, False)
    return load_rules(rule_folders(str(into)))


def walks(garage: Garage, own: RuleBase) -> list[tuple[Walk, Walk]]:
    """Return each fresh vehicle played without and with the rules that a shop has learnt."""
    rules, tables = rule_base()
    engines = [Engine(garage.installation, each, tables, 7) for each in (rules, own)]
    found = []
    for number in range(FRESH):
        case = garage.case(number)
        ended = [play(each, garage.vehicle(case), case.complaint, Play(TOOLS)) for each in engines]
        first = [Question(ended[0].readings[:count], case.complaint, TOOLS) for count in AFTER]
        stages = [tuple(score(each.rank(question), case.faults) for question in first) for each in engines]
        both = [
            Walk(outcome.minutes, score(outcome.ranking, case.faults), scores)
            for outcome, scores in zip(ended, stages, strict=True)
        ]
        found.append((both[0], both[1]))
    return found


def check(folder: Path) -> None:
    """Print what the shops' walks come to without and with what they learnt, and fail where that is not better."""
    found: list[tuple[Walk, Walk]] = []
    for shop in range(SHOPS):
        garage = Garage("small", small_installation(), frequent(shop), rule_base()[1], 100 + shop, story())
        here = walks(garage, learnt(garage, folder / str(shop)))
        print(f"shop {shop}: {told(here)}", flush=True)
        found += here
    print(f"all: {told(found)}")
    without, with_it = zip(*found, strict=True)
    # Source: scipy, signed ranks of Wilcoxon
    chance = wilcoxon([a.minutes - b.minutes for b, a in found], alternative="less").pvalue
    print(f"that they are no shorter: {chance:.1e}")
    assert chance < 0.01
    assert median(a.minutes for a in with_it) < median(b.minutes for b in without)
    for stage in AFTER:
        assert surprise(with_it, stage) < surprise(without, stage)
        assert gap(a.stages[stage] for a in with_it) <= gap(b.stages[stage] for b in without) + NO_WORSE
    assert gap(a.end for a in with_it) <= gap(b.end for b in without) + NO_WORSE


def brier(scores: Iterable[Score]) -> float:
    """Return the mean square of what was said of the leading answer and whether it was right."""
    return fmean((each.leading - each.first) ** 2 for each in scores)


def gap(scores: Iterable[Score]) -> float:
    """Return by how much what was said of the leading answer is off how often it was right."""
    said, right = zip(*((each.leading, each.first) for each in scores), strict=True)
    return abs(fmean(said) - fmean(right))


def surprise(walked: Iterable[Walk], stage: int) -> float:
    """Return the mean of minus the logarithm of the chance that the truth was given."""
    return fmean(-log(max(each.stages[stage].chance, 1e-4)) for each in walked)


def told(found: list[tuple[Walk, Walk]]) -> str:
    """Return the figures of some vehicles, without and with what was learnt."""
    lines = []
    for walked in zip(*found, strict=True):
        minutes = [each.minutes for each in walked]
        stages = ", ".join(
            f"{surprise(walked, s):.3f}/{brier(w.stages[s] for w in walked):.3f}/{gap(w.stages[s] for w in walked):.3f}"
            for s in AFTER
        )
        end = f"{brier(w.end for w in walked):.4f}/{gap(w.end for w in walked):.4f}"
        lines.append(f"median {median(minutes):.2f}, mean {fmean(minutes):.2f} min; after readings {stages}; end {end}")
    shorter = sum(a.minutes < b.minutes for b, a in found)
    longer = sum(a.minutes > b.minutes for b, a in found)
    return f"\n  without {lines[0]}\n  with    {lines[1]}\n  shorter {shorter}, longer {longer} of {len(found)}"


if __name__ == "__main__":
    with TemporaryDirectory() as made:
        check(Path(made))
