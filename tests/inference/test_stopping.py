"""When to stop asking: each reason by a belief made by hand, and none before it is earned."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.bank import Bank, Fit
from diagnose.inference.evidence import Evidence
from diagnose.inference.posterior import Belief
from diagnose.inference.stopping import Standing, stop_of
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry
from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from tests.inference.engines import rule_base, volts

FAULTS = (
    FaultAt("high_resistance", "strap"),
    FaultAt("open_circuit", "strap"),
    FaultAt("blown", "fuse"),
)
HYPOTHESES = (SOUND, *(Hypothesis(f, rule_base()[0].faults[f.fault], 1.0) for f in FAULTS))
PLACES = np.array([0, 1, 1, 2])
READINGS = (volts("a", "b", 0.4), volts("c", "d", 12.0))
REPAIR = Reading(None, None, FAULTS[0])


def belief(*posterior: float, without: list[list[float]] | None = None) -> Belief:
    """Return a belief in nothing wrong and the three faults; `without` (readings x 4), likelihoods less a reading."""
    held = np.array(posterior)
    left_out = np.tile(np.log(held + 1e-12), (2, 1)) if without is None else np.log(np.array(without))
    nothing = np.zeros((4, 2))
    fit = Fit(np.log(held + 1e-12), left_out.T, nothing, np.zeros(4), nothing, nothing)
    evidence = Evidence((0, 1), np.zeros(2), np.zeros((4, 1, 2)), np.ones((4, 1, 2)), np.ones(2), (),
                        np.ones((4, 1, 0)), np.zeros((4, 1)))  # fmt: skip
    bank = Bank(np.arange(4), np.zeros(4), nothing, np.zeros((4, 2, 2)), np.zeros((4, 1), dtype=np.intp))
    return Belief(np.full(4, 0.2), held, 0.2, 1.0 - held.sum(), evidence, bank, fit)


def because(
    held: Belief, convicted: bool = True, readings: tuple[Reading, ...] = READINGS, danger: tuple[str, ...] = (),
    tests_left: bool = True, looking: bool = False,
) -> str | None:  # fmt: skip
    order = sorted(range(1, 4), key=lambda n: -held.posterior[n])
    entries = [
        Entry(FAULTS[n - 1], "name", float(held.posterior[n]), 10.0, None, convicted, (), (), "mend", "prove")
        for n in order
    ]
    by_place = np.bincount(PLACES, held.posterior)
    standing = Standing(held, entries, HYPOTHESES, PLACES, by_place, looking, 0.2 * tests_left)
    stop = stop_of(standing, readings, danger)
    assert stop is None or stop.says
    return None if stop is None else stop.because


def test_a_convicted_leader_that_survives_the_loss_of_any_reading_is_found() -> None:
    assert because(belief(0.01, 0.96, 0.01, 0.01)) == "found"
    assert because(belief(0.01, 0.90, 0.04, 0.04)) is None


def test_faults_of_one_place_count_together() -> None:
    assert because(belief(0.01, 0.60, 0.37, 0.01)) == "found"


def test_an_acquitted_leader_is_not_found() -> None:
    assert because(belief(0.01, 0.97, 0.01, 0.01), convicted=False) is None


def test_a_leader_that_hangs_on_one_reading_is_not_found_while_tests_are_left() -> None:
    hanging = belief(0.01, 0.97, 0.01, 0.01, without=[[0.05, 0.9, 0.02, 0.03], [0.6, 0.1, 0.1, 0.2]])
    assert because(hanging) is None
    assert because(hanging, tests_left=False) == "found"


def test_nothing_wrong_must_survive_too() -> None:
    assert because(belief(0.96, 0.01, 0.01, 0.01), convicted=False) == "no_fault"
    hanging = belief(0.96, 0.01, 0.01, 0.01, without=[[0.9, 0.1, 0.1, 0.1], [0.1, 0.6, 0.2, 0.1]])
    assert because(hanging, convicted=False) is None
    assert because(hanging, convicted=False, tests_left=False) == "no_fault"


def test_what_no_rule_explains_is_unlisted() -> None:
    assert because(belief(0.01, 0.01, 0.01, 0.01), convicted=False) == "unlisted"


def test_a_leader_beyond_doubt_is_found_where_no_test_is_left_to_convict_it() -> None:
    assert because(belief(0.01, 0.96, 0.01, 0.01), convicted=False, tests_left=False) == "found"
    assert because(belief(0.01, 0.56, 0.41, 0.01), convicted=False, tests_left=False) == "found"
    assert because(belief(0.01, 0.90, 0.04, 0.04), convicted=False, tests_left=False) == "inseparable"


def test_a_danger_comes_before_everything() -> None:
    assert because(belief(0.01, 0.97, 0.01, 0.01), danger=("reading 1: hot",)) == "danger"


def test_while_a_second_fault_is_looked_for_the_first_is_not_the_end() -> None:
    sure = belief(0.01, 0.97, 0.01, 0.01)
    assert because(sure, looking=True) is None
    assert because(sure, looking=True, tests_left=False) == "found"


def test_after_a_repair_only_a_reading_proves_it() -> None:
    held, proved = belief(0.66, 0.30, 0.01, 0.01), belief(0.97, 0.02, 0.005, 0.005)
    repaired = (*READINGS, REPAIR)
    assert because(held, convicted=False, readings=repaired) is None
    assert because(proved, convicted=False, readings=repaired) is None
    assert because(proved, convicted=False, readings=(*repaired, volts("a", "b", 0.001))) == "repaired"
    skipped = Reading(Take("volts", ("a", "b"), "engine_running"), Read("skipped", "skipped"))
    assert because(proved, convicted=False, readings=(*repaired, skipped)) is None
    assert because(held, convicted=False, readings=(*repaired, volts("a", "b", 0.4))) is None


def test_a_second_fault_may_be_found_after_the_first_was_mended() -> None:
    assert because(belief(0.01, 0.01, 0.01, 0.96), readings=(*READINGS, REPAIR, volts("c", "d", 0.0))) == "found"


def test_with_no_test_left_it_says_whether_suspects_cannot_be_told_apart() -> None:
    assert because(belief(0.05, 0.55, 0.05, 0.30), convicted=False, tests_left=False) == "inseparable"
    assert because(belief(0.3, 0.3, 0.2, 0.15), convicted=False, tests_left=False) == "tests_spent"
    assert because(belief(0.3, 0.3, 0.2, 0.15), convicted=False) is None


@pytest.mark.parametrize("count", [0, 1])
def test_with_one_reading_or_none_a_leader_must_be_nearly_certain(count: int) -> None:
    held = belief(0.02, 0.965, 0.005, 0.005)
    few = held._replace(fit=held.fit._replace(without=held.fit.without[:, :count]))
    sure = belief(0.001, 0.995, 0.002, 0.001)
    surer = sure._replace(fit=sure.fit._replace(without=sure.fit.without[:, :count]))
    assert because(surer, readings=READINGS[:count]) == "found"
    assert because(few, readings=READINGS[:count]) == (None if count else "found")
