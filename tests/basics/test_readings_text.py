"""What is typed as a result: over range, not taken and zero stay three different things."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.basics.quantities import QuantityError
from diagnose.basics.readings_text import Typed, parse_typed


@pytest.mark.parametrize("text", ["OL", "ol", "0L", ".OL", "0.L", "over range", "over_range"])
def test_over_range(text: str) -> None:
    typed = parse_typed(text, "ohm")
    assert (typed.kind, typed.value) == ("over_range", None)


@pytest.mark.parametrize("text", ["skipped", "Skipped", "cannot", "cannot tell", "not measured"])
@pytest.mark.parametrize("unit", ["V", None])
def test_not_taken(text: str, unit: str | None) -> None:
    assert parse_typed(text, unit, ("on", "off")).kind == "skipped"


def test_zero_is_a_number() -> None:
    assert parse_typed(0, "ohm") == Typed("number", "0", 0.0, unit="ohm", assumed=True)
    assert parse_typed("0 ohm", "ohm") == Typed("number", "0 ohm", 0.0, unit="ohm")


@pytest.mark.parametrize(
    ("text", "unit", "value", "assumed"),
    [
        ("13,8", "V", 13.8, True),
        ("13.8V", "V", 13.8, False),
        ("138 mV", "V", 0.138, False),
        ("-0.3", "A", -0.3, True),
        ("131 F", "degC", 55.0, False),
        ("0.4 \u2126", "ohm", 0.4, False),
        ("-0.1", "ohm", -0.1, True),
        ("1.265", "", 1.265, False),
        ("1,265", "", 1.265, False),
        ("1265", "", 1.265, False),
    ],
)
def test_numbers(text: str, unit: str, value: float, assumed: bool) -> None:
    typed = parse_typed(text, unit)
    assert (typed.kind, typed.text, typed.value, typed.assumed) == ("number", text, value, assumed)


def test_below_and_unsteady() -> None:
    assert parse_typed("<0.1", "ohm") == Typed("below", "<0.1", 0.1, unit="ohm", assumed=True)
    assert parse_typed("less than 100 mV", "V").value == 0.1
    assert parse_typed("unsteady", "V") == Typed("unsteady", "unsteady", unit="V")
    moving = parse_typed("unsteady 11.8 to 13.1 V", "V")
    assert (moving.kind, moving.value, moving.high, moving.assumed) == ("unsteady", 11.8, 13.1, False)
    assert parse_typed("unsteady 11,8 to 13,1", "V").assumed
    assert parse_typed("unsteady 200 to 900 mV", "V")[2:4] == (0.2, 0.9)


def test_words() -> None:
    assert parse_typed("Off", "V", ("on", "dim", "off")).word == "off"
    assert parse_typed("12.3", "V", ("on", "dim", "off")).value == 12.3


@pytest.mark.parametrize(
    ("raw", "unit", "message"),
    [
        ("1,234", "V", "1,234 may mean 1.234 or 1234, write 1.234 V or 1234 V"),
        ("5 MV", "V", "MV may mean milli or mega, write mV or V"),
        ("5 A", "V", "A is no unit of voltage, use V or mV"),
        ("11 to 12 V", "V", "`11 to 12 V` is a range, not a reading, write one value, or unsteady 11.8 to 13.1 V"),
        ("unsteady 12 V", "V", "`unsteady 12 V` has not two ends, write unsteady 11.8 to 13.1 V"),
        ("unsteady 13 to 12 V", "V", "`unsteady 13 to 12 V` runs from high to low, write the lower value first"),
        ("nan", "V", "`nan` is no answer here, write a number in V, OL, unsteady or skipped"),
        (math.inf, "V", "`inf` is no answer here, write a number in V, OL, unsteady or skipped"),
        ("", "V", "the answer is empty, write a number in V, OL, unsteady or skipped"),
        (True, None, "`true` is no answer here, write on, off or skipped"),
        ("of", None, "`of` is no answer here, did you mean off?"),
        ("OL", None, "`OL` is no answer here, write on, off or skipped"),
        ("12", None, "`12` is no answer here, write on, off or skipped"),
        ("1.4", "", "`1.4` is off the scale of a hydrometer, write a specific gravity of 1.10 to 1.30, "
         "for example 1.265"),
    ],
)
def test_refused(raw: object, unit: str | None, message: str) -> None:
    with pytest.raises(QuantityError) as raised:
        parse_typed(raw, unit, ("on", "off") if unit is None else ())
    assert str(raised.value) == message


@given(st.text(max_size=25) | st.floats() | st.integers(), st.sampled_from(["V", "A", "ohm", "degC", "", None]))
@settings(max_examples=500, derandomize=True)
def test_anything_is_a_result_or_a_refusal(raw: object, unit: str | None) -> None:
    typed = Typed("word", "", word="on")
    with contextlib.suppress(QuantityError):  # any other exception fails
        typed = parse_typed(raw, unit, ("on", "off"))
    assert (typed.value is not None) == (typed.kind in ("number", "below")) or typed.kind == "unsteady"
    assert typed.value is None or math.isfinite(typed.value)
