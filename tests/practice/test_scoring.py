"""The score, with an examiner who says what he is told to: gates, lines, points."""

from __future__ import annotations

from typing import Any

import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.practice import Act, Score, Step
from diagnose.model.ranking import Entry, Ranking, Stop
from diagnose.model.reading import Read, Reading, Take
from diagnose.practice.examiner import Worth
from diagnose.practice.scoring import Best, history, scored
from diagnose.store.practice_cases import load_practice_rules
from tests.circuit.random_faults import layout
from tests.inference.engines import rule_base

STRAP, FUSE = FaultAt("high_resistance", "tray_strap"), FaultAt("blown", "input_fuse")
DROP = Take("volts", ("tray", "chassis"), "engine_running")


def entry(fault: FaultAt, probability: float, convicted: bool) -> Entry:
    return Entry(fault, fault.fault, probability, 0.0, None, convicted, (), (), "", "")


class Told:
    """Before any reading both are suspected; after one the strap is convicted; after a repair all is proved."""

    redundant = False

    def after(self, readings: tuple[Reading, ...]) -> Ranking:
        known = any(r.take is not None for r in readings)
        faults = (entry(STRAP, 0.95, True),) if known else (entry(STRAP, 0.3, False), entry(FUSE, 0.3, False))
        proved = len(readings) > 1 and readings[-1].take is not None and any(r.repaired for r in readings)
        stop = Stop("repaired", "") if proved else None
        return Ranking(0, faults, 0.001 if known else 0.2, (), 0.0, (), (), stop)

    def worth(self, readings: tuple[Reading, ...], take: Take) -> Worth:
        return Worth(0.5, self.redundant)


def run(*acts: Act, truth: tuple[FaultAt, ...] = (STRAP,), examiner: Any = None) -> Score:
    steps, readings = [], []
    left = set(truth)
    for number, act in enumerate(acts, 1):
        read = Read("number", "0.8", 0.8) if act.kind == "measure" else None
        if act.take is not None:
            readings.append(Reading(act.take, read))
        if act.kind == "repair":
            readings.append(Reading(None, None, act.named[0]))
            left -= set(act.named)
        steps.append(Step(number, act, read, 2.0, 2.0 * number, flags=("unsafe",) if act.danger else ()))
    return scored(steps, readings, truth, bool(left), examiner or Told(), load_practice_rules(), Best(4.0))


MEASURE, REPAIR = Act("measure", "", DROP), Act("repair", "", named=(STRAP,))
NAME = Act("diagnosis", "", named=(STRAP,), confidence=0.9)


def test_a_good_case_passes() -> None:
    score = run(MEASURE, NAME, REPAIR, MEASURE)
    assert score.passed
    assert score.points == 43 + 20 + 10 + 8 + 5 + 2 + 6  # half of the twelve for twice the time
    assert score.brier == pytest.approx(0.01)


def test_the_gates() -> None:
    assert run(NAME, REPAIR, MEASURE).gates == ("a name was given without a reading that convicts",)
    assert run(MEASURE, NAME, REPAIR).gates == ("no reading proves that it is well now",)
    assert run(Act("jumper", "", danger="x"), MEASURE, NAME, REPAIR, MEASURE).gates == ("an unsafe act",)
    unsolved = run(MEASURE)
    assert unsolved.gates == ("what is wrong was not found",)
    assert unsolved.points == 0


def test_severity_is_that_of_the_rubric() -> None:
    good = run(MEASURE, NAME, REPAIR, MEASURE).points
    vain = run(MEASURE, Act("swap", "", part="charger"), NAME, REPAIR, MEASURE)
    assert vain.parts_swapped_in_vain == 1
    named = run(MEASURE, Act("diagnosis", "", named=(FUSE,)), NAME, REPAIR, MEASURE)
    assert named.wrong_inferences == 1
    teller = Told()
    teller.redundant = True
    needless = run(MEASURE, NAME, REPAIR, MEASURE, examiner=teller)
    assert needless.redundant == 2
    assert good - vain.points > good - named.points > good - needless.points > 0


