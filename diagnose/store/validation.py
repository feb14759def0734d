"""Runs a record over data from a file and says every defect with its place and with what would be right.

Translates the validator's errors into the words of the forms; must not know any particular form. What the right value
would be is read from the record's own JSON schema, so a new key needs nothing here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from functools import lru_cache
from typing import Any, Protocol, TypeVar

from pydantic import BaseModel, ValidationError

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.basics.quantities import QuantityError
from diagnose.store.schema_walk import branch_names, known_keys, wanted
from diagnose.store.yaml_text import Document, Loc

__all__ = ["Places", "problems_of", "validated"]

M = TypeVar("M", bound=BaseModel)
Said = tuple[str, str, bool]  # what is wrong, what would be right, whether the key is to blame


class Places(Protocol):
    """Whatever can place a problem: one document, or two of which one overrides the other."""

    def problem(self, loc: Loc, what: str, right: str, *, key: bool = False) -> Problem: ...


def validated(
    model: type[M], document: Document, links: Callable[[M, Document], Collection[Problem]] = lambda *_: ()
) -> M:
    """Return the record of a document.

    Parameters: `links` returns what is wrong between the parts of a record that is well by itself.
    Raises: BadInput with every problem of the reading and of the record, or of its links.
    """
    try:
        record = model.model_validate(document.data)
    except ValidationError as error:
        raise BadInput([*document.problems, *problems_of(error, model, document)]) from None
    if problems := document.problems or links(record, document):
        raise BadInput(problems)
    return record


def problems_of(
    error: ValidationError, model: type[BaseModel], places: Places, leave_out: Collection[str] = ()
) -> list[Problem]:
    """Return the validator's errors as problems with place and advice; `leave_out` names types of error not wanted."""
    details: list[Any] = [each for each in error.errors(include_url=False) if each["type"] not in leave_out]
    return [_problem(detail, model, places) for detail in details if not _follows(detail)]


def _follows(detail: Any) -> bool:
    """Whether a list is called too short only because its items were refused, which is said already."""
    return detail["type"] == "too_short" and bool(len(detail["input"]) >= detail["ctx"]["min_length"])


def _problem(detail: Any, model: type[BaseModel], places: Places) -> Problem:
    loc: Loc = tuple(step for step in detail["loc"] if step != "[key]")
    schema = _schema(model)
    said = _SAYS.get(detail["type"], _other)(detail, loc, schema)
    what, right, key = said
    if detail["type"] == "union_tag_invalid":
        loc = (*loc, "kind")
    elif detail["type"] == "missing":
        loc = loc[:-1]  # the mapping without the key; a layout's mapping of that name may have it
    return places.problem(loc, what, right, key=key or "[key]" in detail["loc"])


@lru_cache(maxsize=64)
def _schema(model: type[BaseModel]) -> dict[str, Any]:
    return model.model_json_schema()


def _shown(value: object) -> str:
    """Return an input as a person wrote it, short."""
    if isinstance(value, bool):
        return str(value).lower()
    if value is None:
        return "nothing"
    if isinstance(value, dict | list | tuple):
        return "a mapping" if isinstance(value, dict) else "a list"
    text = str(value)
    return f"`{text}`" if len(text) <= 40 else f"`{text[:40]}...`"


def _name(loc: Loc) -> str:
    """Return the last key of a path, which is what a person calls the value."""
    return next((step for step in reversed(loc) if isinstance(step, str)), "")


def _unknown_key(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    key, keys = str(loc[-1]), known_keys(schema, loc[:-1])
    if detail["input"] is None and (key[:1].isdigit() or " " in key):
        right = "in braces a comma separates: write a decimal point, or the value in quotes"
        return (f"`{key}` has lost its beginning", right, True)
    right = meant(key, keys, f"known here are {', '.join(keys)}")
    return (f"unknown key `{key}`", right, True)


def _missing(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    if isinstance(loc[-1], int):
        return (f"`{_name(loc)}` is too short", f"write {wanted(schema, loc[:-1])}", False)
    return (f"`{loc[-1]}` is missing", f"write `{loc[-1]}:` with {wanted(schema, loc)}", True)


def _too_long(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    return (f"`{_name(loc)}` is too long", f"write {wanted(schema, loc)}", False)


def _wrong_word(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    words = _quoted_words(detail, "expected")
    right = meant(str(detail["input"]), words, f"write one of {', '.join(words)}")
    return (f"{_shown(detail['input'])} is no {_name(loc)}", right, False)


def _unknown_kind(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    kinds, tag = _quoted_words(detail, "expected_tags"), str(detail["ctx"]["tag"])
    right = meant(tag, kinds, f"write one of {', '.join(kinds)}")
    return (f"unknown kind {_shown(tag)}", right, False)


def _no_kind(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    return ("`kind` is missing", f"write `kind:` with one of {', '.join(branch_names(schema, loc))}", True)


def _quoted_words(detail: Any, key: str) -> list[str]:
    """Return the words the validator names, in the order of the record."""
    return re.findall(r"'([^']*)'", detail["ctx"][key])


def _value(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    raised = detail.get("ctx", {}).get("error")
    if isinstance(raised, QuantityError):
        return (raised.what, raised.right, False)
    what, _, right = str(raised or detail["msg"]).partition(", ")
    return (what, right or f"write {wanted(schema, loc)}", False)


def _other(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    name = _name(loc)
    found = f"no {name}" if name else "not the form of this file"
    return (f"{_shown(detail['input'])} is {found}", f"write {wanted(schema, loc)}", False)


def _out_of_range(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    bounds = " and ".join(f"{_BOUNDS[key]} {bound:g}" for key, bound in detail["ctx"].items() if key in _BOUNDS)
    return (f"{_shown(detail['input'])} is out of range", f"`{_name(loc)}` must be {bounds}", False)


def _empty(detail: Any, loc: Loc, schema: dict[str, Any]) -> Said:
    return (f"`{_name(loc)}` is empty", f"write {wanted(schema, loc)}", False)


_BOUNDS = {"gt": "above", "ge": "at least", "lt": "below", "le": "at most"}
_SAYS: dict[str, Callable[[Any, Loc, dict[str, Any]], Said]] = {
    "extra_forbidden": _unknown_key,
    "missing": _missing,
    "too_long": _too_long,
    "too_short": _empty,
    "string_too_long": _too_long,
    "string_too_short": _empty,
    "literal_error": _wrong_word,
    "enum": _wrong_word,
    "union_tag_invalid": _unknown_kind,
    "union_tag_not_found": _no_kind,
    "value_error": _value,
    **dict.fromkeys(("greater_than", "greater_than_equal", "less_than", "less_than_equal"), _out_of_range),
}

