"""Constant-power inputs and instruments against worked examples and limiting cases; each names its source."""

from __future__ import annotations

import pytest

from diagnose.basics import energy, meters


def test_input_of_a_30_ampere_charger() -> None:
    # Source: energy balance: 30 A at 14.4 V and 90 % are 480 W, 38.4 A at 12.5 V; exact.
    power = energy.charger_input_power(14.4, 30.0, 0.9)
    assert power == pytest.approx(480.0)
    assert power / 12.5 == pytest.approx(38.4)


@pytest.mark.parametrize(("resistance", "volts", "amperes"), [(0.030, 11.329, 42.37), (0.050, 10.261, 46.78)])
def test_constant_power_behind_a_resistance(resistance: float, volts: float, amperes: float) -> None:
    # Source: own, 480 W at 12.6 V: upper root of V^2 - Vs V + R P = 0; tolerance one printed digit.
    at_input = energy.constant_power_voltage(12.6, resistance, 480.0)
    assert at_input == pytest.approx(volts, abs=6e-4)
    assert 480.0 / volts == pytest.approx(amperes, abs=6e-3)
    # Kirchhoff's law, independent of the root formula.
    assert at_input is not None
    assert 12.6 - resistance * 480.0 / at_input == pytest.approx(at_input, abs=1e-12)


def test_a_loss_of_one_volt() -> None:
    # Source: own, 40 A at 14.4 V, 90 %, 13.8 V behind 20 mohm: about 50 A and 1.0 V lost; tolerance 0.1 V, 1 A.
    power = energy.charger_input_power(14.4, 40.0, 0.9)
    volts = energy.constant_power_voltage(13.8, 0.020, power)
    assert volts == pytest.approx(12.8, abs=0.1)
    assert power / 12.8 == pytest.approx(50.0, abs=1.0)


def test_collapse() -> None:
    # Source: maximum power transfer: at P = Vs^2/4R half the voltage is left, above it there is no answer; exact.
    most = energy.collapse_power(12.6, 0.050)
    assert most == pytest.approx(793.8)
    assert energy.constant_power_voltage(12.6, 0.050, most * (1 - 1e-12)) == pytest.approx(6.3, abs=1e-4)
    assert energy.constant_power_voltage(12.6, 0.050, most * 1.001) is None
    assert energy.constant_power_voltage(12.6, 0.0, 480.0) == pytest.approx(12.6)
    assert energy.constant_power_voltage(12.6, 0.050, 0.0) == pytest.approx(12.6)


def test_input_resistance_and_the_collapse_agree() -> None:
    # Source: Middlebrook 1976 (from memory): -V^2/P = -0.267 ohm, one printed digit; at the collapse its size equals
    # the supply's resistance, computed.
    assert energy.input_resistance(11.329, 480.0) == pytest.approx(-0.267, abs=6e-4)
    assert energy.input_resistance(6.3, energy.collapse_power(12.6, 0.050)) == pytest.approx(-0.050)


def test_hunting() -> None:
    # Source: own: 0.5 V between thresholds and 40 A: 12.5 mohm is enough just above the start; exact.
    assert energy.hunting_resistance(13.1, 12.6, 40.0) == pytest.approx(0.0125)
    assert energy.hunting_resistance(12.0, 12.6, 40.0) == 0.0


@pytest.mark.parametrize(
    ("volts", "fixed_range", "millivolts"), [(12.60, None, 83), (0.150, None, 0.95), (0.150, 60.0, 20.75)]
)
def test_error_of_a_hand_meter(volts: float, fixed_range: float | None, millivolts: float) -> None:
    # Source: ±(0.5 % + 2 digits) of 6,000 counts (common practice, from memory): 12.60 V ±83 mV; 150 mV ±1.0 mV on the
    # millivolt range and ±21 mV on the 60 V range. Exact.
    assert 1000 * meters.meter_error(volts, fixed_range=fixed_range) == pytest.approx(millivolts)


def test_ranges_of_two_displays() -> None:
    # Source: 6,000 counts show 600.0 mV, 6.000 V, 60.00 V; 2,000 counts 200.0 mV and 20.00 V (common practice).
    assert [meters.last_digit(v) for v in (0.6, 0.601, 6.0, 60.0)] == pytest.approx([1e-4, 1e-3, 1e-3, 1e-2])
    assert [meters.last_digit(v, counts=2000) for v in (0.2, 12.6)] == pytest.approx([1e-4, 1e-2])
    with pytest.raises(ValueError, match="does not go"):
        meters.last_digit(12.6, fixed_range=6.0)


@pytest.mark.parametrize(
    ("series", "across", "volts"), [(1e6, 1e7, 11.45), (1e5, 1e7, 12.48), (10.0, 28.8, 9.35), (1e5, 6.9, 0.0)]
)
def test_ghost_voltage(series: float, across: float, volts: float) -> None:
    # Source: voltage divider of 12.6 V: meter of 10 Mohm, lamp of 5 W (28.8 ohm), lamp of 21 W (6.9 ohm); tolerance one
    # printed digit.
    assert meters.divided_voltage(12.6, series, across) == pytest.approx(volts, abs=6e-3)


@pytest.mark.parametrize(("true", "shown"), [(70.0, (63.8, 55.2, 41.0, 30.6)), (100.0, (90.3, 76.5, 53.2, 35.2))])
def test_infrared_thermometer_on_bright_metal(true: float, shown: tuple[float, ...]) -> None:
    # Source: Planck's law, 8 to 14 um, set to 0.95, room 25 degC, emissivity 0.8, 0.6, 0.3, 0.1; computed elsewhere;
    # tolerance one printed digit.
    ours = [meters.infrared_reading(true, emissivity) for emissivity in (0.8, 0.6, 0.3, 0.1)]
    assert ours == pytest.approx(shown, abs=0.06)
    assert meters.infrared_reading(25.0, 0.3) == pytest.approx(25.0, abs=1e-6)
