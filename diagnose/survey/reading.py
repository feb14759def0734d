"""Reads an answer as people type it: one value, or several of a question in one line (`75 Ah flooded`).

Each value is known by its unit or its word. What cannot be read with certainty is refused with what would be right;
this file must not know any particular question, and takes nothing that was not typed.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from diagnose.basics.quantities import QuantityError, Span, format_span, parse_span
from diagnose.model.survey import Answer, Survey, SurveyField
from diagnose.survey.told_loads import read_loads

__all__ = ["is_not_known", "read_answer", "shown_value"]

_MOST_TOKENS = 14
_LONGEST = 6  # tokens of one value: `3.5 to 6.5 m a side` is longer than any that is needed
_NOT_KNOWN = {"?", "dont know", "do not know", "not known", "unknown", "no idea", "not sure", "dk"}
_NONE = {"none", "no", "nothing", "no panel", "no fuse"}
_UNITS = {"v": "V", "a": "A", "w": "W", "ah": "Ah", "awg": "AWG", "M": "m", "H": "h"}
_TELLING = ("may mean", "two separators", "out of range", "negative", "of nothing", "runs from", "half a range")
#: quantities that `basics` names; the others (the charge voltage) are named by it too
_NUMBERS = ("quantity", "profile", "hours")


def is_not_known(text: str) -> bool:
    """Return whether a text says that something is not known.

    >>> is_not_known("Don't know"), is_not_known("?"), is_not_known("agm")
    (True, True, False)
    """
    return re.sub(r"['’`]", "", " ".join(text.casefold().split())).rstrip(".") in _NOT_KNOWN


def read_answer(text: str, fields: Sequence[SurveyField], survey: Survey) -> dict[str, Answer]:
    """Return what a line answers, by field; fields it does not speak of are left out.

    Parameters: `text` as typed, not empty; `fields`, those the question asks for; `survey`, for their words.
    Returns: answers; one that is not known has an empty value, to be settled by who knows the layout; nothing was
    typed for it where the whole line says so.
    Raises: QuantityError that says what is wrong and what would be right.
    """
    if is_not_known(text):
        needed = next((field for field in fields if field.needed), None)
        if needed is not None:
            raise QuantityError(f"the {needed.name} cannot be left open", "take what comes nearest")
        return {field.id: Answer("", "not_known") for field in fields}
    if len(fields) == 1:
        return {fields[0].id: _read(text, fields[0], survey, bare=True)}
    tokens = _tokens(text)
    numbers = [field for field in fields if field.kind in _NUMBERS]
    found = _cover(tokens, tuple(fields), survey, len(numbers) == 1) if len(tokens) <= _MOST_TOKENS else None
    if found is None:
        raise _refusal(tokens, fields, survey, len(numbers) == 1)
    first = fields[0]
    if first.id in found and found[first.id].value == "none" and first.none is not None:
        return {key: answer for key, answer in found.items() if not _follows(key, first.id, fields)}
    return found


def shown_value(answer: Answer, field: SurveyField) -> str:
    """Return an answer as a person is shown it, with the base unit beside another that was typed.

    >>> length = SurveyField(id="run", name="run", kind="quantity", quantity="length")
    >>> shown_value(Answer("12 ft", "answered"), length), shown_value(Answer("4.8 m", "answered"), length)
    ('12 ft (3.66 m)', '4.8 m')
    """
    if not isinstance(answer.value, str):
        loads = (f"{load.name} {load.power}" + ("" if load.hours is None else f" {load.hours:g} h")
                 for load in answer.value)  # fmt: skip
        return ", ".join(loads) or "none"
    if field.quantity in (None, "time") or answer.value in ("", "none"):
        return answer.value
    base = format_span(parse_span(answer.value, str(field.quantity)), str(field.quantity), 3)
    unit = base.rpartition(" ")[2]
    return answer.value if answer.value.endswith(unit) else f"{answer.value} ({base})"


def _follows(key: str, first: str, fields: Sequence[SurveyField]) -> bool:
    return any(field.id == key and field.only_with == first for field in fields)


def _tokens(text: str) -> list[str]:
    """Split a line into words and numbers; a comma between digits may be a decimal comma and stays."""
    apart = re.sub(r";|,(?=\s|$)|(?<=[A-Za-z²]),|(?<=mm2),|(?<!\S)and(?!\S)", " ", text)
    return apart.split()


def _cover(
    tokens: Sequence[str], fields: tuple[SurveyField, ...], survey: Survey, bare: bool
) -> dict[str, Answer] | None:
    """Return the answers that use up every word of a line, or None."""
    if not tokens:
        return {}
    for length in range(min(_LONGEST, len(tokens)), 0, -1):
        piece = " ".join(tokens[:length])
        for field in fields:
            answer = _try(piece, field, survey, bare)
            if answer is None:
                continue
            rest = _cover(tokens[length:], tuple(other for other in fields if other is not field), survey, bare)
            if rest is not None:
                return {field.id: answer, **rest}
    return None


def _try(piece: str, field: SurveyField, survey: Survey, bare: bool) -> Answer | None:
    try:
        return _read(piece, field, survey, bare)
    except QuantityError:
        return None


def _read(text: str, field: SurveyField, survey: Survey, bare: bool) -> Answer:
    """Return the answer to one field."""
    if is_not_known(text):
        return Answer("", "not_known", text)
    if field.kind == "loads":
        return Answer(read_loads(text, str(field.within)), "answered", text)
    if field.kind not in _NUMBERS:
        return Answer(_word(text, field, survey), "answered", text)
    if field.none is not None and " ".join(text.casefold().split()) in _NONE:
        return Answer("none", "answered", text)
    return Answer(_quantity(text, field, bare), "answered", text)


def _word(text: str, field: SurveyField, survey: Survey) -> str:
    """Return the word a text stands for: itself, another name of it, or the one that begins with it."""
    words = survey.words(field)
    typed = " ".join(text.casefold().split())
    names = {name.casefold(): word for word, choice in words.items() for name in (*choice.also, word)}
    if typed in names:
        return names[typed]
    found = sorted({word for name, word in names.items() if name.startswith(typed)})
    if len(found) == 1:
        return found[0]
    if found:
        raise QuantityError(f"`{text[:40]}` may mean {' or '.join(found)}", "type more of it")
    raise QuantityError(f"`{text[:40]}` is no {field.name} known here", f"write one of {', '.join(words)}")


def _quantity(text: str, field: SurveyField, bare: bool) -> str:
    """Return a quantity as text that a file may hold, in the unit that was typed where that can be kept."""
    dimension = str(field.quantity)
    plain = re.sub(r"(?<=[0-9])\s*[-–]\s*(?=[0-9])", " to ", " ".join(text.split()))
    if bare and field.unit is not None and re.fullmatch(r"[+-]?[0-9.,]+( to [0-9.,]+)?", plain):
        plain = f"{plain} {field.unit}"
    span = parse_span(plain, dimension)
    low, _, high = str(field.within).partition(" to ")
    bounds = parse_span(f"{low} to {high}", dimension)
    if not bounds.low <= span.low <= span.high <= bounds.high:
        raise QuantityError(f"`{text[:40]}` is out of range", f"a {field.name} lies within {field.within}")
    return _kept(plain, span, dimension)


def _kept(plain: str, span: Span, dimension: str) -> str:
    neat = re.sub(r"(?<=[0-9]),(?=[0-9])", ".", plain)
    neat = re.sub(r"(?<=[0-9])(?=[A-Za-z])", " ", neat)
    neat = " ".join(_UNITS.get(word, _UNITS.get(word.casefold(), word)) for word in neat.split())
    try:
        same = parse_span(neat, dimension) == span and re.fullmatch(r"[A-Za-z0-9./ ]+", neat)
    except QuantityError:
        same = None
    return neat if same else format_span(span, dimension, 6)


def _refusal(tokens: Sequence[str], fields: Sequence[SurveyField], survey: Survey, bare: bool) -> QuantityError:
    """Return what keeps a line from being read: the first piece that answers nothing, or answers something twice."""
    left, start = list(fields), 0
    wanted = " and ".join(field.name for field in fields)
    while start < len(tokens):
        found: tuple[int, Any] | None = None
        for length in range(min(_LONGEST, len(tokens) - start), 0, -1):
            piece = " ".join(tokens[start : start + length])
            field = next((one for one in left if _try(piece, one, survey, bare) is not None), None)
            if field is not None:
                found = length, field
                break
        following = tokens[start + 1 : start + 2]
        number_alone = found is not None and found[0] == 1 and re.fullmatch(r"[0-9.,]+", tokens[start])
        if number_alone and following and all(_try(following[0], one, survey, bare) is None for one in fields):
            found = None  # a number behind which stands no unit that is known here
        if found is None:
            return _piece_refusal(tokens[start:], left, wanted, survey, bare)
        start += found[0]
        left.remove(found[1])
    return QuantityError("this answers one thing twice", f"write {wanted}")


def _piece_refusal(
    tokens: Sequence[str], left: Sequence[SurveyField], wanted: str, survey: Survey, bare: bool
) -> QuantityError:
    numeric = tokens[0][:1].isdigit() or tokens[0][:1] in "+-.,"
    length = 2 if numeric and len(tokens) > 1 and not tokens[1][:1].isdigit() else 1
    piece = " ".join(tokens[:length])
    if not left:
        return QuantityError(f"`{piece[:40]}` is too much here", f"write {wanted} only")
    for field in left if numeric else ():
        try:
            _read(piece, field, survey, bare)
        except QuantityError as error:
            if field.kind in _NUMBERS and any(words in error.what for words in _TELLING):
                return error
    if numeric and length == 1 and re.fullmatch(r"[0-9.,]+", piece):
        return QuantityError(f"the unit behind {piece} is missing", f"write {wanted}, each number with its unit")
    return QuantityError(f"`{piece[:40]}` is no {' and no '.join(field.name for field in left)}", f"write {wanted}")


