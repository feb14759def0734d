"""Conductors, drops, joints and earths against published tables and worked examples; each names its source."""

from __future__ import annotations

import pytest
from fluids.piping import gauge_from_t, t_from_gauge  # type: ignore[import-untyped]

from diagnose.basics import conductors
from diagnose.basics.units import awg_area
from diagnose.model.figures import Tables
from diagnose.store.data_folder import rules_folder
from diagnose.store.tables import load_tables

FOOT = 0.3048  # m
CIRCULAR_MIL = 0.0005067075  # mm2


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables(rules_folder())


# Gauge as the fluids library spells it: 2/0 and more are fractions there.
@pytest.mark.parametrize(
    ("gauge", "key"), [*((n, n) for n in range(0, 25)), (-1, 0.5), (-2, 0.33), (-3, 0.25)], ids=lambda n: str(n)
)
def test_the_diameters_of_the_wire_gauge(gauge: int, key: float) -> None:
    # Source: table of American wire gauge in fluids 1.3.1, an independent open library; tolerance 0.2 %
    # of the diameter.
    diameter = 1000.0 * t_from_gauge(key, schedule="AWG")
    assert (4.0 * awg_area(gauge) / 3.141592653589793) ** 0.5 == pytest.approx(diameter, rel=2e-3)
    assert gauge_from_t(diameter / 1000.0, schedule="AWG") == pytest.approx(key)


@pytest.mark.parametrize(
    ("gauge", "plain"),
    [(18, 26.08), (16, 16.37), (14, 10.30), (12, 6.496), (10, 4.068), (8, 2.552), (6, 1.611), (4, 1.011), (2, 0.636),
     (1, 0.505), (0, 0.400), (-1, 0.317), (-2, 0.251), (-3, 0.199)],
)  # fmt: skip
def test_the_resistance_of_hot_stranded_copper(gauge: int, plain: float) -> None:
    # Source: NEC chapter 9 Table 8, direct current, 75 degC, uncoated, mohm/m. Stranding adds 1.8 to 2.5 % to ours, and
    # three printed digits carry 0.3 %.
    ours = 1000.0 * conductors.cable_resistance(awg_area(gauge), 1.0, temperature=75.0)
    assert 1.015 < plain / ours < 1.028


def test_class_5_maxima_lie_a_little_above_pure_copper(tables: Tables) -> None:
    # Source: IEC 60228 Table 3 and IEC 60028; 1.10 to 1.16 up to two digits.
    areas, maxima = tables.curve("conductors", "class5_resistance")
    for area, most in zip(areas, maxima, strict=True):
        assert 1.095 < most / (1000.0 * conductors.cable_resistance(area, 1.0)) < 1.165
    tinned = tables.curve("conductors", "class5_resistance_tinned")[1]
    assert all(1.0 < coated / plain < 1.04 for coated, plain in zip(tinned, maxima, strict=True))


# Ohms per 1,000 ft at 20 degC, tinned, AC 43.13-1B Table 11-9.
AIRCRAFT = {10: 1.26, 8: 0.70, 6: 0.44, 4: 0.28}


@pytest.mark.parametrize(
    ("gauge", "feet", "printed"),
    [(6, 107.0, 0.942), (4, 90.0, 0.504), (10, 39.0, 0.983)],
)
def test_worked_drops_at_20_amperes(gauge: int, feet: float, printed: float) -> None:
    # Source: AC 43.13-1B Tables 11-7 and 11-8; tolerance one printed digit.
    assert conductors.voltage_drop(20.0, AIRCRAFT[gauge] / 1000.0 * feet) == pytest.approx(printed, abs=1e-3)


def test_a_printed_drop_that_is_a_misprint() -> None:
    # Source: AC 43.13-1B Table 11-8 prints 0.366 V for gauge 10, 19.5 ft, 20 A; its own figures give 0.4914 V, and half
    # the length of the 0.983 V line cannot be anything else.
    drop = conductors.voltage_drop(20.0, AIRCRAFT[10] / 1000.0 * 19.5)
    assert drop == pytest.approx(0.4914, abs=1e-9)
    assert drop == pytest.approx(0.983 / 2, abs=1e-3)
    assert abs(drop - 0.366) > 0.1


def test_a_hot_run_is_shorter() -> None:
    # Source: AC 43.13-1B, 11-66: 107 ft at 20 degC become 89.43 ft at 70 degC (computed); tolerance one printed digit.
    assert conductors.hot_run_length(107.0, 70.0) == pytest.approx(89.43, abs=0.005)
    assert conductors.hot_run_length(107.0, 20.0) == pytest.approx(107.0)
    # The same from the other side: the hot run has the drop of the cold one, IEC 60028; tolerance 0.1 %.
    assert conductors.resistance_at(89.43, 70.0) == pytest.approx(107.0, rel=1e-3)


def test_gauge_for_an_aircraft_load() -> None:
    # Source: AC 43.13-1B, 11-66, example 1: 50 ft with ground, 1 V, 20 A needs gauge 8 (gauge 10 would lose 1.26 V).
    drops = {gauge: conductors.voltage_drop(20.0, ohms / 1000.0 * 50.0) for gauge, ohms in AIRCRAFT.items()}
    assert drops[10] == pytest.approx(1.26)
    assert drops[8] == pytest.approx(0.70)
    assert max(gauge for gauge, drop in drops.items() if drop <= 1.0) == 8