def test_luck_is_told_from_proof() -> None:
    lucky = run(Act("swap", "", part="tray_strap"), MEASURE, NAME, REPAIR, MEASURE)
    assert (lucky.parts_swapped_in_vain, lucky.swapped_unproved) == (0, 1)


def test_a_sound_vehicle_must_be_called_sound_after_a_reading() -> None:
    class Well(Told):
        def after(self, readings: tuple[Reading, ...]) -> Ranking:
            return Ranking(0, (), 0.9 if readings else 0.2, (), 0.0, (), (), None)

    none = Act("diagnosis", "", confidence=0.8)
    assert run(MEASURE, none, truth=(), examiner=Well()).passed
    assert run(none, truth=(), examiner=Well()).gates[0] == "called sound before readings showed it"
    assert run(MEASURE, truth=(), examiner=Well()).gates[0] == "it was not said that nothing is wrong"
    assert run(MEASURE, NAME, truth=()).gates[0] == "a fault was named or mended where nothing is wrong"


def test_what_was_named_although_it_is_excluded_is_told_by_its_part() -> None:
    score = run(MEASURE, Act("diagnosis", "", named=(FUSE,)))
    assert (2, "inference", "input_fuse was named although the readings exclude it") in score.notes
    sound = run(MEASURE, Act("diagnosis", ""))
    assert (2, "inference", "a sound vehicle was named although the readings exclude it") in sound.notes


def test_a_name_given_after_the_repair_tells_what_it_was() -> None:
    class Dropping(Told):
        def after(self, readings: tuple[Reading, ...]) -> Ranking:
            told = super().after(readings)
            gone = any(r.repaired for r in readings)
            return told._replace(faults=(entry(STRAP, 0.001, False),)) if gone else told

    score = run(MEASURE, REPAIR, MEASURE, NAME, examiner=Dropping())
    assert score.passed
    assert score.wrong_inferences == 0
    assert run(MEASURE, REPAIR, MEASURE, Act("diagnosis", "", named=(FUSE,)), examiner=Dropping()).wrong_inferences == 1


@pytest.mark.parametrize(
    ("take", "volts", "proved"),
    [
        (Take("volts", ("charger_out", "house_pos"), "sun_only"), 0.068, True),
        (Take("volts", ("charger_out", "house_pos"), "sun_only"), 2.57, False),
        (Take("volts", ("house_pos", "house_neg"), "at_rest"), 12.6, False),
    ],
)
def test_any_reading_that_could_not_be_with_the_fault_proves_the_repair(
    take: Take, volts: float, proved: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Sunny(Told):
        installation, (rules, tables), tools = layout("solar_only_van"), rule_base(), ("multimeter",)

        def after(self, readings: tuple[Reading, ...]) -> Ranking:
            return Ranking(0, (), 0.5, (), 0.0, (), (), None)

    monkeypatch.setattr("diagnose.practice.scoring.checks_after", lambda *_: ())
    fuse = FaultAt("blown", "house_fuse")
    readings = [Reading(None, None, fuse), Reading(take, Read("number", str(volts), volts))]
    mending, measuring = Act("repair", "", named=(fuse,)), Act("measure", "", take)
    steps = [Step(1, mending, None, 0.0, 0.0), Step(2, measuring, readings[1].read, 1.0, 1.0)]
    points = load_practice_rules()
    assert scored(steps, readings, (fuse,), False, Sunny(), points, Best(4.0)).proved is proved  # type: ignore[arg-type]


def test_invalid_readings_are_no_evidence() -> None:
    steps = [Step(1, MEASURE, Read("number", "0", 0.0), 1.0, 1.0, flags=("invalid",)),
             Step(2, MEASURE, Read("number", "1", 1.0), 1.0, 2.0), Step(3, NAME, None, 0.0, 2.0)]  # fmt: skip
    valid = [Reading(DROP, Read("number", "1", 1.0))]
    assert history(steps, valid) == [(), (), tuple(valid)]
