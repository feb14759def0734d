"""Quantities as typed: round trip, ranges, and everything that must be asked back."""

from __future__ import annotations

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.basics.quantities import DIMENSIONS, QuantityError, Span, format_span, parse_span


@st.composite
def spans(draw: st.DrawFn) -> tuple[str, Span]:
    dimension = DIMENSIONS[draw(st.sampled_from(sorted(DIMENSIONS)))]
    values = st.floats(dimension.low, dimension.high, allow_nan=False)
    low, high = sorted((draw(values), draw(values)))
    # adding nothing turns -0.0, which is written as 0, into 0.0
    return dimension.name, Span(low + 0.0, (high if draw(st.booleans()) else low) + 0.0)


@given(spans())
@settings(max_examples=300, derandomize=True)
def test_round_trip_is_exact(case: tuple[str, Span]) -> None:
    dimension, span = case
    assert parse_span(format_span(span, dimension), dimension) == span


@given(st.text(max_size=30), st.sampled_from(sorted(DIMENSIONS)))
@settings(max_examples=500, derandomize=True)
def test_any_text_is_a_span_or_a_refusal(text: str, dimension: str) -> None:
    span = Span(0.0, 0.0)
    with contextlib.suppress(QuantityError):  # any other exception fails
        span = parse_span(text, dimension)
    assert math.isfinite(span.high)
    assert span.low <= span.high


@pytest.mark.parametrize(
    ("text", "dimension", "span"),
    [
        ("13.8V", "voltage", Span(13.8, 13.8)),
        (" 13,8  V ", "voltage", Span(13.8, 13.8)),
        ("-0.3 V", "voltage", Span(-0.3, -0.3)),
        ("\u22120.3 V", "voltage", Span(-0.3, -0.3)),
        ("3 to 6 m", "length", Span(3.0, 6.0)),
        ("300 cm to 6 m", "length", Span(3.0, 6.0)),
        ("10 to 20 ft", "length", Span(3.048, 6.096)),
        ("-10 to 40 degC", "temperature", Span(-10.0, 40.0)),
        ("0,125 V", "voltage", Span(0.125, 0.125)),
        ("55 °C", "temperature", Span(55.0, 55.0)),
        ("131 F", "temperature", Span(55.0, 55.0)),
        ("16 mm²", "area", Span(16.0, 16.0)),
        ("1234,5 mV", "voltage", Span(1.2345, 1.2345)),
    ],
)
def test_accepted(text: str, dimension: str, span: Span) -> None:
    assert parse_span(text, dimension) == span


def test_gauges_in_either_order_and_spelling() -> None:
    assert parse_span("6 to 4 AWG", "area") == parse_span("4 to 6 AWG", "area")
    assert parse_span("00 AWG", "area") == parse_span("2/0 AWG", "area") == parse_span("AWG 2/0", "area")
    assert parse_span("1/0 AWG", "area") == parse_span("0 awg", "area")


@pytest.mark.parametrize(
    ("raw", "dimension", "message"),
    [
        (4.8, "length", "a unit is missing, write for example 4.8 m"),
        ("28", "temperature", "a unit is missing, write for example 28 degC"),
        ("12 to 13", "voltage", "a unit is missing, write for example 12 to 13 V"),
        (math.nan, "length", "a unit is missing, write for example 4.8 m"),
        (True, "length", "true is no length, write for example 4.8 m"),
        (None, "length", "this is no length, write for example 4.8 m"),
        (["4 m"], "length", "this is no length, write for example 4.8 m"),
        ("", "length", "the length is empty, write for example 4.8 m"),
        ("nan V", "voltage", "`nan V` is no voltage, write for example 14.2 V"),
        ("inf V", "voltage", "`inf V` is no voltage, write for example 14.2 V"),
        ("1e999 V", "voltage", "`1e999 V` is out of range, a voltage lies within -1000 to 1000 V"),
        ("0 m", "length", "a length of nothing, it must be above zero, for example 4.8 m"),
        ("-1 mm2", "area", "`-1 mm2` is negative, it must be above zero, for example 16 mm2"),
        ("0 Ah", "capacity", "a capacity of nothing, it must be above zero, for example 100 Ah"),
        ("6 to 3 m", "length", "`6 to 3 m` runs from high to low, write the lower value first"),
        ("3 to", "length", "`3 to` is half a range, write for example 3 to 6 m"),
        ("5 V", "length", "V is no unit of length, use m, cm, mm, ft or in"),
        ("1,234 V", "voltage", "1,234 may mean 1.234 or 1234, write 1.234 V or 1234 V"),
        ("1.234,5 V", "voltage",
         "`1.234,5` has two separators, write one decimal point and nothing between thousands"),
        ("5 MV", "voltage", "MV may mean milli or mega, write mV or V"),
        ("41 AWG", "area", "`41` AWG is no gauge, write 40 AWG to 1 AWG, or 1/0 AWG to 4/0 AWG"),
        ("5/0 AWG", "area", "`5/0` AWG is no gauge, write 40 AWG to 1 AWG, or 1/0 AWG to 4/0 AWG"),
    ],
)
def test_refused(raw: object, dimension: str, message: str) -> None:
    with pytest.raises(QuantityError) as raised:
        parse_span(raw, dimension)
    assert str(raised.value) == message


def test_a_number_too_long_to_write() -> None:
    with pytest.raises(QuantityError, match=r"^a unit is missing, write for example 4.8 m$"):
        parse_span(10**5000, "length")


def test_span_middle_and_known() -> None:
    assert Span(2.0, 4.0).mid == 3.0
    assert not Span(2.0, 4.0).known
    assert Span(0.1, 0.1).mid == 0.1
    assert Span(0.1, 0.1).known
