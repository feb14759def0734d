"""Readings that fit nothing, with repairs of anything between them: whatever is told, the answer is whole."""

from __future__ import annotations

import sys
import warnings

import numpy as np
import pytest

from diagnose.inference.candidates import candidates
from diagnose.inference.ranking import Question
from diagnose.model.reading import Read, Reading
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import layout_ids, load_layout
from tests.inference.engines import TOOLS, chances, engine, rule_base

#: most tests, and repairs after which some are taken again
READINGS, REPAIRS = 9, 3
SEEDS = 6


def spoilt(read: Read, chance: np.random.Generator) -> Read:
    """Return a reading as it might be written down by mistake."""
    if read.kind != "number" or read.value is None:
        return read
    value = float(read.value)
    near, anywhere = value + 5.0 * float(chance.normal()), float(chance.uniform(-30.0, 30.0))
    values = (0.0, -value, 10.0 * value, value / 10.0, near, anywhere)
    which = int(chance.integers(len(values) + 2))
    if which == len(values):
        return Read("skipped", "skipped")
    if which > len(values):
        return Read("unsteady", "unsteady", value - 0.5, value + 0.5)
    return Read("number", f"{values[which]:.4g}", float(f"{values[which]:.4g}"))


def asked(layout: str, seed: int) -> Question:
    """Return readings of a vehicle with any two faults, some spoilt, taken anew after each repair of anything."""
    chance = np.random.default_rng([seed, 11])
    held, (rules, tables) = engine(layout), rule_base()
    faults = [held.hypotheses[n] for n in chance.choice(np.arange(1, len(held.hypotheses)), 2, replace=False)]
    vehicle = SimulatedVehicle(load_layout(layout), rules, tables, faults[0], seed, also=faults[1:])
    every = candidates(load_layout(layout), TOOLS)
    takes = [every[int(n)] for n in chance.choice(len(every), int(chance.integers(1, READINGS)), replace=False)]
    wrong = chance.choice([0.0, 0.0, 0.2, 0.6])
    readings: list[Reading] = []
    for repair in range(int(chance.integers(REPAIRS + 1)) + 1):
        if repair:
            some = faults[int(chance.integers(2))]
            if chance.random() < 0.5:
                some = held.hypotheses[int(chance.integers(1, len(held.hypotheses)))]
            assert some.fault is not None
            vehicle = vehicle.mended(some.fault)
            readings.append(Reading(None, None, some.fault))
        for take in takes if repair == 0 else takes[: int(chance.integers(len(takes) + 1))]:
            read = vehicle.answer(take)
            readings.append(Reading(take, spoilt(read, chance) if chance.random() < wrong else read))
    return Question(tuple(readings), None, TOOLS)


def whole(layout: str, seed: int) -> None:
    """Check that the answer to a strange question is whole."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        ranking = engine(layout).rank(asked(layout, seed))
    found = np.array(list(chances(ranking).values()))
    assert np.isfinite(found).all()
    assert ((found >= 0.0) & (found <= 1.0 + 1e-9)).all()
    assert found.sum() == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(SEEDS))
def test_the_answer_to_strange_readings_is_whole(seed: int) -> None:
    whole("solar_only_van", seed)


@pytest.mark.slow
@pytest.mark.parametrize(("layout", "seed"), [(layout, 100 + k) for k, layout in enumerate(layout_ids())])
def test_the_answer_to_strange_readings_is_whole_on_every_layout(layout: str, seed: int) -> None:
    whole(layout, seed)


if __name__ == "__main__":  # python -m tests.inference.test_strange FIRST LAST LAYOUT ...
    for number in range(int(sys.argv[1]), int(sys.argv[2])):
        for name in sys.argv[3:] or layout_ids():
            try:
                whole(name, number)
            except Exception as error:
                print(name, number, repr(error)[:300], flush=True)
