"""The rule base's records: faults, tests, complaints, cautions; causes and operating states stand in `causes`.

They hold what physics cannot compute: what faults exist and how often, what people see and report, what a test costs
and demands, what to say, how to repair and to prove it. Every number stands beside its unit, source and confidence.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from diagnose.model.causes import CauseRule, OperatingState
from diagnose.model.cited import Chance, Cited, Confidence, Example, Positive, Repair
from diagnose.model.fields import Identifier, Line, Record

__all__ = ["Caution", "ComplaintRule", "Example", "FaultRule", "RuleBase", "SizeRange", "Symptom", "TestRule"]

Share = Annotated[float, Field(ge=-1, le=1)]


class Place(Record):
    """Where a fault can sit: at the parts of some kinds, in a termination of them or in the part itself."""

    kinds: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    where: Literal["termination", "part"]
    weight: Positive = 1.0


class SizeRange(Cited):
    """How large the fault may be; `spread` tells whether the size or its logarithm is spread evenly."""

    unit: Line
    low: float
    high: float
    spread: Literal["even", "log_even"]


class Frequency(Cited):
    """How often the fault occurs at one place, relative to the other faults."""

    weight: Positive
    unit: Literal["relative"] = "relative"


class Sight(Record):
    """A word that looking, smelling, tugging or wiggling finds, how often with the fault, and how often on a sound
    part.
    """

    quantity: Literal["look", "smell", "tug", "wiggle"]
    word: Identifier
    chance: Chance
    sound: Chance
    at: Literal["place", "part"] = "place"
    source: Line
    confidence: Confidence


class Owner(Record):
    """The fault in an owner's words: what to tell, and one thing to look at, in at most 15 words."""

    tell: Line
    ask: Line | None = None


class FaultRule(Record):
    """One fault of the rule base."""

    id: Identifier
    name: Line
    says: Line
    family: Identifier
    change: Identifier
    sits_at: Annotated[tuple[Place, ...], Field(min_length=1)]
    size: SizeRange | None = None
    frequency: Frequency
    noticed: tuple[Line, ...]
    sights: tuple[Sight, ...] = ()
    owner: Owner
    remedy: Line
    proof: Line
    repair: Repair
    cautions: tuple[Identifier, ...] = ()
    evidence_fades_days: Positive = 365.0
    examples: Annotated[tuple[Example, ...], Field(min_length=2)]


class Mistake(Record):
    """A mistake people make with a test, and how the reading then looks."""

    says: Line
    reads: Line


class TestRule(Record):
    """One kind of test: what it takes and how it is done."""

    __test__ = False

    id: Identifier
    name: Line
    tools: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    minutes: Positive
    source: Line
    confidence: Confidence
    hands: Annotated[int, Field(ge=0, le=2)] = 1
    states: tuple[Identifier, ...] = ()
    access: Line
    permission: Line | None = None
    owner_may: bool = False
    how: Line
    owner_how: Line | None = None
    mistakes: tuple[Mistake, ...] = ()
    cautions: tuple[Identifier, ...] = ()
    evidence_fades_days: Positive = 365.0


class Favour(Cited):
    """How much more often a complaint is heard with some faults than with the others."""

    faults: tuple[Identifier, ...] = ()
    families: tuple[Identifier, ...] = ()
    kinds: tuple[Identifier, ...] = ()
    ratio: Positive


class Symptom(Cited):
    """What an owner with a complaint saw: a share of the charge into the batteries behind a charger, of a charger's
    light, of the volts at a load, or of calm, `lost` between two figures in one of the states; and how much oftener the
    complaint is heard where that shows, and where it does not although it could.
    """

    of: Literal["charge", "light", "volts", "calm"]
    when: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    lost: tuple[Share, Share]
    unit: Literal["share"] = "share"
    ratio: Positive
    otherwise: Positive


class ComplaintRule(Record):
    """A complaint in people's own words."""

    id: Identifier
    says: Line
    words: Annotated[tuple[Line, ...], Field(min_length=1)]
    favours: tuple[Favour, ...] = ()
    shows: tuple[Symptom, ...] = ()
    danger: bool = False
    cautions: tuple[Identifier, ...] = ()


class Caution(Record):
    """A caution, with what it is bound to; it is shown before the instruction.

    `brief` reminds of it while it still holds. With `meters` it is left out where another one is used. With `where` it
    is shown once, at the start, to those who stand there.
    """

    id: Identifier
    says: Line
    brief: Line
    where: Literal["roadside", "boat"] | None = None
    states: tuple[Identifier, ...] = ()
    quantities: tuple[Identifier, ...] = ()
    meters: tuple[Literal["multimeter", "test_lamp"], ...] = ()
    kinds: tuple[Identifier, ...] = ()
    faults: tuple[Identifier, ...] = ()
    chemistries: tuple[Identifier, ...] = ()
    actions: tuple[Literal["jumper", "swap", "repair", "crimp"], ...] = ()
    source: Line
    confidence: Confidence


class RuleBase(Record):
    """Everything the rule base says beside its tables."""

    faults: dict[str, FaultRule]
    tests: dict[str, TestRule]
    complaints: dict[str, ComplaintRule]
    cautions: dict[str, Caution]
    causes: dict[str, CauseRule]
    operating_states: dict[str, OperatingState]
