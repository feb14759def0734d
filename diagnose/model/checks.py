"""The records of the design check: its rules as data, what is assumed, and the lines it answers with.

They hold what is asked, the limits by reference and the verdicts; judging is the business of `design_check`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal, NamedTuple

from pydantic import Field

from diagnose.model.fields import Identifier, Line, Record
from diagnose.model.figures import Figure

__all__ = ["Assumptions", "CheckExample", "CheckLine", "CheckRule", "FigureReference", "Verdict"]

Verdict = Literal["PASS", "LOOK", "FAIL"]


class CheckLine(NamedTuple):
    """One answer of the design check.

    `subject` is the part judged, `parts` all parts that the answer speaks of; `value` was found, `limit` is what it is
    held against, both in `unit`, None where there is no number; `says` is the finding, `why` what follows from it.
    """

    rule: str
    verdict: Verdict
    subject: str
    value: float | None
    limit: float | None
    unit: str
    says: str
    why: str
    source: str
    parts: tuple[str, ...] = ()


class Assumptions(NamedTuple):
    """What no description tells: hours a day and the coldest day.

    `load_hours` by load, `load_default` [h] for the others (None: by size, see the rule of the day's energy);
    `driving` [h a day]; `sun` [h a day of full sun]; `coldest` [degC] with sun on a cold panel.
    """

    load_hours: tuple[tuple[str, float], ...] = ()
    load_default: float | None = None
    driving: float = 2.0
    sun: float = 4.0
    coldest: float = -10.0


class FigureReference(Record):
    """A limit that stands in `rules/tables`."""

    table: Identifier
    figure: Identifier


class CheckExample(Record):
    """An installation beside a rule: the verdict that its line about `subject` must have."""

    says: Line
    installation: Any
    subject: Identifier
    verdict: Verdict


class CheckRule(Record):
    """One rule of the design check; the first of `limits` is the one its lines cite."""

    id: Identifier
    family: Identifier
    asks: Line
    why: Line
    limits: Annotated[dict[Identifier, FigureReference | Figure], Field(min_length=1)]
    examples: Annotated[tuple[CheckExample, ...], Field(min_length=2)]