@pytest.mark.parametrize(("drop", "circular_mils", "gauge"), [(0.36, 6271.0, 10), (1.2, 1881.0, 16)])
def test_gauge_for_a_boat_load(drop: float, circular_mils: float, gauge: int, tables: Tables) -> None:
    # Source: ABYC E-11 (reprint): 10 A, 21 ft out and back, 12 V: 3 % gauge 10, 10 % gauge 16; the area formula with
    # K = 10.75 (from memory), the least areas of SAE J1127 decide. Tolerance half a circular mil.
    needed = conductors.needed_area(10.0, 21.0 * FOOT, drop, 10.75 * CIRCULAR_MIL / FOOT)
    assert needed / CIRCULAR_MIL == pytest.approx(circular_mils, abs=0.5)
    gauges = (18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)
    least = tables.values("conductors", "sae_minimum_area")
    assert max(g for g, area in zip(gauges, least, strict=True) if area >= needed) == gauge


def test_area_for_40_amperes_over_12_metres(tables: Tables) -> None:
    # Source: own example on IEC 60228 class 5, 0.36 V: 16 mm2 0.581 V, 25 mm2 0.374 V, 35 mm2 0.266 V (0.308 V at
    # 60 degC). ISO 10133 (0.0164) would let 25 mm2 pass with 0.315 V. Tolerance one printed digit.
    ohms = dict(zip(*tables.curve("conductors", "class5_resistance"), strict=True))
    drop = {area: conductors.voltage_drop(40.0, ohms[area] / 1000.0 * 12.0) for area in (16, 25, 35)}
    assert drop == pytest.approx({16: 0.581, 25: 0.374, 35: 0.266}, abs=6e-4)
    assert conductors.resistance_at(drop[35], 60.0) == pytest.approx(0.308, abs=6e-4)
    formula = tables.number("limits", "drop_formula_metric")
    assert formula * 40.0 * 12.0 / 25.0 == pytest.approx(0.315, abs=6e-4)
    assert 16.0 < conductors.needed_area(40.0, 12.0, 0.36, formula) < 25.0


def test_other_metals_against_copper(tables: Tables) -> None:
    # Source: ratios of IEC 60889 and IEC 60287-1-1 to IEC 60028: aluminium 1.639, steel 8.00; sheet steel 0.8 x 300 mm
    # 0.575 mohm/m. Tolerance one printed digit.
    copper = tables.number("conductors", "copper_resistivity")
    assert tables.number("conductors", "aluminium_resistivity") / copper == pytest.approx(1.639, abs=6e-4)
    steel = tables.number("conductors", "steel_resistivity")
    assert steel / copper == pytest.approx(8.00, abs=6e-3)
    assert 1000 * conductors.cable_resistance(0.8 * 300, 1.0, resistivity=steel) == pytest.approx(0.575, abs=1e-6)


@pytest.mark.parametrize(
    ("current", "ohms", "volts", "watts"),
    [(40, 0.0001, 0.004, 0.16), (40, 0.0025, 0.100, 4.0), (40, 0.003, 0.120, 4.8), (100, 0.002, 0.200, 20.0)],
)
def test_heat_of_a_joint(current: float, ohms: float, volts: float, watts: float) -> None:
    # Source: own, on the limits of AC 43.13-1B 11-188f and 11-189 and of TM 10-3930-671-24; exact.
    assert conductors.voltage_drop(current, ohms) == pytest.approx(volts)
    assert conductors.joint_heat(current, ohms) == pytest.approx(watts)


def test_the_heat_a_small_joint_may_make(tables: Tables) -> None:
    # Source: own, on UL 486A-B (50 K) and a plate of 10 cm2 (73 K/W): 0.68 W, 0.43 mohm at 40 A; 4 W would be 292 K.
    over, plate = tables.curve("joints", "plate_thermal_resistance")
    rth = dict(zip(over, plate, strict=True))[10]
    most = conductors.joint_resistance_limit(40.0, tables.number("limits", "joint_rise"), rth)
    assert 1000 * most == pytest.approx(0.43, abs=5e-3)
    assert conductors.joint_heat(40.0, most) == pytest.approx(0.68, abs=6e-3)
    assert conductors.joint_heat(40.0, 0.0025) * rth == pytest.approx(292.0)


def test_earths_side_by_side() -> None:
    # Source: own, on IEC 60228 class 5, 40 A. A: 4 m of 16 mm2 and two joints; B: a strap, the body, two bonds.
    # Tolerance one printed digit.
    a = 4 * 1.21e-3 + 2 * 0.2e-3
    b = 0.39e-3 + 0.30e-3 + 2 * 0.5e-3
    assert (1000 * a, 1000 * b) == pytest.approx((5.24, 1.69))
    for extra, both, volts, through_a in ((0.0, 1.278, 51.1, 9.755), (0.010, 3.618, 144.7, 27.62)):
        together = conductors.parallel_resistance([a, b + extra])
        drop = conductors.voltage_drop(40.0, together)
        assert 1000 * together == pytest.approx(both, abs=6e-4)
        assert 1000 * drop == pytest.approx(volts, abs=0.06)
        assert drop / a == pytest.approx(through_a, abs=6e-3)
        through_b = 40.0 - drop / a
    assert conductors.joint_heat(through_b, 0.0105) == pytest.approx(1.61, abs=6e-3)  # the bad bond, 0.5 + 10 mohm
    alone = conductors.parallel_resistance([a, float("inf")])
    assert 1000 * conductors.voltage_drop(40.0, alone) == pytest.approx(209.6)


def test_nonsense_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        conductors.cable_resistance(0.0, 1.0)
    with pytest.raises(ValueError, match="above 0"):
        conductors.needed_area(10.0, 5.0, 0.0)
    with pytest.raises(ValueError, match="above 0"):
        conductors.parallel_resistance([0.001, 0.0])
    assert conductors.parallel_resistance([]) == float("inf")
