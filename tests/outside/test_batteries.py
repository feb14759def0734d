"""Batteries, gas and standing time against published tables and worked examples; each names its source."""

from __future__ import annotations

import itertools
import math

import pytest

from diagnose.basics import batteries, ventilation
from diagnose.model.figures import Tables
from diagnose.store.data_folder import rules_folder
from diagnose.store.tables import load_tables


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables(rules_folder())


def test_charge_at_a_cold_rest_voltage(tables: Tables) -> None:
    # Source: own, on rest-voltage tables of the trade and 0.2 mV/K a cell (Bode; Berndt, from memory): 12.31 V at
    # 5 degC is 61.2 %, 58.3 % uncorrected. Tolerance one printed digit.
    charge, rest = tables.curve("batteries", "rest_voltage_flooded")
    coefficient = tables.number("batteries", "rest_temperature_coefficient")
    assert batteries.charge_at_rest(12.31, 5.0, charge, rest, coefficient) == pytest.approx(61.2, abs=0.06)
    assert batteries.charge_at_rest(12.31, 25.0, charge, rest, coefficient) == pytest.approx(58.3, abs=0.06)


def test_rest_voltage_from_gravity(tables: Tables) -> None:
    # Source: DOE-HDBK-1084-95 equation 6 with the gravities of TM 5-3820-256-24-4 Table 2: 11.79, 12.00, 12.21, 12.42,
    # 12.66 V; tolerance 6 mV. Our flooded curve agrees within 0.1 V, that of TM 5-3805-262-20 p. 5-142 within 0.2 V.
    charge, gravity = tables.curve("batteries", "gravity")
    printed = (11.79, 12.00, 12.21, 12.42, 12.66)
    assert [batteries.rest_voltage_from_gravity(g) for g in gravity] == pytest.approx(printed, abs=6e-3)
    ours = [batteries.interpolated(c, *tables.curve("batteries", "rest_voltage_flooded")) for c in charge]
    assert ours == pytest.approx(printed, abs=0.101)
    assert ours == pytest.approx(tables.values("batteries", "rest_voltage_manual"), abs=0.2)


@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel", "calcium", "lfp"])
def test_rest_voltage_rises_with_charge(chemistry: str, tables: Tables) -> None:
    # Source: physics: without it a voltage tells no charge; and no battery rests above its float voltage.
    charge, rest = tables.curve("batteries", f"rest_voltage_{chemistry}")
    assert (charge[0], charge[-1]) == (0, 100)
    assert all(a < b for a, b in itertools.pairwise(rest))
    assert rest[-1] <= tables.number("batteries", f"float_low_{chemistry}")


def test_the_flat_part_of_lithium(tables: Tables) -> None:
    # Source: open LFP example cell: 3.7 mV a percent of charge from 40 to 90 %; tolerance 0.2 mV.
    curve = tables.curve("batteries", "rest_voltage_lfp")
    slope = (batteries.interpolated(90, *curve) - batteries.interpolated(40, *curve)) / 50
    assert 1000 * slope == pytest.approx(3.7, abs=0.2)


def test_hydrometer_at_freezing_cold(tables: Tables) -> None:
    # Source: TM 5-3820-256-24-4: 1.250 at 20 degF is 1.226; exact. The coefficient of the table is the same rule.
    cold = (20 - 32) / 1.8
    assert batteries.gravity_at_reference(1.250, cold) == pytest.approx(1.226, abs=1e-6)
    reference = tables.number("batteries", "gravity_temperature_reference")
    by_table = 1.250 + tables.number("batteries", "gravity_temperature_coefficient") * (cold - reference)
    assert by_table == pytest.approx(1.226, abs=1e-4)


@pytest.mark.parametrize(("drain", "days"), [(0.025, 46.7), (0.050, 23.3), (0.100, 11.7), (0.250, 4.7), (0.500, 2.3)])
def test_days_until_a_drain_empties_it(drain: float, days: float) -> None:
    # Source: own, 70 Ah from 80 to 40 %; tolerance one printed digit.
    assert batteries.days_to_flat(28.0, drain) == pytest.approx(days, abs=0.06)


def test_days_with_self_discharge() -> None:
    # Source: own, 75 Ah from 90 to 50 %, 67 mA, self-discharge 0.075 Ah a day: 17.8 d; tolerance one printed digit.
    assert batteries.days_to_flat(30.0, 0.067, 0.075) == pytest.approx(17.8, abs=0.06)
    assert batteries.days_to_flat(30.0, 0.0) == math.inf


def test_charge_time_of_a_navy_example() -> None:
    # Source: NAVEDTRA 14113: gravity from 1.210 to 1.150, 1.5 points an ampere-hour: 40 Ah, 5 h at 8 A; exact.
    missing = (1210 - 1150) / 1.5
    assert missing == pytest.approx(40.0)
    assert batteries.charge_time(100.0, 20.0, 60.0, 8.0, 8.0, kept=1.0) == pytest.approx(5.0)


