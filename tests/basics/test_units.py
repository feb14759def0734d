"""Units against published figures, and the spellings people type."""

from __future__ import annotations

from decimal import Decimal

import pytest

from diagnose.basics.units import DIMENSIONS, QuantityError, awg_area, find_unit, to_base


@pytest.mark.parametrize(
    ("gauge", "area"),
    # ASTM B258 nominal areas as reprinted in wire tables [mm2] (from memory; the formula is the standard's own).
    [(-3, 107.2), (-2, 85.0), (-1, 67.4), (0, 53.5), (2, 33.6), (4, 21.2), (6, 13.3), (8, 8.37), (16, 1.31)],
)
def test_gauges(gauge: int, area: float) -> None:
    assert awg_area(gauge) == pytest.approx(area, rel=0.005)


@pytest.mark.parametrize(
    ("text", "unit", "dimension", "value"),
    [
        ("4.7", "mV", "voltage", 0.0047),
        ("13.8", "v", "voltage", 13.8),
        ("1", "kA", "current", 1000.0),
        ("100", "AH", "capacity", 100.0),
        ("10", "ft", "length", 3.048),
        ("12", "inches", "length", 0.3048),
        ("0.4", "\u2126", "resistance", 0.4),
        ("0.4", "\u03a9", "resistance", 0.4),
        ("4", "milliohm", "resistance", 0.004),
        ("10", "Mohm", "resistance", 1e7),
        ("10", "mohm", "resistance", 0.01),
        ("32", "°F", "temperature", 0.0),
        ("-40", "F", "temperature", -40.0),
        ("1", "h", "time", 60.0),
        ("30", "s", "time", 0.5),
        ("1.2", "kW", "power", 1200.0),
    ],
)
def test_units(text: str, unit: str, dimension: str, value: float) -> None:
    assert to_base(Decimal(text), unit, DIMENSIONS[dimension]) == value


@pytest.mark.parametrize(
    ("unit", "dimension", "right"),
    [
        ("MV", "voltage", "write mV or V"),
        ("MA", "current", "write mA or A"),
        ("MOHM", "resistance", "write mohm or Mohm"),
        ("A", "voltage", "use V or mV"),
        ("yd", "length", "use m, cm, mm, ft or in"),
    ],
)
def test_refused_units(unit: str, dimension: str, right: str) -> None:
    with pytest.raises(QuantityError) as raised:
        find_unit(unit, DIMENSIONS[dimension])
    assert raised.value.right == right


def test_every_example_and_shown_unit_is_understood() -> None:
    for dimension in DIMENSIONS.values():
        for unit in dimension.shown:
            if unit != "AWG":
                find_unit(unit, dimension)
        number, unit = dimension.example.split()
        assert dimension.low <= to_base(Decimal(number), unit, dimension) <= dimension.high
