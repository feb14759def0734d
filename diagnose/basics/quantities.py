"""Quantities as people type them: `13.8 V`, `13,8V`, `3 to 6 m`, `6 AWG`, `55 °C`.

Text becomes a `Span` in the base unit of its dimension, and back. What cannot be read with certainty is refused with
what would be right; this file must not guess, and must not know which part a quantity belongs to.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from diagnose.basics.units import DIMENSIONS, Dimension, QuantityError, awg_area, to_base

__all__ = ["DIMENSIONS", "QuantityError", "Span", "decimal_of", "format_span", "parse_span", "split_number"]

_LONGEST = 100  # characters; nobody types a longer quantity
_NUMBER = r"[+-]?(?:[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_ONE = re.compile(rf"({_NUMBER})\s*(.*)", re.DOTALL)
_GAUGE = re.compile(r"([0-9]{1,2}|[1-4]/0)")
_AWG = re.compile(r"(?:(?P<before>\S+)\s*AWG|AWG\s*(?P<after>\S+))", re.IGNORECASE)


class Span(NamedTuple):
    """A quantity in its base unit: known exactly, or anywhere from `low` to `high`.

    >>> Span(3.0, 6.0).mid, Span(3.0, 6.0).known, Span(5.0, 5.0).known
    (4.5, False, True)
    """

    low: float
    high: float

    @property
    def mid(self) -> float:
        """The middle of the span [base unit]."""
        return self.low if self.low == self.high else self.low + (self.high - self.low) / 2

    @property
    def known(self) -> bool:
        """Whether the quantity is one value."""
        return self.low == self.high


def parse_span(raw: object, dimension: str) -> Span:
    """Read a quantity of one dimension.

    Parameters: `raw`, what a file or a person gave; `dimension`, a name in `DIMENSIONS`.
    Returns: the span [base unit of the dimension].
    Raises: QuantityError for a missing, wrong or ambiguous unit, for what is no number, for a range that runs backwards
    and for a value outside the range of the dimension (a length of nothing, for example).

    >>> parse_span("3 to 6 m", "length")
    Span(low=3.0, high=6.0)
    >>> parse_span("13,8V", "voltage").mid
    13.8
    >>> round(parse_span("2/0 AWG", "area").mid, 1)
    67.4
    >>> parse_span(4.8, "length")
    Traceback (most recent call last):
    ...
    diagnose.basics.units.QuantityError: a unit is missing, write for example 4.8 m
    >>> parse_span("1,234 V", "voltage")
    Traceback (most recent call last):
    ...
    diagnose.basics.units.QuantityError: 1,234 may mean 1.234 or 1234, write 1.234 V or 1234 V
    """
    wanted = DIMENSIONS[dimension]
    text = _text_of(raw, wanted)
    first, to, last = (piece.strip() for piece in _halves(text))
    if not to:
        value = _value(first, wanted)
        return Span(value, value)
    if not first or not last:
        raise QuantityError(f"{_quoted(text)} is half a range", f"write for example 3 to 6 {wanted.base_unit}")
    if not _has_unit(last):
        raise _unit_missing(text, wanted)
    unit = "AWG" if _is_awg(last) else split_number(last)[1]
    low = _value(first if _has_unit(first) else f"{first} {unit}", wanted)
    high = _value(last, wanted)
    if low > high:
        if not _is_awg(last):  # a higher gauge is a smaller area, so either order is meant
            raise QuantityError(f"{_quoted(text)} runs from high to low", "write the lower value first")
        low, high = high, low
    return Span(low, high)


def format_span(span: Span, dimension: str, digits: int | None = None) -> str:
    """Write a span with its base unit, so that `parse_span` reads it back.

    Parameters: `span` [base unit]; `dimension`; `digits`, significant digits, or None to write it exactly.

    >>> format_span(Span(3.0, 6.5), "length"), format_span(Span(13.3018, 13.3018), "area", 3)
    ('3 to 6.5 m', '13.3 mm2')
    """
    unit = DIMENSIONS[dimension].base_unit
    low, high = _number_text(span.low, digits), _number_text(span.high, digits)
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def split_number(text: str) -> tuple[str, str]:
    """Split `13.8 V` into number and unit, both as typed; the unit is empty where none was given.

    Raises: QuantityError where the text does not begin with a number.

    >>> split_number("138mV"), split_number("-0,3")
    (('138', 'mV'), ('-0,3', ''))
    """
    found = _ONE.fullmatch(text.replace("\u2212", "-").strip())
    if found is None or len(text) > _LONGEST:
        raise QuantityError(f"{_quoted(text)} is no number", "write a number with its unit")
    return found.group(1), re.sub(r"\s+", "", found.group(2))


def decimal_of(number: str, unit: str) -> Decimal:
    """Read a number as typed, with a decimal point or a decimal comma.

    Raises: QuantityError for `1,234`, which may be either, and for several separators.

    >>> decimal_of("13,8", "V"), decimal_of("0,125", "V")
    (Decimal('13.8'), Decimal('0.125'))
    """
    tail = f" {unit}" if unit else ""
    if number.count(",") + number.count(".") > 1:
        right = "write one decimal point and nothing between thousands"
        raise QuantityError(f"{_quoted(number)} has two separators", right)
    if re.fullmatch(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}", number):
        point, plain = number.replace(",", "."), number.replace(",", "")
        raise QuantityError(f"{number} may mean {point} or {plain}", f"write {point}{tail} or {plain}{tail}")
    return Decimal(number.replace(",", "."))


def _text_of(raw: object, wanted: Dimension) -> str:
    """Return the raw quantity as text, or refuse what is no text."""
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        shown = str(raw).lower() if isinstance(raw, bool) else "this"
        raise QuantityError(f"{shown} is no {wanted.name}", f"write for example {wanted.example}")
    if isinstance(raw, int | float):
        raise _unit_missing(str(raw) if abs(raw) < 1e9 else "", wanted)
    if not raw.strip():
        raise QuantityError(f"the {wanted.name} is empty", f"write for example {wanted.example}")
    if len(raw) > _LONGEST:
        raise QuantityError(f"{_quoted(raw)} is no {wanted.name}", f"write for example {wanted.example}")
    return raw.strip()


def _unit_missing(number: str, wanted: Dimension) -> QuantityError:
    usable = re.fullmatch(rf"{_NUMBER}(\s*to\s*{_NUMBER})?", number) is not None
    example = f"{number} {wanted.base_unit}" if usable else wanted.example
    return QuantityError("a unit is missing", f"write for example {example}")


def _halves(text: str) -> tuple[str, str, str]:
    parts = re.split(r"(\bto\b)", text, maxsplit=1)
    return (text, "", "") if len(parts) == 1 else (parts[0], parts[1], parts[2])


def _has_unit(text: str) -> bool:
    return re.fullmatch(rf"{_NUMBER}|[0-9]/0", text.replace("\u2212", "-")) is None


def _is_awg(text: str) -> bool:
    return _AWG.fullmatch(text) is not None


def _value(text: str, wanted: Dimension) -> float:
    """Return one value [base unit] within the range of its dimension."""
    if wanted.name == "area" and (gauge := _AWG.fullmatch(text)) is not None:
        return awg_area(_gauge_number(gauge.group("before") or gauge.group("after")))
    try:
        number, unit = split_number(text)
    except QuantityError:
        raise QuantityError(f"{_quoted(text)} is no {wanted.name}", f"write for example {wanted.example}") from None
    if not unit:
        raise _unit_missing(number, wanted)
    value = to_base(decimal_of(number, unit), unit, wanted)
    if value == 0 and wanted.low > 0:
        raise QuantityError(f"a {wanted.name} of nothing", f"it must be above zero, for example {wanted.example}")
    if value < 0 <= wanted.low:
        raise QuantityError(f"{_quoted(text)} is negative", f"it must be above zero, for example {wanted.example}")
    if not wanted.low <= value <= wanted.high:
        bounds = f"{_number_text(wanted.low)} to {_number_text(wanted.high)} {wanted.base_unit}"
        raise QuantityError(f"{_quoted(text)} is out of range", f"a {wanted.name} lies within {bounds}")
    return value


def _gauge_number(text: str) -> int:
    """Return the gauge number; `2/0` and `00` are -1."""
    if re.fullmatch(r"0{1,4}", text):
        return 1 - len(text)
    if re.fullmatch(r"[1-4]/0", text):
        return 1 - int(text[0])
    if _GAUGE.fullmatch(text) and int(text) <= 40:
        return int(text)
    raise QuantityError(f"{_quoted(text)} AWG is no gauge", "write 40 AWG to 1 AWG, or 1/0 AWG to 4/0 AWG")


def _number_text(value: float, digits: int | None = None) -> str:
    text = repr(float(value)) if digits is None else f"{value:.{digits}g}"
    return text.removesuffix(".0")


def _quoted(text: str) -> str:
    return f"`{text}`" if len(text) <= 40 else f"`{text[:40]}...`"
