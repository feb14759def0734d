"""What may be unknown of an installation on the telephone: the question, its answers, and what each answer changes.

The records hold what the rule base says; an installation changed by an answer is made in `scripts`.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from diagnose.model.cited import Cited
from diagnose.model.fields import Identifier, Line, Record

__all__ = ["Change", "Unknown", "UnknownAnswer", "Unknowns", "Which"]

#: any part of a kind, or only batteries that do not crank the engine
Which = Literal["any", "second"]


class Change(Record):
    """What an answer changes at every part of a kind, as in an installation file.

    Only parts count that have the keys in `has`, in `holds` one of the words named, and that offer the profile `offers`
    as a setting. `keys` are written, null takes a key away; `gone` takes the part away with what then leads nowhere.
    """

    kind: Identifier
    which: Which = "any"
    has: tuple[Identifier, ...] = ()
    holds: dict[Identifier, tuple[Line, ...]] = Field(default_factory=dict)
    offers: Line | None = None
    keys: dict[Identifier, Any] = Field(default_factory=dict)
    gone: Annotated[bool, Field(strict=True)] = False


class UnknownAnswer(Record):
    """One answer: what it is called on the card, the share of vehicles it is true of, and what it changes."""

    label: Line
    share: Annotated[float, Field(gt=0, lt=1)]
    changes: tuple[Change, ...] = ()


class Unknown(Cited):
    """One question about what is fitted: its card, the parts without which it is none, its answers by word."""

    say: Line
    how: Line
    kind: Identifier
    which: Which = "any"
    has: tuple[Identifier, ...] = ()
    unit: Literal["share"]
    checked: Annotated[str, Field(pattern=r"^20[0-9]{2}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])$")]
    answers: Annotated[dict[Identifier, UnknownAnswer], Field(min_length=2)]


class Unknowns(Record):
    """All that may be unknown, by id."""

    unknowns: dict[Identifier, Unknown]
