"""The reading that proves a repair tells it from a sound vehicle, and can be taken with the tools at hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.inference.candidates import candidates
from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.predictor import Predicted
from diagnose.session.proving import _telling, as_expected, checks_after
from tests.session.drivers import TOOLS, adviser

LAYOUT = "crew_cab_tray"
STRAP = FaultAt("high_resistance", "tray_strap")


@pytest.mark.parametrize("tools", [TOOLS, ("multimeter",), ("clamp", "eyes")], ids=str)
@pytest.mark.parametrize(
    "fault", [STRAP, FaultAt("blown", "input_fuse"), FaultAt("open_circuit", "input_cable", "charger_in")]
)
def test_checks_can_be_taken_with_the_tools(fault: FaultAt, tools: tuple[str, ...]) -> None:
    engine = adviser(LAYOUT).engine
    checks = checks_after(fault, engine, [Reading(None, None, fault)], tools, 1)
    assert checks
    assert [c.neighbour for c in checks] == [False, True, True][: len(checks)]
    assert {c.expected.take for c in checks} <= set(candidates(engine.installation, tools))


def test_a_joint_is_proved_across_itself() -> None:
    checks = checks_after(STRAP, adviser(LAYOUT).engine, [Reading(None, None, STRAP)], TOOLS, 1)
    assert set(checks[0].expected.take.where) == {"tray", "chassis"}
    assert checks[0].expected.high is not None
    assert checks[0].expected.high < 0.1


def test_what_cannot_be_read_is_not_asked_for() -> None:
    engine = adviser(LAYOUT).engine
    first = checks_after(STRAP, engine, [Reading(None, None, STRAP)], TOOLS, 1)[0].expected.take
    skipped = [Reading(None, None, STRAP), Reading(first, Read("skipped", "skipped"))]
    assert checks_after(STRAP, engine, skipped, TOOLS, 1)[0].expected.take != first


def test_a_setting_is_proved_by_looking() -> None:
    fault = FaultAt("wrong_setting", "charger")
    checks = checks_after(fault, adviser(LAYOUT).engine, [Reading(None, None, fault)], ("eyes",), 1)
    assert checks[0].expected.take.quantity == "look"


@pytest.mark.parametrize(
    ("read", "good"),
    [
        (Read("word", "on", word="on"), True), (Read("word", "off", word="off"), False),
        (Read("unsteady", "unsteady", 1.0, 2.0), False), (Read("over_range", "OL"), False),
    ],
)  # fmt: skip
def test_words(read: Read, good: bool) -> None:
    take, chances = Take("lamp", ("charging",), "engine_running"), (("on", 0.97), ("off", 0.03))
    band = Expected(take, None, None, None, "", None, chances)
    assert as_expected(band, read) == good


def test_a_start_battery_found_weak_by_cranking_is_proved_by_cranking() -> None:
    weak = FaultAt("high_internal_resistance", "start_battery")
    take = Take("volts", ("start_pos", "start_neg"), "cranking")
    found = [Reading(take, Read("number", "4.1 V", 4.1)), Reading(None, None, weak)]
    assert checks_after(weak, adviser(LAYOUT).engine, found, TOOLS, 1)[0].expected.take == take


def test_a_word_that_was_read_since_is_still_asked_for() -> None:
    engine, fault = adviser(LAYOUT).engine, FaultAt("wrong_setting", "charger")
    repair = Reading(None, None, fault)
    first = checks_after(fault, engine, [repair], ("eyes",), 1)[0].expected.take
    read = Reading(first, Read("word", "good", word="good"))
    assert checks_after(fault, engine, [repair, read], ("eyes",), 1)[0].expected.take == first


def telling(sound: list[float], faulty: float, noise: tuple[float, float] = (0.01, 0.01)) -> float:
    """Return the share of vehicles told apart where all with the fault read one value."""
    values = np.array([sound, [faulty] * len(sound)])
    none = np.zeros(values.shape)
    one = Predicted(values, values, none, none, np.array(noise)[:, None] + none)
    engine = SimpleNamespace(predictor=SimpleNamespace(predict=lambda takes, rows: [one]))
    (share,) = _telling(engine, [Take("volts", ("a", "b"), "at_rest")], (0, 1))  # type: ignore[arg-type]
    return share


@pytest.mark.parametrize(("faulty", "outside"), [(1.0, 1.0), (2.0, 0.0), (20.0, 0.0), (37.0, 0.0), (38.0, 1.0)])
def test_a_reading_tells_beyond_nine_sound_ones_in_ten(faulty: float, outside: float) -> None:
    # of 40 sound vehicles that read 0 to 39, the two lowest and the two highest are left out of the band
    assert telling([float(k) for k in range(40)], faulty) == outside
    assert telling([float(k) for k in range(10)], 5.0) == 0.0


def test_what_a_sound_vehicle_reads_is_as_unsure_as_its_own_noise() -> None:
    # two standard deviations of the sound one, however noisy the faulty one is
    assert telling([12.0] * 20, 12.5, (0.2, 3.0)) == 1.0
    assert telling([12.0] * 20, 12.5, (0.3, 0.01)) == 0.0


def test_a_test_that_was_taken_proves_only_where_it_tells_nearly_as_much_as_the_best() -> None:
    engine = adviser(LAYOUT).engine
    far = Take("volts", ("charger_in", "charger_neg"), "engine_running")
    found = [Reading(far, Read("number", "12.9 V", 12.9)), Reading(None, None, STRAP)]
    assert set(checks_after(STRAP, engine, found, TOOLS, 1)[0].expected.take.where) == {"tray", "chassis"}


def test_a_battery_that_was_discharged_is_proved_at_rest_across_its_posts() -> None:
    # common practice: the state of charge is read with nothing drawn and nothing charged
    fault = FaultAt("discharged", "house_battery")
    checks = checks_after(fault, adviser(LAYOUT).engine, [Reading(None, None, fault)], TOOLS, 1)
    assert checks[0].expected.take == Take("volts", ("house_pos", "house_neg"), "at_rest")
