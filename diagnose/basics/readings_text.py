"""What a person types, or a file gives, as the result of a reading: `13.8`, `138 mV`, `OL`, `<0.1`, `unsteady`, `good`.

Over range, not taken, and zero stay three different things. This file must not know which words a quantity may have:
they are handed in; it must not judge whether a value is likely.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from decimal import Decimal
from typing import NamedTuple

from diagnose.basics.errors import did_you_mean
from diagnose.basics.quantities import DIMENSIONS, QuantityError, decimal_of, split_number
from diagnose.basics.units import Dimension, to_base

__all__ = ["Typed", "parse_typed"]

_LONGEST = 100
_OVER_RANGE = re.compile(r"[.]?[0o][.]?l[.]?|over[ _]range|overload|over limit")
_SKIPPED = {"skipped", "skip", "cannot", "cannot tell", "not measured", "not taken"}
_BELOW = re.compile(r"(?:<|below\b|less than\b|under\b)\s*(.+)", re.DOTALL | re.IGNORECASE)
_GRAVITY = (1.10, 1.30)  # what the scale of a hydrometer shows


class Typed(NamedTuple):
    """A result as typed: `kind` is one of number, below, word, over_range, unsteady, skipped.

    `value` and `high` are in `unit`, the unit of the question (`high` only for the far end of an unsteady reading);
    `assumed` tells that no unit was typed and the question's was taken, which is to be echoed.
    """

    kind: str
    text: str
    value: float | None = None
    high: float | None = None
    unit: str | None = None
    word: str | None = None
    assumed: bool = False


def parse_typed(raw: object, unit: str | None, words: Collection[str] = ()) -> Typed:
    """Read one result.

    Parameters: `raw`, what was typed or stands in a file; `unit`, the unit asked for (V, A, ohm, degC, empty text for
    a specific gravity), or None where only a word will do; `words`, the words this question takes.
    Returns: the result, its numbers in `unit`.
    Raises: QuantityError with what would be right.

    >>> parse_typed("138 mV", "V").value, parse_typed("13,8", "V").assumed
    (0.138, True)
    >>> [parse_typed(text, "ohm").kind for text in ("OL", "skipped", "0", "<0.1")]
    ['over_range', 'skipped', 'number', 'below']
    >>> parse_typed("unsteady 11.8 to 13.1 V", "V")[:4]
    ('unsteady', 'unsteady 11.8 to 13.1 V', 11.8, 13.1)
    >>> parse_typed("blwon", None, ["good", "blown"])
    Traceback (most recent call last):
    ...
    diagnose.basics.units.QuantityError: `blwon` is no answer here, did you mean blown?
    """
    text = _text_of(raw, unit, words)
    lowered = text.casefold()
    if lowered in words:
        return Typed("word", text, word=lowered)
    if lowered in _SKIPPED:
        return Typed("skipped", text)
    if unit is None:
        raise _no_answer(text, unit, words)
    if _OVER_RANGE.fullmatch(lowered):
        return Typed("over_range", text, unit=unit)
    if lowered.split(None, 1)[0] == "unsteady":
        return _unsteady(text, unit, words)
    if (below := _BELOW.fullmatch(text)) is not None:
        value, assumed = _number(below.group(1), unit, words)
        return Typed("below", text, value, unit=unit, assumed=assumed)
    value, assumed = _number(text, unit, words)
    return Typed("number", text, value, unit=unit, assumed=assumed)


def _text_of(raw: object, unit: str | None, words: Collection[str]) -> str:
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise _no_answer(str(raw).lower() if isinstance(raw, bool) else "this", unit, words)
    if isinstance(raw, int | float):
        return "1e12" if isinstance(raw, int) and abs(raw) > 1e12 else str(raw)  # an int may be too long to write
    text = raw.strip()
    if not text or len(text) > _LONGEST:
        raise _no_answer(text, unit, words)
    return text


def _unsteady(text: str, unit: str, words: Collection[str]) -> Typed:
    """Read `unsteady`, with or without the two ends between which the reading moves."""
    ends = text[len("unsteady"):].strip()
    if not ends:
        return Typed("unsteady", text, unit=unit)
    first, to, last = (piece.strip() for piece in _halves(ends))
    if not (first and to and last):
        raise QuantityError(f"`{text}` has not two ends", _unsteady_right(unit))
    high, high_assumed = _number(last, unit, words)
    typed_unit = "" if _is_bare(last) else split_number(last)[1]
    low, _ = _number(f"{first} {typed_unit}" if _is_bare(first) else first, unit, words)
    if low > high:
        raise QuantityError(f"`{text}` runs from high to low", "write the lower value first")
    return Typed("unsteady", text, low, high, unit, assumed=high_assumed)


def _number(text: str, unit: str, words: Collection[str]) -> tuple[float, bool]:
    """Return the value [unit] and whether the unit was assumed."""
    if re.search(r"[0-9]\s*\S*\s+to\s+", text):
        raise QuantityError(f"`{text}` is a range, not a reading", f"write one value, or {_unsteady_right(unit)[6:]}")
    try:
        number, typed = split_number(text)
    except QuantityError:
        raise _no_answer(text, unit, words) from None
    if not unit:
        return _gravity(number, typed, text), False
    dimension = _dimension_of(unit)
    value = to_base(decimal_of(number, typed or unit), typed or unit, dimension)
    low = -1.0 if dimension.name == "resistance" else dimension.low  # a meter shows -0.1 after the leads were zeroed
    if not low <= value <= dimension.high:
        raise QuantityError(f"`{text}` is out of range", f"a reading lies within {low:g} to {dimension.high:g} {unit}")
    return value, not typed


def _gravity(number: str, typed: str, text: str) -> float:
    """Return a specific gravity: `1.265`, `1,265` and `1265` can mean only one thing."""
    right = f"write a specific gravity of {_GRAVITY[0]:.2f} to {_GRAVITY[1]:.2f}, for example 1.265"
    if typed or not re.fullmatch(r"[0-9]{1,4}(?:[.,][0-9]{1,6})?", number):
        raise QuantityError(f"`{text}` is no specific gravity", right)
    value = float(Decimal(number.replace(",", ".")))
    value = value / 1000 if value > 1000 else value
    if not _GRAVITY[0] <= value <= _GRAVITY[1]:
        raise QuantityError(f"`{text}` is off the scale of a hydrometer", right)
    return value


def _dimension_of(unit: str) -> Dimension:
    return next(dimension for dimension in DIMENSIONS.values() if dimension.base_unit == unit)


def _halves(text: str) -> tuple[str, str, str]:
    parts = re.split(r"\s+(to)\s+", text, maxsplit=1)
    return (text, "", "") if len(parts) == 1 else (parts[0], parts[1], parts[2])


def _is_bare(text: str) -> bool:
    return re.fullmatch(r"[0-9.,+\-\s\u2212]+(?:[eE][-+]?[0-9]{1,3})?", text) is not None


def _unsteady_right(unit: str) -> str:
    return "write unsteady 1.20 to 1.25" if not unit else f"write unsteady 11.8 to 13.1 {unit}"


def _no_answer(text: str, unit: str | None, words: Collection[str]) -> QuantityError:
    """Return the refusal of what is neither a number nor a word of this question."""
    shown = f"`{text}`" if len(text) <= 40 else f"`{text[:40]}...`"
    what = f"{shown} is no answer here" if text else "the answer is empty"
    if (close := did_you_mean(text.casefold(), words)) is not None:
        return QuantityError(what, f"did you mean {close}?")
    offers = [] if unit is None else [f"a number in {unit}" if unit else "a number such as 1.265", "OL", "unsteady"]
    return QuantityError(what, f"write {', '.join([*offers, *words])} or skipped")
