"""The records of commissioning: a step, its result, and the hand-over record made of them.

They hold what was asked, read and found; judging is the business of `commissioning`, showing that of `present`. A page
of the record is a function of one `Record` alone; a record is kept as the last state of its job.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

from diagnose.model.expected import Limit
from diagnose.model.reading import Reading, Take

__all__ = ["Baseline", "CommissioningRecord", "CommissioningStep", "Judgement", "StepResult", "StepVerdict"]

StepVerdict = Literal["PASS", "LOOK", "FAIL", "INVALID", "NOT DONE"]


class CommissioningStep(NamedTuple):
    """One step of the sequence: either a test (`take`) or a question that is answered yes or no.

    `cautions` are shown before `how`; `judges` are the parts and joints that the step speaks of; `rule` is the id of
    the rule that it was made from; `scales` where the reading grows with the current that flows. `judge` tells how the
    answer is judged and `wants` is the word of a good one; `needs` are ids of steps whose answers it needs beside its
    own; `makes_valid` says how to get a reading that can be judged; steps of one `group` may be answered together;
    `recheck` is what to look at again some weeks later.
    """

    id: str
    rule: str
    title: str
    take: Take | None
    question: str
    state: str
    cautions: tuple[str, ...]
    how: str
    limit: Limit | None
    source: str
    judges: tuple[str, ...]
    scales: bool = False
    phase: str = ""
    judge: str = "value"
    wants: str = ""
    needs: tuple[str, ...] = ()
    why: str = ""
    makes_valid: str = ""
    group: str = ""
    recheck: str = ""


class Judgement(NamedTuple):
    """A reading held against one thing: the verdict, the bounds (None: no bound), and why.

    The bounds are in the unit of the reading; of a drop in ohm against the model and in volts against the limit.
    """

    verdict: StepVerdict
    low: float | None
    high: float | None
    says: str


class StepResult(NamedTuple):
    """What became of a step; `by_limit` is against the published limit, `by_model` against this installation's model.

    `time` is as told, ISO 8601; `temperature` [degC]; `current` [A] that flowed; `makes_valid` says how to get a
    reading that can be judged where the verdict is INVALID.
    """

    step: CommissioningStep
    verdict: StepVerdict
    by_limit: Judgement | None = None
    by_model: Judgement | None = None
    reading: Reading | None = None
    time: str = ""
    temperature: float | None = None
    current: float | None = None
    meter: str = ""
    probes: tuple[str, ...] = ()
    says: str = ""
    makes_valid: str = ""


class Baseline(NamedTuple):
    """A joint's or part's resistance on the day of hand-over, and its standard uncertainty [ohm]."""

    part: str
    between: tuple[str, str]
    ohms: float
    uncertainty: float


class CommissioningRecord(NamedTuple):
    """The hand-over record: a record, not a certificate.

    `installation` are lines of name and value; `recheck` is the list for some weeks later; `name` and `date` are as
    typed; the two hashes are of the bytes of rule base and installation, so that a changed record is noticed.
    """

    title: str
    installation: tuple[tuple[str, str], ...]
    instruments: tuple[str, ...]
    rows: tuple[StepResult, ...]
    baseline: tuple[Baseline, ...]
    open_points: tuple[str, ...]
    cautions: tuple[str, ...]
    recheck: tuple[str, ...]
    name: str
    date: str
    version: str
    rules_hash: str
    installation_hash: str
