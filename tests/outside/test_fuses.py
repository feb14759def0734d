"""Fuses against published rules and worked examples; each names its source."""

from __future__ import annotations

import itertools

import pytest

from diagnose.basics.conductors import joint_heat, voltage_drop
from diagnose.basics.fuses import choose_fuse, fuse_resistance, hot_fuse_share
from diagnose.basics.units import awg_area
from diagnose.model.figures import Tables
from diagnose.store.data_folder import rules_folder
from diagnose.store.tables import load_tables


@pytest.fixture(scope="module")
def tables() -> Tables:
    return load_tables(rules_folder())


def ampacity_of(tables: Tables, name: str, gauge: int) -> float:
    areas, amperes = tables.curve("conductors", name)
    return next(a for area, a in zip(areas, amperes, strict=True) if area == pytest.approx(awg_area(gauge), rel=2e-3))


def test_a_fuse_for_40_amperes_in_an_engine_space(tables: Tables) -> None:
    # Source: own, on 33 CFR 183.425 Table 5, 183.455(c)(1) and ABYC E-11: gauge 8, 105 degC, engine space: ampacity 80,
    # there 68; 50 or 60 A; with a 75 % duty limit only 60 A; the law's most 120 A. Exact.
    table = ampacity_of(tables, "ampacity_105", 8)
    factor = dict(zip(*tables.curve("conductors", "engine_space_factor"), strict=True))[105]
    sold = tables.values("fuses", "sold_cartridge")
    assert (table, table * factor) == pytest.approx((80.0, 68.0))
    assert choose_fuse(40.0, table * factor, sold, tables.number("fuses", "margin")).ratings == (50.0, 60.0)
    assert choose_fuse(40.0, table * factor, sold, 1 / tables.number("fuses", "duty_share")).ratings == (60.0,)
    assert table * tables.number("fuses", "over_ampacity_limit") == pytest.approx(120.0)


def test_no_fuse_fits_a_cable_too_thin_for_its_load(tables: Tables) -> None:
    # Source: 33 CFR 183.425 Table 5: gauge 16 of 60 degC carries 15 A, so nothing fits 40 A.
    choice = choose_fuse(40.0, ampacity_of(tables, "ampacity_60", 16), tables.values("fuses", "sold_blade"))
    assert choice.ratings == ()
    assert choice.least > choice.most


@pytest.mark.parametrize(
    ("gauge", "corrected"),
    [(18, 17), (16, 21), (14, 30), (12, 38), (10, 51), (8, 68), (6, 102), (4, 136), (3, 153), (2, 178), (1, 208),
     (0, 242), (-1, 280), (-2, 327), (-3, 378)],
)  # fmt: skip
def test_ampacity_in_an_engine_space(gauge: int, corrected: float, tables: Tables) -> None:
    # Source: ABYC E-11 (reprint), 105 degC in an engine space; tolerance 0.8 A, whole amperes not all rounded alike.
    factor = dict(zip(*tables.curve("conductors", "engine_space_factor"), strict=True))[105]
    assert ampacity_of(tables, "ampacity_105", gauge) * factor == pytest.approx(corrected, abs=0.8)


def test_ampacity_rises_with_area_and_insulation(tables: Tables) -> None:
    # Source: 33 CFR 183.425 Table 5, a law of the table itself.
    columns = [tables.values("conductors", f"ampacity_{n}") for n in (60, 75, 90, 105)]
    for column in columns:
        assert all(a <= b for a, b in itertools.pairwise(column))
    for cooler, hotter in itertools.pairwise(columns):
        assert all(a <= b for a, b in zip(cooler, hotter, strict=True))


def test_loss_of_a_high_current_fuse(tables: Tables) -> None:
    # Source: DIN 72581-3 type E, 60 A: 100 mV, 1.67 mohm; at 40 A 66.7 mV and 2.67 W. Tolerance one printed digit.
    ohms = fuse_resistance(tables.number("fuses", "drop_limit_30_to_80"), 60.0)
    assert 1000 * ohms == pytest.approx(1.67, abs=6e-3)
    assert 1000 * voltage_drop(40.0, ohms) == pytest.approx(66.7, abs=0.06)
    assert joint_heat(40.0, ohms) == pytest.approx(2.67, abs=6e-3)
    assert tables.number("joints", "fuse_element_drop_at_rating") < tables.number("fuses", "drop_limit_30_to_80")


def test_a_warm_fuse_carries_less() -> None:
    # Source: computed heat balance of a zinc element: 0.952 at 60 degC, 0.918 at 85 degC; tolerance one printed digit.
    assert hot_fuse_share(23.0) == 1.0
    assert hot_fuse_share(60.0) == pytest.approx(0.952, abs=6e-4)
    assert hot_fuse_share(85.0) == pytest.approx(0.918, abs=6e-4)
    assert hot_fuse_share(500.0) == 0.0


def test_aircraft_fuse_for_a_cable(tables: Tables) -> None:
    # Source: AC 43.13-1B Table 11-3: gauge 8 takes 50 A, less than the 80 A of 33 CFR Table 5; exact.
    fuses = dict(zip(*tables.curve("fuses", "aircraft_fuse"), strict=True))
    assert fuses[8.366] == 50.0
    assert fuses[8.366] <= ampacity_of(tables, "ampacity_60", 8)
