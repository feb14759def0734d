"""What a walk answers an event with: a question, or a finding. Frozen records for a presenter, no wording of their own.

They hold ids, tests, bands and sentences of the rule base; how they are said is the business of `present`.
"""

from __future__ import annotations

from typing import NamedTuple

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry, NextTest
from diagnose.model.reading import Read, Reading, Take

__all__ = ["Ask", "Finding", "Meaning", "Reminder"]


class Reminder(NamedTuple):
    """A caution that applies: in full, or in brief where it was shown in full before and still holds."""

    id: str
    says: str
    brief: str
    new: bool


class Finding(NamedTuple):
    """An end of the walk, or the fault found: why it ends, evidence, what to buy and do, and what is proved.

    `vain` are repairs that the readings show no need of, beside those that count as `mended`.
    `proved` are the readings after a repair that were as they should be, `watch` those beside it that were not quite.
    `because` is a word of the ranking's `stop`, or `stopped`, `left`, `not_proved`. `settle` is a test that other tools
    would allow. `states` are ids of operating states that explain why it looked wrong.
    """

    because: str
    says: str = ""
    entry: Entry | None = None
    suspects: tuple[Entry, ...] = ()
    buy: str = ""
    minutes: float = 0.0
    states: tuple[tuple[str, float], ...] = ()
    settle: NextTest | None = None
    mended: tuple[FaultAt, ...] = ()
    proved: tuple[Take, ...] = ()
    watch: tuple[Take, ...] = ()
    dangers: tuple[str, ...] = ()
    vain: tuple[FaultAt, ...] = ()


class Ask(NamedTuple):
    """A question: which (a state of the walk), of which test, with its cautions and why it is asked.

    `slips` name what may have gone wrong with the `pending` reading; `expected` is the band of a reading that proves a
    repair, `neighbour` tells that it is of what the repair may have disturbed.
    """

    kind: str
    number: int = 0
    take: Take | None = None
    cautions: tuple[Reminder, ...] = ()
    why: str = ""
    minutes: float = 0.0
    expect: tuple[tuple[str, str], ...] = ()
    pending: Reading | None = None
    slips: tuple[str, ...] = ()
    expected: Expected | None = None
    neighbour: bool = False
    finding: Finding | None = None


class Meaning(NamedTuple):
    """What a reading means: `low` to `high`, where a sound vehicle reads; `suspects`, label with band or word.

    `verdict` is one of as_sound, below, above, unlike, said; `little` tells that it was taken with too little current
    to tell much.
    """

    take: Take
    read: Read
    unit: str
    low: float | None
    high: float | None
    verdict: str
    suspects: tuple[tuple[str, float | None, float | None, str], ...] = ()
    words: tuple[tuple[str, float], ...] = ()
    little: bool = False
