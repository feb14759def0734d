"""What a person types at a step of commissioning, as a record; and how far the meter may be off.

Knows the forms of an answer; must not judge it.
"""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from diagnose.basics.quantities import QuantityError, parse_span
from diagnose.basics.readings_text import parse_typed
from diagnose.model.commissioning import CommissioningStep
from diagnose.model.figures import Tables
from diagnose.model.reading import QUANTITIES, Read
from diagnose.model.words import words_for
from diagnose.prediction.instruments import resolution

__all__ = ["Answer", "Torque", "answer_of", "meter_error", "torque_of"]

_AT = re.compile(r"^(.*?)\s+at\s+([-+0-9.,]+\s*[a-zA-Z]*)\s*$")
_WITHIN = re.compile(r"^(.*?)\s+within\s+([-+0-9.,]+\s*[a-zA-Z]*)\s*$")
_TORQUE = re.compile(
    r"^\s*(?:M\s*)?(\d+(?:[.]\d+)?)\s*(?:mm)?[\s,:]+(\d+(?:[.]\d+)?)\s*N\s*[.]?\s*m?(?:[\s,]+drag\s+(\d+(?:[.]\d+)?)\s*(?:N\s*[.]?\s*m?)?)?\s*$",
    re.IGNORECASE,
)
_DIMENSION = {"V": "voltage", "A": "current", "ohm": "resistance", "degC": "temperature"}
YES_NO = ("yes", "no")


class Answer(NamedTuple):
    """An answer: what was read, the current that flowed [A], and the error of the meter, where they were told."""

    text: str
    read: Read
    current: float | None = None
    within: float | None = None


class Torque(NamedTuple):
    """A torque as told: stud [mm], torque set [N.m], and the drag of the nut while it runs on [N.m]."""

    stud: float
    set: float
    drag: float


def answer_of(text: str, step: CommissioningStep) -> Answer:
    """Return an answer as typed.

    Parameters: `text`: a reading as the readings form has it, with ` at 24 A` (the current that flowed) and
    ` within 0.01` (the meter's error) where they are told; `yes` or `no` to a question; a torque.
    Raises: QuantityError with what would be right.
    """
    if step.judge == "torque":
        return _torque_answer(text)
    if step.take is None:
        typed = parse_typed(text.strip(), None, YES_NO)
        return Answer(text, Read(typed.kind, typed.text, word=typed.word))
    unit = QUANTITIES[step.take.quantity][1]
    rest, within, current = text.strip(), None, None
    if (match := _WITHIN.match(rest)) is not None:
        rest, within = match.group(1), _number(match.group(2), unit or "")
    if (match := _AT.match(rest)) is not None:
        rest, current = match.group(1), _number(match.group(2), "A")
    typed = parse_typed(rest, unit, words_for(step.take.quantity, step.take.meter))
    return Answer(text, Read(typed.kind, typed.text, typed.value, typed.high, typed.word), current, within)


def _number(text: str, unit: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        pass
    if unit not in _DIMENSION:
        raise QuantityError(f"`{text}` has no place here", "write the reading alone")
    return float(parse_span(text, _DIMENSION[unit]).mid)


def _torque_answer(text: str) -> Answer:
    typed = text.strip()
    if typed.casefold() in ("skip", "skipped", "cannot"):
        return Answer(text, Read("skipped", typed))
    if torque_of(typed) is None:
        right = "write stud, torque and the drag of the nut, for example 8 mm 12 Nm drag 3 Nm"
        raise QuantityError(f"`{typed[:40]}` is no torque", right)
    return Answer(text, Read("word", typed, word=typed))


def torque_of(text: str) -> Torque | None:
    """Return a torque as typed, or None where it is none.

    >>> torque_of("8 mm 12 Nm drag 3 Nm"), torque_of("M6 5.5 Nm"), torque_of("tight")
    (Torque(stud=8.0, set=12.0, drag=3.0), Torque(stud=6.0, set=5.5, drag=0.0), None)
    """
    match = _TORQUE.match(text)
    if match is None:
        return None
    return Torque(float(match.group(1)), float(match.group(2)), float(match.group(3) or 0.0))


def meter_error(quantity: str, value: float, tables: Tables) -> float:
    """Return how far a reading may be off, 95 %, in the unit of the quantity.

    Parameters: `quantity` of the readings form; `value` read. Source: the instruments of `rules/tables/meters.yaml`.
    """

    def t(name: str) -> float:
        return tables.number("meters", name)

    if quantity in ("volts", "load_test"):
        digit = float(resolution(np.array([value]), t("counts"))[0])
        return 2.0 * t("volts_gain") * abs(value) + t("digits") * digit
    if quantity == "amps":
        return 2.0 * float(np.hypot(t("clamp_zero"), t("clamp_gain") * value))
    if quantity == "ohms":
        return t("ohms_lead_high") + 2.0 * t("ohms_gain") * abs(value)
    return {"celsius": t("thermometer"), "ripple": 0.02 + 0.3 * abs(value), "gravity": 0.014}.get(quantity, 0.0)
