"""The words of phone scripts as the rule base has them: cards for owners, ends, van list, what not to do.

They hold words and lists of kinds; no number stands here, and nothing is chosen.
"""

from __future__ import annotations

from typing import Annotated, Generic, TypeVar

from pydantic import Field

from diagnose.model.fields import Identifier, Line, Record

__all__ = ["Caller", "Card", "ClosingWords", "EndWords", "ForReader", "ScriptWords"]

Told = TypeVar("Told")


class Caller(Record):
    """What an owner may do: states, those left where the complaint is a sign of danger, those with the engine on, and
    the kinds of part for each act.
    """

    states: tuple[Identifier, ...]
    after_danger: tuple[Identifier, ...]
    engine: tuple[Identifier, ...]
    lamp_states: tuple[Identifier, ...]
    probes_at: tuple[Identifier, ...]
    clamps_at: tuple[Identifier, ...]
    looks_at: tuple[Identifier, ...]


class Card(Record):
    """One card: what is said, how it is done, what the answers are called.

    `{thing}` stands for the thing in question; `answers` are labels by word, a word that is not there is no answer an
    owner can give.
    """

    say: Line
    how: Line
    answers: dict[Identifier, Line] = Field(default_factory=dict)


class ForReader(Record, Generic[Told]):
    """What is told to each reader: to staff who talk with an owner, and to an installer at the vehicle."""

    owner: Told
    installer: Told


class ClosingWords(Record):
    """What follows at an end, for one reader: in a word or two where a repair needs a person and where none is needed,
    and what the owner is told then, after a sign of danger, of a repair, or of nothing to be done.
    """

    needed: Line
    not_needed: Line
    danger: Line
    repair: Line
    nothing: Line


class EndWords(Record):
    """What is said at an end, by what is done: to staff, and the second line to the owner."""

    says: Line
    tell: Line


class ScriptWords(Record):
    """All words of scripts.

    `things` by kind of part; `trade`, words of the trade, by which no point is called; `before` and `prepare` by state;
    `cards` by quantity; `danger` are cards by quantity, whose words in `signs` end the script, as those in `stops` do
    on any other card of an owner, save what is `usual` of a kind of part; `ends` by why it ends; `owner_can` by fault
    what an owner does alone, but not while a fault of `owner_not_with` is thought of; `bring` by what is brought along;
    `photos`, `meanwhile`, `not_safe` by kind of part or by complaint.
    """

    caller: Caller
    things: dict[Identifier, Line]
    trade: tuple[Line, ...]
    before: dict[Identifier, Line]
    prepare: dict[Identifier, Line]
    cards: dict[Identifier, Card]
    danger: dict[Identifier, Card]
    signs: dict[Identifier, tuple[Identifier, ...]]
    stops: dict[Identifier, tuple[Identifier, ...]]
    usual: dict[Identifier, tuple[Identifier, ...]]
    cannot: Line
    unsteady: Line
    opening: ForReader[tuple[Line, ...]]
    first: ForReader[Line]
    closing: ForReader[ClosingWords]
    ends: dict[Identifier, EndWords]
    owner_can: dict[Identifier, Line]
    owner_not_with: dict[Identifier, tuple[Identifier, ...]]
    bring: dict[Identifier, Line]
    tools: dict[Identifier, Annotated[tuple[Line, ...], Field(min_length=1)]]
    photos: dict[Identifier, Line]
    meanwhile: dict[Identifier, Line]
    not_safe: dict[Identifier, Line]
