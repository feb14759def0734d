"""What several kinds of rule have in common: a cited number, what a repair takes, an example beside a rule.

This file must not know any particular kind of rule.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from diagnose.model.fields import Line, Record

__all__ = ["Chance", "Cited", "Confidence", "Example", "Positive", "Repair"]

Chance = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0)]
Confidence = Literal["read", "read_reprint", "memory", "computed", "contract", "judgement", "common_practice"]


class Cited(Record):
    """Where a number comes from: an id of `rules/sources`, or the words `no published figure: judgement`."""

    source: Line
    confidence: Confidence


class Repair(Cited):
    """What the repair takes."""

    minutes: Positive
    parts: Literal["none", "small", "medium", "large"]


class Example(Record):
    """Readings beside a rule: those that must rank the fault first, or a look-alike that must not."""

    says: Line
    installation: Any
    complaint: Line | None = None
    readings: tuple[dict[str, Any], ...]
    place: dict[str, Any] | None = None
    ranks_first: bool
