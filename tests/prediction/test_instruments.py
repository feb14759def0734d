"""What instruments make of true values: gain and zero shared by a whole job, leads, over range, last digits."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.prediction.instruments import OVER_RANGE, as_shown, noise, resolution
from diagnose.prediction.streams import Streams
from tests.inference.engines import rule_base

COUNT = 2000
TABLES = rule_base()[1]
STREAMS = Streams(23, COUNT)


@pytest.mark.parametrize(
    ("value", "digit"),
    [(0.0, 0.0001), (0.0005, 0.0001), (0.5999, 0.0001), (0.61, 0.001), (5.999, 0.001), (6.01, 0.01), (59.9, 0.01),
     (60.1, 0.1), (599.0, 0.1), (-0.2, 0.0001), (-12.6, 0.01)],
)  # fmt: skip
def test_last_digit_of_a_meter_of_6000_counts(value: float, digit: float) -> None:
    assert resolution(np.array([value]), 6000.0)[0] == pytest.approx(digit, rel=1e-9)


def test_last_digit_of_a_meter_of_2000_counts_is_three_times_as_large() -> None:
    values = np.array([0.05, 5.0, 12.6])
    assert resolution(values, 2000.0) == pytest.approx(3.0 * resolution(values, 6000.0))


def test_the_gain_of_a_meter_is_one_for_all_its_readings() -> None:
    twelve, drop = (as_shown("volts", np.full(COUNT, v), TABLES, STREAMS) for v in (12.6, 0.3))
    assert twelve / 12.6 == pytest.approx(drop / 0.3)
    assert (twelve / 12.6).std() == pytest.approx(0.003, rel=0.08)
    assert (twelve / 12.6).mean() == pytest.approx(1.0, abs=5 * 0.003 / np.sqrt(COUNT))


def test_a_clamp_has_a_zero_and_a_gain() -> None:
    nothing, much = (as_shown("amps", np.full(COUNT, v), TABLES, STREAMS) for v in (0.0, 30.0))
    assert nothing.std() == pytest.approx(0.15, rel=0.08)
    assert ((much - nothing) / 30.0).std() == pytest.approx(0.02, rel=0.08)


def test_a_thermometer_is_3_kelvin_off_either_way() -> None:
    shown = as_shown("celsius", np.full(COUNT, 40.0), TABLES, STREAMS)
    assert (shown.min(), shown.max()) == (pytest.approx(37.0, abs=0.05), pytest.approx(43.0, abs=0.05))


def test_ohms_hold_the_leads_and_end_in_over_range() -> None:
    leads = 10.0 ** as_shown("ohms", np.zeros(COUNT), TABLES, STREAMS)
    assert (leads.min(), leads.max()) == (pytest.approx(0.1, abs=0.001), pytest.approx(0.3, abs=0.001))
    more = 10.0 ** as_shown("ohms", np.full(COUNT, 4.0), TABLES, STREAMS)
    assert more - leads == pytest.approx(4.0)
    assert np.all(as_shown("ohms", np.full(COUNT, np.inf), TABLES, STREAMS) == OVER_RANGE)
    assert np.all(as_shown("ohms", np.full(COUNT, 6.1e7), TABLES, STREAMS) == OVER_RANGE)
    assert np.all(as_shown("ohms", np.full(COUNT, 5.9e6), TABLES, STREAMS) < OVER_RANGE - 0.5)


def test_other_quantities_are_shown_as_they_are() -> None:
    for quantity in ("gravity", "ripple", "lamp"):
        assert np.all(as_shown(quantity, np.full(COUNT, 1.2), TABLES, STREAMS) == 1.2)


def test_noise_of_volts_is_two_digits_spread_evenly() -> None:
    # An even spread of two digits either way has a standard deviation of 2/sqrt(3) digits.
    for value, digit in ((0.2, 0.0001), (3.0, 0.001), (12.6, 0.01)):
        assert noise("volts", np.array([value]), TABLES)[0] == pytest.approx(2.0 * digit / np.sqrt(3.0) + 0.0002)


@pytest.mark.parametrize("quantity", ["amps", "ohms", "celsius", "gravity", "ripple", "load_test"])
def test_every_quantity_has_noise(quantity: str) -> None:
    assert np.all(noise(quantity, np.array([0.0, 1.0, 8.0]), TABLES) > 0)
