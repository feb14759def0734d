"""The rules of commissioning as `rules/commissioning` writes them: what to ask of which parts, and what it must be.

They hold words, templates and limits; which parts a rule applies to and what a reading means is the business of
`commissioning`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from diagnose.model.checks import FigureReference
from diagnose.model.cited import Confidence
from diagnose.model.fields import Identifier, Line, Record
from diagnose.model.figures import Figure

__all__ = ["EACH", "JUDGES", "StepRule", "TakeTemplate"]

Each = Literal[
    "installation", "zone", "part", "charger", "fed_charger", "sensed_charger", "profile_lead", "source_fuse",
    "termination", "charger_stud", "return", "charge_part", "charge_joint", "charge_fuse", "start_battery",
    "charged_battery", "load",
]
Judge = Literal["word", "value", "drop", "output", "absorption", "efficiency", "balance", "over_cable", "torque"]
EACH: tuple[str, ...] = Each.__args__  # type: ignore[attr-defined]
JUDGES: tuple[str, ...] = Judge.__args__  # type: ignore[attr-defined]


class TakeTemplate(Record):
    """A test with the names of places left open, as in `{pos}`."""

    quantity: Identifier
    where: Annotated[tuple[Line, ...], Field(min_length=1, max_length=2)]
    when: Line


class StepLimits(Record):
    """The bounds that are published: figures of `rules/tables`, or figures of the rule's own."""

    low: FigureReference | Figure | None = None
    high: FigureReference | Figure | None = None


class StepRule(Record):
    """One kind of step.

    `each` names what it is asked of, `kinds` and `only` narrow the parts; `take` is a test, or else `asks` a question;
    `wants` is the word of a good answer; `judge` tells how the answer is judged; `needs` are rules whose answers it
    needs beside its own; without `limits` the published limit of the test applies, where there is one. `group`: steps
    of one group follow each other and may be answered together. `recheck` says what to look at again some weeks later.
    """

    id: Identifier
    order: Annotated[int, Field(ge=1, le=999)]
    phase: Line
    title: Line
    each: Each
    kinds: tuple[Identifier, ...] = ()
    only: dict[Identifier, Line] = Field(default_factory=dict)
    take: TakeTemplate | None = None
    asks: Line | None = None
    wants: Line | None = None
    judge: Judge
    needs: tuple[Identifier, ...] = ()
    limits: StepLimits | None = None
    least_share: FigureReference | Figure | None = None
    how: Line
    why: Line
    makes_valid: Line | None = None
    cautions: tuple[Identifier, ...] = ()
    group: bool = False
    recheck: Line | None = None
    source: Line
    confidence: Confidence
