"""The records of the survey behind `diagnose new`: its questions as data, and the answers given to them.

They hold what is asked and what an answer may be; turning answers into an installation is the business of `survey`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal, NamedTuple

from pydantic import Field

from diagnose.model.fields import Identifier, Line, Record
from diagnose.model.figures import Confidence

__all__ = ["Answer", "Answers", "LoadAnswer", "NotKnown", "Patch", "Survey", "SurveyField", "Topic"]

#: `PART.KEY` of an installation
Key = Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*\.[a-z][a-z0-9_]*$")]
#: a layout's id, or `any` for those that are not named
ByLayout = dict[Identifier, tuple[tuple[Key, ...], ...]]


class Choice(Record):
    """One word that answers a question; `also` are other words for it."""

    says: Line
    also: tuple[Line, ...] = ()
    layout: Identifier | None = None
    profile: Line | None = None


class NotKnown(Record):
    """What "don't know" becomes: a range, the range of two figures of the battery table, or the wider choice."""

    range: Line | None = None
    figures: tuple[Identifier, Identifier] | None = None
    choice: Line | None = None
    why: Line | None = None
    source: Line
    confidence: Confidence


class Share(Record):
    """A second key that follows an answer as a share of it, from `low` to `high`."""

    key: Key
    low: float
    high: float
    source: Line
    confidence: Confidence


class SurveyField(Record):
    """One value that a question asks for.

    `kind` tells how it is read; `ties` and `profile` are a charger's profile lead and charge voltage. `quantity` is its
    dimension, `unit` the one a bare number takes (none: it must be typed), `within` its bounds. `sets`, `default` and
    `not_in` go by layout; `present` is the key whose being there is the layout's own answer; `needs` the key without
    which it is not asked, `needed` whether it cannot be left unknown, `only_with` the field that must not be none; `by`
    the choice whose word ends the names of `default_figures`.
    """

    id: Identifier
    name: Line
    kind: Literal["quantity", "choice", "ties", "profile", "loads", "hours"]
    quantity: Identifier | None = None
    unit: Line | None = None
    within: Line | None = None
    choices: Identifier | None = None
    sets: ByLayout = Field(default_factory=dict)
    shared: bool = False
    default: dict[Identifier, Line] = Field(default_factory=dict)
    present: Key | None = None
    needed: bool = False
    needs: Key | None = None
    not_in: tuple[Identifier, ...] = ()
    only_with: Identifier | None = None
    by: Identifier | None = None
    default_figures: tuple[Identifier, ...] = ()
    none: Line | None = None
    never_none: tuple[Identifier, ...] = ()
    not_known: NotKnown | None = None
    also_sets: Share | None = None


class Patch(Record):
    """What an answer changes beyond its own keys, for a word (`given`: any but `none`) in some layouts.

    `when` and `unless` are keys that the layout must have, or must not. Of the patches of a field the first that fits
    is used. A value `=PART.KEY` stands for that key, null takes away.
    """

    field: Identifier
    words: tuple[Line, ...]
    layouts: tuple[Identifier, ...] = ()
    when: Key | None = None
    unless: Key | None = None
    points: dict[Identifier, dict[Identifier, Line]] = Field(default_factory=dict)
    parts: dict[Identifier, dict[Identifier, Any] | None]
    why: Line
    source: Line | None = None
    confidence: Confidence | None = None


class Topic(Record):
    """One question, with the values it asks for."""

    id: Identifier
    title: Line
    asks: Line
    why: Line
    help: Line
    example: Line
    fields: Annotated[tuple[SurveyField, ...], Field(min_length=1)]
    patches: tuple[Patch, ...] = ()


class Survey(Record):
    """The whole survey: its questions in order, the words that answer them, and the photos worth taking."""

    choices: dict[Identifier, dict[Line, Choice]]
    topics: Annotated[tuple[Topic, ...], Field(min_length=1)]
    photos: tuple[Line, ...]

    def fields(self) -> Iterator[SurveyField]:
        """Yield the fields of all questions in order."""
        for topic in self.topics:
            yield from topic.fields

    def words(self, field: SurveyField) -> Mapping[str, Choice]:
        """Return the words that answer a field, empty where it takes none."""
        return self.choices[field.choices] if field.choices is not None else {}


class LoadAnswer(NamedTuple):
    """One load as told: its name, its power as text with unit, its hours a day or None."""

    name: str
    power: str
    hours: float | None


class Answer(NamedTuple):
    """What a field was answered: text with unit, a word, `none`, or loads; and how it came about."""

    value: str | tuple[LoadAnswer, ...]
    origin: Literal["answered", "default", "not_known"]
    typed: str = ""


#: field id -> answer
Answers = Mapping[str, Answer]
