"""The rule base's records of causes and of operating states.

A cause brings a fault about at a place: a lug on few strands brings high resistance there. It competes with the other
causes of that fault at that place and never with the fault itself. An operating state is a reason why nothing is wrong
although it looks so. These records must not say what a cause changes in the circuit: that is the fault's business.
"""

from __future__ import annotations

from typing import Annotated, Literal, NamedTuple

from pydantic import Field

from diagnose.model.cited import Chance, Cited, Example, Positive, Repair
from diagnose.model.fields import Identifier, Line, Record

__all__ = ["Brought", "CauseComplaint", "CauseRule", "CauseWord", "LikelyCause", "OperatingState", "StateLimit"]

Lead = Literal["ignition", "profile", "negative", "load_feed", "earth", "free_end"]


class Brought(Cited):
    """A fault that a cause brings about, and its share of that fault at such places.

    `leads` narrows the places to what a cable is for: any of those named will do. `to` narrows a lead on the wrong
    place by where it went: a battery post, a port of the charger, elsewhere.
    """

    fault: Identifier
    kinds: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    where: Literal["termination", "part"]
    share: Annotated[float, Field(gt=0, le=1)]
    leads: tuple[Lead, ...] = ()
    to: tuple[Literal["post", "port", "elsewhere"], ...] = ()
    chemistries: tuple[Identifier, ...] = ()


class CauseWord(Cited):
    """A word that looking, smelling, tugging or wiggling finds with this cause, and how often."""

    quantity: Literal["look", "smell", "tug", "wiggle"]
    word: Identifier
    chance: Chance


class CauseComplaint(Cited):
    """A complaint that is heard with this cause more often than with the other causes of its fault."""

    complaint: Identifier
    ratio: Positive


class CauseRule(Record):
    """One cause of one or more faults."""

    id: Identifier
    name: Line
    says: Line
    brings: Annotated[tuple[Brought, ...], Field(min_length=1)]
    noticed: Annotated[tuple[Line, ...], Field(min_length=1)]
    words: tuple[CauseWord, ...] = ()
    complaints: tuple[CauseComplaint, ...] = ()
    remedy: Line
    proof: Line
    repair: Repair
    cautions: tuple[Identifier, ...] = ()
    examples: Annotated[tuple[Example, ...], Field(min_length=2)]


class LikelyCause(NamedTuple):
    """A cause of one fault at one place, with its chance among all causes of that fault there, known or not."""

    cause: str
    name: str
    probability: float
    says: str
    remedy: str
    proof: str


class StateLimit(Cited):
    """A figure beyond which an operating state is taken to hold."""

    value: float
    unit: Line


class OperatingState(Cited):
    """A reason why nothing is wrong although it looks so: what is seen, why it is right, how it shows otherwise."""

    id: Identifier
    name: Line
    seen: Line
    right: Line
    shows: Line
    complaints: tuple[Identifier, ...] = ()
    limit: StateLimit | None = None