def test_charge_time_with_a_tail() -> None:
    # Source: own, 100 Ah AGM from 50 to 95 %, 25 A net: bulk 1.474 h, tail to 2 A 1.595 h, 3.07 h in all. Tolerance
    # one printed digit; a lower bound for a real battery.
    bulk = batteries.charge_time(100.0, 50.0, 85.0, 25.0, 25.0)
    whole = batteries.charge_time(100.0, 50.0, 95.0, 25.0, 2.0)
    assert (bulk, whole - bulk, whole) == pytest.approx((1.474, 1.595, 3.07), abs=6e-3)
    with pytest.raises(ValueError, match="tail"):
        batteries.charge_time(100.0, 50.0, 95.0, 2.0, 25.0)


@pytest.mark.parametrize(("temperature", "volts"), [(0, 15.00), (10, 14.76), (25, 14.40), (35, 14.16), (45, 13.92)])
def test_absorption_by_temperature(temperature: float, volts: float, tables: Tables) -> None:
    # Source: own, on IEEE 1361 (from memory), 14.4 V and -24 mV/K; exact.
    compensation = tables.number("batteries", "compensation_agm")
    assert batteries.compensated_voltage(14.4, temperature, compensation) == pytest.approx(volts)


def test_regulator_of_an_alternator_by_temperature(tables: Tables) -> None:
    # Source: TM 10-3930-621-12, regulator test: a line fitted to the middles of the two limits has -16.3 mV/K and
    # 14.38 V at 25 degC, 14.05 V at 45 degC. The page is in degF and our rows are whole degC: tolerance
    # 0.3 mV/K and 0.01 V.
    over, low = tables.curve("alternators", "fixed_low")
    high = tables.values("alternators", "fixed_high")
    middle = [(a + b) / 2 for a, b in zip(low, high, strict=True)]
    mean_t, mean_v = sum(over) / len(over), sum(middle) / len(middle)
    slope = sum((t - mean_t) * (v - mean_v) for t, v in zip(over, middle, strict=True)) / sum(
        (t - mean_t) ** 2 for t in over
    )
    assert slope == pytest.approx(tables.number("alternators", "regulation_slope"), abs=3e-4)
    at_25 = mean_v + slope * (25 - mean_t)
    assert at_25 == pytest.approx(tables.number("alternators", "regulation_at_25"), abs=0.01)
    assert batteries.compensated_voltage(at_25, 45, slope) == pytest.approx(14.05, abs=0.01)


def test_load_test(tables: Tables) -> None:
    # Source: TM 5-4210-230-14&P-1 Table 5, floors by temperature; 600 A from 12.6 to 9.6 V is 10 mohm, exact.
    floor = tables.curve("batteries", "load_test_floor")
    assert batteries.interpolated(21, *floor) == 9.6
    assert batteries.interpolated(30, *floor) == 9.6
    assert batteries.interpolated(-18, *floor) == 8.5
    assert batteries.load_test_resistance(600.0) == pytest.approx(0.010)
    assert all(a < b for a, b in zip(floor[1], floor[1][1:], strict=False))


@pytest.mark.parametrize(
    ("gas", "flow", "opening", "distance"),
    [("vented_boost", 0.60, 16.8, 659), ("vented_float", 0.15, 4.2, 415), ("sealed_boost", 0.24, 6.72, 486),
     ("sealed_float", 0.03, 0.84, 243)],
)  # fmt: skip
def test_air_for_a_battery_of_100_ampere_hours(
    gas: str, flow: float, opening: float, distance: float, tables: Tables
) -> None:
    # Source: IEC 62485-2, formula and Table 1 (annex B for the distance, from memory); 6 cells, 100 Ah; tolerance one
    # printed digit.
    current = tables.number("safety", f"gas_{gas}")
    assert ventilation.ventilation_flow(6, current, 100.0) == pytest.approx(flow)
    assert ventilation.vent_opening(flow) == pytest.approx(opening)
    assert ventilation.spark_distance(6, current, 100.0) == pytest.approx(distance, abs=0.6)


def test_hydrogen_of_an_ampere_hour() -> None:
    # Source: Faraday's law, 0.418 l for each Ah and cell at 0 degC; tolerance one printed digit. The flow of
    # IEC 62485-2 dilutes it below 4 %: 0.42 l an hour and ampere in 50 l of air.
    assert ventilation.hydrogen_volume(1.0) == pytest.approx(0.418, abs=6e-4)
    air = 1000.0 * ventilation.ventilation_flow(1, 1000.0, 1.0)  # l/h for 1 A through one cell
    assert ventilation.hydrogen_volume(1.0) / air < 0.04
