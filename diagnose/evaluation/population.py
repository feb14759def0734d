"""The vehicles of an evaluation: which layout, which hidden faults, how large, and what the owner complains of.

Vehicle number k of a seed is always the same one. It knows no engine.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from diagnose.evaluation.beside import Beside
from diagnose.evaluation.telling import HealthyBands, tells
from diagnose.inference.candidates import candidates
from diagnose.inference.complaints import complaint_ratio
from diagnose.inference.symptoms import symptom_ratios
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.rules import ComplaintRule, RuleBase
from diagnose.prediction.hypotheses import SOUND, Hypothesis, all_hypotheses
from diagnose.prediction.solving import sizes_of
from diagnose.prediction.streams import Streams
from diagnose.simulation.mismatch import OUTSIDE
from diagnose.simulation.vehicle import SimulatedVehicle

__all__ = ["Case", "Garage", "Story"]

#: share of faults whose kind is drawn evenly, so that rare kinds occur; the others are drawn by the rule base's weights
EVEN = 0.2
#: chances that an owner says nothing, or nothing that helps; else a complaint that the fault favours
SILENT, VAGUE = 0.2, 0.1
NO_HELP = "something is not right with it"
#: draws after which a vehicle without a fault that tells is given up
TRIES = 60


class Story(NamedTuple):
    """What kind of vehicles are wanted: share without a fault, chance of a mistaken reading, how many faults, tools."""

    sound: float
    wrong: float
    faults: int
    tools: tuple[str, ...]


class Case(NamedTuple):
    """One vehicle: its number and layout, the seed of its draws, its faults with their sizes, the complaint."""

    number: int
    layout: str
    seed: int
    faults: tuple[FaultAt, ...]
    complaint: str | None


class Garage:
    """Draws the vehicles of one layout and builds them."""

    def __init__(
        self, layout: str, installation: Installation, rules: RuleBase, tables: Tables, seed: int, story: Story
    ) -> None:
        """Prepare; nothing is drawn yet."""
        self.layout, self.installation, self.rules, self.tables = layout, installation, rules, tables
        self._seed, self._story = seed, story
        self._hypotheses = all_hypotheses(installation, rules)[1:]
        self.bands = HealthyBands(installation, tables, seed)
        self.takes = _telling_first(installation, story.tools)

    def case(self, number: int) -> Case:
        """Return the vehicle of a number.

        Raises: RuntimeError where no fault that tells is found in many draws.
        """
        for attempt in range(TRIES):
            chance = np.random.Generator(np.random.PCG64([self._seed, number, attempt]))
            seed = int(chance.integers(1, 2**31))
            sound = np.random.Generator(np.random.PCG64([self._seed, number])).random() < self._story.sound
            wanted = 0 if sound else self._story.faults
            faults = self._faults(wanted, seed, chance)
            case = Case(number, self.layout, seed, faults, None)
            if self._counts(case):
                return case._replace(complaint=self.complaint(case, chance))
        raise RuntimeError(f"no fault that shows was drawn for vehicle {number} of {self.layout}")

    def vehicle(self, case: Case, wrong: float = 0.0, leave_out: int | None = None) -> SimulatedVehicle:
        """Return the vehicle of a case, or its twin without one of its faults."""
        hidden = [self._hypothesis(f) for k, f in enumerate(case.faults) if k != leave_out] or [SOUND]
        return SimulatedVehicle(
            self.installation, self.rules, self.tables, hidden[0], case.seed, also=hidden[1:], wrong=wrong,
            mismatch=OUTSIDE,
        )  # fmt: skip

    def _hypothesis(self, fault: FaultAt) -> Hypothesis:
        return Hypothesis(fault, self.rules.faults[fault.fault], 1.0)

    def _faults(self, wanted: int, seed: int, chance: np.random.Generator) -> tuple[FaultAt, ...]:
        """Draw faults at different places, each with its size."""
        found: list[FaultAt] = []
        while len(found) < wanted:
            hypothesis = self._one(chance)
            assert hypothesis.fault is not None
            size, rule = None, hypothesis.rule
            if rule is not None and (rule.size is not None or rule.change == "profile"):
                size = float(f"{sizes_of(hypothesis, self.installation, Streams(seed, 1))[0]:.4g}")
            if all(f.place != hypothesis.fault.place for f in found):
                found.append(hypothesis.fault._replace(size=size))
        return tuple(found)

    def _one(self, chance: np.random.Generator) -> Hypothesis:
        """Draw a fault at a place: by weight, or its kind first."""
        pool: Sequence[Hypothesis] = self._hypotheses
        if chance.random() < EVEN:
            kinds = sorted({h.fault.fault for h in pool if h.fault is not None})
            kind = str(chance.choice(kinds))
            pool = [h for h in pool if h.fault is not None and h.fault.fault == kind]
        weights = np.array([h.weight for h in pool])
        return pool[int(chance.choice(len(pool), p=weights / weights.sum()))]

    def _counts(self, case: Case) -> bool:
        """Return whether every fault of a case can be noticed, the others being there."""
        try:
            vehicle = self.vehicle(case)
            return all(
                tells(vehicle, self.vehicle(case, leave_out=k), self.takes, self.bands) is not None
                for k in range(len(case.faults))
            )
        except RuntimeError:  # a vehicle for which the circuit has no solution is no vehicle
            return False

    def complaint(self, case: Case, chance: np.random.Generator) -> str | None:
        """Draw what the owner says: one of the complaints that the first fault, and what shows on the vehicle with it
        alone, favour, by how much they do.
        """
        kind = chance.random()
        if kind < SILENT + VAGUE:
            return None if kind < SILENT else NO_HELP
        rules = [r for r in self.rules.complaints.values() if _fits(r, self.installation)]
        if case.faults:
            first, sound = self._hypothesis(case.faults[0]), case._replace(faults=())
            beside = Beside([self.vehicle(sound), self.vehicle(case._replace(faults=case.faults[:1]))])
            ratios = np.array([self._ratio(rule, first, beside) for rule in rules])
            weights = np.where(ratios > 1.0, ratios, 0.0)
        else:
            named = [c for state in self.rules.operating_states.values() for c in state.complaints]
            weights = np.array([float(named.count(r.id)) for r in rules])
        if weights.sum() == 0.0:
            return None
        return rules[int(chance.choice(len(rules), p=weights / weights.sum()))].id


    def _ratio(self, rule: ComplaintRule, hypothesis: Hypothesis, beside: Beside) -> float:
        """Return how much likelier a fault and what it shows make a complaint."""
        ratio = complaint_ratio(rule, hypothesis, self.installation)
        try:
            shows = symptom_ratios(rule, self.installation, beside)
        except RuntimeError:  # a state that has no solution shows nothing
            return ratio
        return ratio if shows is None else ratio * float(shows[-1, 0])


def _fits(rule: ComplaintRule, installation: Installation) -> bool:
    """Return whether an owner of this installation can have a complaint: what it is mostly about must be fitted."""
    strongest = max(rule.favours, key=lambda f: f.ratio, default=None)
    fitted = {p.kind for p in installation.parts.values()}
    return strongest is None or not strongest.kinds or bool(fitted & set(strongest.kinds))


def _telling_first(installation: Installation, tools: Sequence[str]) -> tuple[Take, ...]:
    """Return the permitted tests, those that most often show a fault first."""
    order = {"works": 0, "lamp": 1, "amps": 2, "volts": 3, "look": 4, "tug": 4, "wiggle": 4, "celsius": 5}
    return tuple(sorted(candidates(installation, tools), key=lambda t: order.get(t.quantity, 6)))
