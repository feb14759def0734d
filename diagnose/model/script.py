"""The walk compiled ahead: questions with their answers, and ends, as frozen records.

They hold what is shown and where each answer leads; who is asked, and what an answer is worth, is not known here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple, Protocol, TypeVar

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Read, Take

__all__ = ["UNKNOWN", "Answer", "Costs", "End", "Question", "Script", "Suspect", "option_of"]

#: quantity of a test that is none: what is fitted is asked for, by the id of an unknown as its place, in any state
UNKNOWN = "unknown"


class Answer(NamedTuple):
    """One answer and the step it leads to: a word, or a band `low` <= x < `high` (None: no bound) in `unit`."""

    label: str
    go: str
    read: str | None = None
    low: float | None = None
    high: float | None = None
    unit: str | None = None


class Question(NamedTuple):
    """One card: what to say, how it is done, the test behind it, its cautions, its answers.

    `more` is how many questions are still to come on average, this one counted; `danger` tells that it asks for a sign
    of danger, not for evidence.
    """

    say: str
    how: str
    take: Take
    cautions: tuple[str, ...]
    answers: tuple[Answer, ...]
    minutes: float = 1.0
    more: float = 1.0
    danger: bool = False

    @property
    def unknown(self) -> str | None:
        """The id of what is unknown of the installation, where the card asks for that and not for a reading."""
        return self.take.where[0] if self.take.quantity == UNKNOWN else None


class Suspect(NamedTuple):
    """A fault that is still thought of, its name in words, and its chance."""

    fault: FaultAt
    name: str
    probability: float


class Costs(NamedTuple):
    """What sending a person, and what sending nobody, is expected to cost [min], and in words."""

    visit: float
    no_visit: float
    says: str


class End(NamedTuple):
    """One end: why it ends here (a word of a ranking's stop), what is left, and what follows.

    `send` tells whether a person must come, `verdict` says so in a word or two; `bring` are at most three parts,
    `tools` what else is taken along; `tell` are three lines for the owner; `minutes` [min] the repair is expected to
    take; `no_fault`, `unlisted` chances.
    """

    end: str
    faults: tuple[Suspect, ...]
    no_fault: float
    unlisted: float
    say: str
    send: bool
    verdict: str
    bring: tuple[str, ...]
    tools: tuple[str, ...]
    tell: tuple[str, ...]
    costs: Costs
    minutes: float
    photos: tuple[str, ...]
    meanwhile: tuple[str, ...]
    not_safe: tuple[str, ...]
    cautions: tuple[str, ...]


class Script(NamedTuple):
    """A whole script: `steps` by id, questions `q1`, `q2` and ends `e1`, `e2`; every path from `root` comes to an end.

    `known` is the id of the complaint that was understood, with `heard`, its words; empty where none was. `first` is
    what is done before the first card; `opening`, how many of the `cautions` are said first of all: the others say in
    full what cards and ends remind of.
    """

    title: str
    complaint: str
    owner: bool
    tools: tuple[str, ...]
    allowed: tuple[str, ...]
    root: str
    cautions: tuple[str, ...]
    steps: Mapping[str, Question | End]
    known: str = ""
    heard: str = ""
    first: str = ""
    opening: int = 0

    @property
    def heading(self) -> str:
        """What the script is for, in words."""
        return f"{self.title}: {self.heard if self.complaint == self.known else self.complaint}"

    @property
    def understood(self) -> str:
        """How free words were understood; nothing where the complaint was ordered by its id."""
        if not self.known:
            return "The complaint was not understood, so it favours no suspect: say it in other words."
        return "" if self.complaint == self.known else f"Understood as: {self.heard}"


class Option(Protocol):
    """A word, or a half-open band of numbers, that a reading may be."""

    @property
    def read(self) -> str | None: ...

    @property
    def low(self) -> float | None: ...

    @property
    def high(self) -> float | None: ...


Given = TypeVar("Given", bound=Option)


def option_of(options: Sequence[Given], read: Read) -> Given:
    """Return the option that a reading is; what fits none is the one that could not be had.

    >>> bands = (Answer("below 12 V", "q2", high=12.0, unit="V"), Answer("12 V or more", "q3", low=12.0, unit="V"))
    >>> answers = (*bands, Answer("no", "q4", "skipped"))
    >>> [option_of(answers, Read("number", "", value)).go for value in (11.99, 12.0)]
    ['q2', 'q3']
    """
    word = read.word if read.kind == "word" else read.kind
    for option in options:
        if option.read is not None and option.read == word:
            return option
        if option.read is None and read.kind in ("number", "below") and read.value is not None:
            low = option.low is None or option.low <= read.value
            if low and (option.high is None or read.value < option.high):
                return option
    return next(option for option in options if option.read == "skipped")
