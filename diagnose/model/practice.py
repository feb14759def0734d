"""A practice case, what a trainee does in it, and how that is scored.

Records only: `practice` makes them, `store` reads the case's file, `present` shows them.
"""

from __future__ import annotations

from typing import Annotated, Any, NamedTuple

from pydantic import Field, StringConstraints

from diagnose.model.cited import Cited
from diagnose.model.fault import FaultAt
from diagnose.model.fields import Identifier, Line, Record
from diagnose.model.reading import Read, Take

__all__ = ["Act", "CaseFault", "PracticeCase", "PracticeRules", "Score", "Skill", "Step", "Weight"]

CaseId = Annotated[str, StringConstraints(pattern=r"^[a-z][a-z0-9-]{2,59}$")]


class CaseFault(Record):
    """A hidden fault and its place; `size` is text with its unit."""

    fault: Identifier
    part: Identifier
    at: Identifier | None = None
    to: Identifier | None = None
    size: Line | None = None


class PracticeCase(Record):
    """One practice case as its file has it; `faults` is empty where nothing is wrong.

    `misread` are readings that lie when they are first taken; `sealed` holds what an examination must not show.
    """

    id: CaseId
    title: Line
    story: Line
    installation: Any
    complaint: Line | None = None
    faults: tuple[CaseFault, ...] = ()
    seed: Annotated[int, Field(ge=0)] = 1
    level: Annotated[int, Field(ge=1, le=5)]
    teaches: tuple[Identifier, ...] = ()
    tools: Annotated[tuple[Identifier, ...], Field(min_length=1)] = ("multimeter", "clamp", "eyes", "hands")
    misread: tuple[dict[str, Any], ...] = ()
    exam: bool = False
    replaces: CaseId | None = None
    sealed: Line | None = None


class Skill(Record):
    """A skill that cases teach: in words, and the habit to take up where it is weak."""

    says: Line
    habit: Line


class Weight(Cited):
    """Points of one line of the score: all of them, and what each mishap takes off."""

    unit: Line
    whole: Annotated[float, Field(ge=0)]
    each: Annotated[float, Field(ge=0)]


class PracticeRules(Record):
    """What practice takes from the rule base: skills by id, the habit after an unsafe act, points by line of score."""

    skills: dict[Identifier, Skill]
    safety: Line
    points: dict[Identifier, Weight]


class Act(NamedTuple):
    """One act of a trainee.

    `kind` is measure, state, jumper, swap, remove, zero, repair, diagnosis, suspects or stop; `text` as typed;
    `confidence` 0 to 1; `named` are faults named by it, none meaning that nothing is wrong.
    """

    kind: str
    text: str
    take: Take | None = None
    named: tuple[FaultAt, ...] = ()
    state: str = ""
    pair: tuple[str, str] | None = None
    part: str = ""
    confidence: float | None = None
    danger: str = ""


class Step(NamedTuple):
    """What came of an act: what was read, the minutes [min] it took and those since the start, what is to be said.

    `cautions`, by id, come before the act; `lessons` say what was wrong with it; `flags` are of invalid, unsafe, lied.
    """

    number: int
    act: Act
    read: Read | None
    minutes: float
    clock: float
    cautions: tuple[str, ...] = ()
    lessons: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()


class Score(NamedTuple):
    """The score of one case: gates first, then lines of their own; `notes` are number of a step and what was wrong."""

    passed: bool
    found: bool
    proved: bool
    unsafe: int
    minutes: float
    best_minutes: float
    tests: int
    redundant: int
    invalid: int
    parts_swapped_in_vain: int
    wrong_inferences: int
    points: int
    convicted: bool = True
    swapped_unproved: int = 0
    textbook_minutes: float | None = None
    brier: float | None = None
    gates: tuple[str, ...] = ()
    notes: tuple[tuple[int, str, str], ...] = ()
