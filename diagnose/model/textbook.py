"""The records of a fixed order of tests, as a printed flowchart has it: steps with thresholds, each of which goes on or
ends.

They hold what the order says; walking through it is the business of `evaluation`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from diagnose.model.fields import Identifier, Line, Record
from diagnose.model.figures import Confidence
from diagnose.model.reading import State

__all__ = ["TextbookOrder", "TextbookStep"]

#: a key of the part, `this` for the part or lug, `point` for the lug's stud, the two ends of a part, a post of the
#: start battery or of the nearest one, or a port of the charger that takes the sun
Place = Annotated[str, Field(pattern=r"^(this|point|end1|end2|[a-z]+|(start|battery|charger)\.[a-z]+)$")]


class TextbookStep(Record):
    """One step, done for each part of a role.

    `each` is a kind of part, or start_battery, house_battery, charger_lug, cable_beyond; `needs` a key it must have,
    `only` keys with the value they must have. The reading is sound from `low` to `high`, or where it is one of `words`.
    If it is not: with `halve: drop` the way between its two points is halved by what it loses, with `halve: live` the
    `way` by whether its points are live against the second one, until one joint or part is left; then the steps of
    `then` are done; `ends` names the fault of this part. Without any of them the order goes on. A step that is not
    `main` is done only where another sends to it.
    """

    id: Identifier
    says: Line
    block: Identifier
    each: Identifier
    needs: Identifier | None = None
    only: dict[Identifier, str] = Field(default_factory=dict)
    quantity: Literal["volts", "amps", "ohms", "ripple", "look", "tug", "works", "lamp"]
    at: tuple[Place, ...]
    when: State
    low: float | None = None
    high: float | None = None
    unit: Line
    words: tuple[Identifier, ...] = ()
    halve: Literal["drop", "live"] | None = None
    way: tuple[Place, Place] | None = None
    then: tuple[Identifier, ...] = ()
    ends: dict[Identifier, Identifier] = Field(default_factory=dict)
    main: bool = True
    source: Line
    confidence: Confidence


class TextbookOrder(Record):
    """The whole order: its steps, and which blocks of them come first for which complaint."""

    title: Line
    story: Line
    first: dict[Identifier, tuple[Identifier, ...]] = Field(default_factory=dict)
    steps: Annotated[tuple[TextbookStep, ...], Field(min_length=1)]
