"""The units people type, what each is worth in the base unit of its dimension, and what a dimension may hold.

Knows the table and nothing of text around a number; reading a quantity is the business of `basics.quantities`.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import NamedTuple

__all__ = ["DIMENSIONS", "Dimension", "QuantityError", "awg_area", "find_unit", "to_base"]


class QuantityError(ValueError):
    """A quantity that cannot be used; `what` is wrong with it, `right` is what would be right.

    >>> str(QuantityError("a unit is missing", "write for example 4.8 m"))
    'a unit is missing, write for example 4.8 m'
    """

    def __init__(self, what: str, right: str) -> None:
        super().__init__(f"{what}, {right}")
        self.what = what
        self.right = right


class Dimension(NamedTuple):
    """A kind of quantity: its base unit, the range it may have in that unit, and the units that can be typed.

    `units` maps a spelling to (factor, offset): base = (number + offset) * factor. `shown` is what messages offer.
    The range is wide: it keeps slips of a factor 1000 and numbers no circuit has out of the calculation.
    """

    name: str
    base_unit: str
    low: float
    high: float
    units: dict[str, tuple[Decimal, Decimal]]
    shown: tuple[str, ...]
    example: str


def awg_area(gauge: int) -> float:
    """Return the area [mm2] of a solid conductor of American wire gauge `gauge`.

    Parameters: `gauge`, the gauge number; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0.
    Returns: area [mm2] = pi/4 d^2 with d = 0.127 mm * 92 ** ((36 - gauge) / 39).
    Valid range: -3 to 40. Source: ASTM B258.

    >>> round(awg_area(6), 2), round(awg_area(-3), 1)
    (13.3, 107.2)
    """
    diameter: float = 0.127 * 92.0 ** ((36 - gauge) / 39)
    return math.pi / 4 * diameter * diameter


def _units(**spellings: str) -> dict[str, tuple[Decimal, Decimal]]:
    """Return the unit table from `factor_text: "spelling spelling"` pairs given as keyword `f<number>`."""
    table: dict[str, tuple[Decimal, Decimal]] = {}
    for key, names in spellings.items():
        factor = Decimal(key[1:].replace("_", "."))
        table |= {name: (factor, Decimal(0)) for name in names.split()}
    return table


_FAHRENHEIT = (Decimal(5) / Decimal(9), Decimal(-32))
_TEMPERATURE = _units(f1="degC °C ºC ℃ C celsius") | dict.fromkeys(
    ("degF", "°F", "ºF", "℉", "F", "fahrenheit"), _FAHRENHEIT
)

DIMENSIONS: dict[str, Dimension] = {
    dimension.name: dimension
    for dimension in (
        Dimension(
            "length", "m", 0.001, 1000.0,
            _units(
                f1="m metre metres meter meters", f0_01="cm", f0_001="mm", f0_3048="ft foot feet",
                f0_0254="in inch inches",
            ),
            ("m", "cm", "mm", "ft", "in"), "4.8 m",
        ),
        Dimension("area", "mm2", 0.001, 2000.0, _units(f1="mm2 mm² mm^2 sqmm"), ("mm2", "AWG"), "16 mm2"),
        # An opening for air is no conductor: its areas are larger, and no wire gauge names them.
        Dimension(
            "opening", "mm2", 1.0, 1_000_000.0,
            _units(f1="mm2 mm² mm^2 sqmm", f100="cm2 cm² cm^2 sqcm"), ("mm2", "cm2"), "20 cm2",
        ),
        Dimension("voltage", "V", -1000.0, 1000.0, _units(f1="V volt volts", f0_001="mV"), ("V", "mV"), "14.2 V"),
        Dimension(
            "current", "A", -100_000.0, 100_000.0, _units(f1="A amp amps", f0_001="mA", f1000="kA"),
            ("A", "mA", "kA"), "30 A",
        ),
        Dimension("power", "W", 0.001, 100_000.0, _units(f1="W watt watts", f1000="kW"), ("W", "kW"), "55 W"),
        Dimension(
            "resistance", "ohm", 1e-6, 1e12,
            # U+2126 is the ohm sign, U+03A9 the Greek letter: both are typed.
            _units(
                f1="ohm ohms \u2126 \u03a9", f0_001="mohm mohms m\u2126 m\u03a9 milliohm milliohms",
                f1000="kohm kohms k\u2126 k\u03a9 kilohm", f1000000="Mohm Mohms M\u2126 M\u03a9 megohm",
            ),
            ("ohm", "mohm", "kohm", "Mohm"), "0.4 ohm",
        ),
        Dimension("temperature", "degC", -100.0, 2000.0, _TEMPERATURE, ("degC", "degF"), "25 degC"),
        Dimension("capacity", "Ah", 0.001, 100_000.0, _units(f1="Ah", f0_001="mAh"), ("Ah", "mAh"), "100 Ah"),
        Dimension(
            "time", "min", 0.0, 100_000.0,
            _units(f1="min mins minute minutes", f60="h hour hours") | dict.fromkeys(
                ("s", "sec", "second", "seconds"), (Decimal(1) / Decimal(60), Decimal(0))
            ),
            ("min", "s", "h"), "2 min",
        ),
        Dimension(
            "age", "d", 0.0, 40_000.0, _units(f1="d day days", f7="week weeks", f365_25="year years"),
            ("d", "weeks", "years"), "400 d",
        ),
    )
}
_MILLI_OR_MEGA = {"mv", "ma", "mah", "mohm", "mohms"}


def find_unit(unit: str, dimension: Dimension) -> tuple[Decimal, Decimal]:
    """Return (factor, offset) of a unit as typed; capitals are forgiven where they cannot change the meaning.

    Raises: QuantityError for a unit of another dimension and for a capital M that may mean milli or mega.

    >>> find_unit("MV", DIMENSIONS["voltage"])
    Traceback (most recent call last):
    ...
    diagnose.basics.units.QuantityError: MV may mean milli or mega, write mV or V
    """
    if unit in dimension.units:
        return dimension.units[unit]
    folded = unit.casefold()
    matches = {value for name, value in dimension.units.items() if name.casefold() == folded}
    if unit[:1] == "M" and folded in _MILLI_OR_MEGA and matches:
        milli = f"m{dimension.base_unit}"
        other = "Mohm" if dimension.name == "resistance" else dimension.base_unit
        raise QuantityError(f"{unit} may mean milli or mega", f"write {milli} or {other}")
    if len(matches) != 1:
        raise QuantityError(f"{unit} is no unit of {dimension.name}", f"use {_either(dimension.shown)}")
    return matches.pop()


def to_base(number: Decimal, unit: str, dimension: Dimension) -> float:
    """Return a number typed with a unit in the base unit of its dimension.

    Parameters: `number` [unit]; `unit`, a spelling; `dimension`.
    Returns: the value [base unit], rounded once, so that 4.7 mV is the float nearest to 0.0047 V.
    Raises: QuantityError where the unit does not belong to the dimension.

    >>> to_base(Decimal("138"), "mV", DIMENSIONS["voltage"])
    0.138
    >>> to_base(Decimal("131"), "F", DIMENSIONS["temperature"])
    55.0
    """
    factor, offset = find_unit(unit, dimension)
    value = float((number + offset) * factor)
    # A third of a minute or a ninth of a degree has no end: 12 digits are more than anybody typed.
    return value if factor in _ENDING else float(f"{value:.12g}")


_ENDING = {Decimal(text) for text in ("1", "0.01", "0.001", "0.3048", "0.0254", "1000", "1000000", "60")}


def _either(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} or {names[-1]}"
