"""Readings as numbers and as words: unsteady ones, where a hunting circuit is caught, digits that were not typed."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.evidence import _caught, _typed_digit, _unsteady, number_of
from diagnose.inference.ranking import Question
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.predictor import Predicted
from tests.inference.engines import TOOLS, engine, word

VOLTS = Take("volts", ("a", "b"), "engine_running")
AMPS = Take("amps", ("a",), "engine_running")


def hunting(high: float, low: float, count: int) -> Predicted:
    """Return predictions of one hypothesis all of whose vehicles hunt between two ends."""
    one = np.ones((1, count))
    return Predicted(high * one, low * one, one, 0.0 * one, 0.01 * one)


def test_an_unsteady_reading_is_a_number_only_where_both_ends_were_read() -> None:
    assert number_of(Reading(VOLTS, Read("unsteady", "unsteady 12 V to 13 V", 12.0, 13.0))) == 12.5
    assert number_of(Reading(VOLTS, Read("unsteady", "unsteady"))) is None
    assert number_of(Reading(VOLTS, Read("skipped", "skipped"))) is None
    assert number_of(Reading(None, None)) is None


def test_volts_that_swing_are_called_unsteady_and_still_ones_are_not() -> None:
    assert 0.8 < _unsteady(hunting(13.5, 11.5, 1))[0, 0] <= 1.0
    assert 0.0 < _unsteady(hunting(13.5, 13.5, 1))[0, 0] < 0.05


@pytest.mark.parametrize("count", [5, 24, 96])
def test_a_hunting_circuit_is_caught_evenly_between_its_ends(count: int) -> None:
    # Source: three-distance theorem (Sos 1958): multiples of one irrational number, taken modulo 1, leave gaps of at
    # most three lengths; for the golden ratio the longest is less than twice the even gap.
    caught = np.sort(_caught(hunting(1.0, 0.0, count), count, VOLTS)[0])
    gaps = np.diff(np.append(caught, caught[0] + 1.0))
    assert len(np.unique(gaps.round(9))) <= 3
    assert gaps.max() < 2.0 / count


@pytest.mark.parametrize(("text", "digit"), [("12.6 V", 0.1), ("12.60 V", 0.01), ("13 V", 1.0), ("42 mV", 0.001)])
def test_the_last_digit_typed_widens_a_reading(text: str, digit: float) -> None:
    found = _typed_digit(Reading(VOLTS, Read("number", text, 12.6)))
    assert found == pytest.approx(max(digit / np.sqrt(12.0), 0.001), rel=0.05)


def test_where_no_digit_was_typed_none_is_rounded() -> None:
    assert _typed_digit(Reading(AMPS, Read("number", "", 4.2))) == 0.0


def test_what_is_odd_to_see_tells_once_until_its_part_is_mended() -> None:
    """A look at the same lug after another part was mended finds the same; after its own was, it is another look."""
    burnt = word("look", "tray_strap@tray", "burnt")
    ask = engine("crew_cab_tray")

    def held(*readings: Reading) -> np.ndarray:
        return ask.believe(Question(readings, None, TOOLS)).posterior

    elsewhere, here = (Reading(None, None, FaultAt("high_resistance", part)) for part in ("input_cable", "tray_strap"))
    assert held(burnt, elsewhere, burnt) == pytest.approx(held(burnt, elsewhere))
    assert np.abs(held(burnt, here, burnt) - held(burnt, here)).max() > 0.05
