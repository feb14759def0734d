"""The rule base's figures: numbers and curves, each beside its unit, source, confidence and the day it was checked.

These records only carry what `rules/tables` says. They must not compute with it and hold no defaults: a figure that is
asked for and is not there is an error that names it.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, WithJsonSchema, model_validator

from diagnose.basics.errors import did_you_mean
from diagnose.basics.quantities import QuantityError
from diagnose.model.fields import Identifier, Line, Record

__all__ = ["NO_SOURCE", "Confidence", "Figure", "FigureError", "Source", "Tables"]

NO_SOURCE = "no published figure: judgement"

#: how far a number can be trusted; `read_reprint` = seen only where somebody else quotes it
Confidence = Literal["read", "read_reprint", "memory", "computed", "contract", "judgement", "common_practice"]


class FigureError(LookupError):
    """A figure that the tables do not hold, or not in the form that was asked for."""


def _number(raw: Any) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not math.isfinite(raw):
        raise QuantityError(f"`{str(raw)[:40]}` is no number", "write a plain number, its unit goes into `unit`")
    return float(raw)


def _numbers(raw: Any) -> tuple[float, ...]:
    if not isinstance(raw, list | tuple) or len(raw) < 2:
        raise QuantityError("a list of at least two numbers is wanted here", "write for example [0, 50, 100]")
    return tuple(_number(each) for each in raw)


def _number_or_numbers(raw: Any) -> float | tuple[float, ...]:
    return _numbers(raw) if isinstance(raw, list | tuple) else _number(raw)


_LIST = {"type": "array", "items": {"type": "number"}, "minItems": 2}
_Value = Annotated[
    float | tuple[float, ...],
    PlainValidator(_number_or_numbers),
    WithJsonSchema({"anyOf": [{"type": "number"}, _LIST], "description": "a number, or a list of numbers"}),
]
_Over = Annotated[tuple[float, ...], PlainValidator(_numbers), WithJsonSchema(_LIST)]


class Source(Record):
    """Where figures come from.

    `kind` tells its weight: an official standard, regulation or manual (`standard`, `regulation`, `manual`), a book
    (`handbook`), open data or an open program (`open_data`), what the trade does (`common_practice`), what this project
    thinks (`judgement`).
    """

    title: Line
    edition: Line
    kind: Literal["standard", "regulation", "manual", "handbook", "open_data", "common_practice", "judgement"]
    note: Line | None = None


class Figure(Record):
    """One number, a list of numbers, or a curve: `value` over `over`, which rises.

    `source` is an id of `rules/sources.yaml` or the words of `NO_SOURCE`.

    >>> Figure(value=0.3, unit="ohm", source=NO_SOURCE, confidence="judgement", checked="2026-11-25").value
    0.3
    """

    value: _Value
    unit: Line
    over: _Over | None = None
    over_unit: Line | None = None
    source: Line
    confidence: Confidence
    checked: Annotated[str, Field(pattern=r"^20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$")]
    note: Line | None = None

    @model_validator(mode="after")
    def _agree(self) -> Figure:
        if (self.over is None) != (self.over_unit is None):
            raise QuantityError("a curve needs `over` and `over_unit`", "write both, or neither")
        if self.over is not None:
            if not isinstance(self.value, tuple) or len(self.value) != len(self.over):
                raise QuantityError("`value` and `over` differ in length", "give a value for each number of `over`")
            if any(left >= right for left, right in pairwise(self.over)):
                raise QuantityError("`over` does not rise", "sort the curve by `over`, each number once")
        if (self.source == NO_SOURCE) != (self.confidence == "judgement"):
            raise QuantityError("`source` and `confidence` disagree", f"judgement goes with `{NO_SOURCE}`")
        return self


class Tables(Record):
    """All figures, by table and name; `sources` by id."""

    figures: dict[Identifier, dict[Identifier, Figure]]
    sources: dict[Identifier, Source]

    def figure(self, table: str, name: str) -> Figure:
        """Return a figure with all that is known of it.

        Raises: FigureError, which names the table and the figure.
        """
        if table not in self.figures:
            raise FigureError(f"no table `{table}` in rules/tables{_close(table, self.figures)}")
        if name not in self.figures[table]:
            raise FigureError(f"no figure `{name}` in rules/tables/{table}.yaml{_close(name, self.figures[table])}")
        return self.figures[table][name]

    def number(self, table: str, name: str) -> float:
        """Return a single number, in the figure's own unit.

        Raises: FigureError where there is none, or where it is a list or curve.
        """
        value = self.figure(table, name).value
        if isinstance(value, tuple):
            raise FigureError(f"`{name}` in rules/tables/{table}.yaml is a list of numbers, a single one is wanted")
        return value

    def values(self, table: str, name: str) -> tuple[float, ...]:
        """Return the numbers of a list or curve, in the figure's own unit.

        Raises: FigureError where there is none, or where it is a single number.
        """
        value = self.figure(table, name).value
        if not isinstance(value, tuple):
            raise FigureError(f"`{name}` in rules/tables/{table}.yaml is a single number, a list is wanted")
        return value

    def curve(self, table: str, name: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Return a curve as what it runs over, rising, and its values, in the figure's own units.

        Raises: FigureError where there is none, or where it is no curve.
        """
        over = self.figure(table, name).over
        if over is None:
            raise FigureError(f"`{name}` in rules/tables/{table}.yaml has no `over`, a curve is wanted")
        return over, self.values(table, name)


def _close(name: str, known: dict[str, Any]) -> str:
    close = did_you_mean(name, known)
    return f", did you mean `{close}`?" if close else ""
