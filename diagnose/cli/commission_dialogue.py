"""The dialogue of a commissioning: shows each step, hands what is typed to the judging, keeps it before it goes on.

It decides nothing about a verdict. Steps of one kind that follow each other are asked together.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import NamedTuple

from diagnose.basics.quantities import QuantityError
from diagnose.cli.asker import Asker, EndOfAnswers
from diagnose.commissioning.answers import answer_of
from diagnose.commissioning.expecting import carries_its_own, expected_words
from diagnose.commissioning.progress import Commissioning, StepEvent
from diagnose.model.commissioning import CommissioningStep
from diagnose.model.rules import RuleBase
from diagnose.present.commissioning_step import group_lines, help_lines, step_lines, verdict_lines
from diagnose.present.walk_words import wrapped
from diagnose.session.cautions import reminders

__all__ = ["Stop", "Told", "ask_steps"]

WORDS = ("help", "why", "how", "back", "skip", "list", "find", "stop")
_MOST_TURNS = 3000  # answers in one commissioning, so that an endless stream of `help` ends too
_REPAIRED = re.compile(r"repaired\s+(\S+)\s*$", re.IGNORECASE)
_NUMBERED = re.compile(r"^\s*(\d+)\s*[:.]?\s*(.*)$")

Keep = Callable[[StepEvent], None]
Find = Callable[[Commissioning], tuple[str, ...]]


class Told(NamedTuple):
    """What goes with every answer: the time as told, the temperature [degC], the meter."""

    time: Callable[[], str]
    temperature: float | None
    meter: str


class Stop(Exception):  # noqa: N818 - an event of the dialogue, not an error
    """The person stops for today."""


class _At(NamedTuple):
    """What every turn needs."""

    asker: Asker
    job: Commissioning
    rules: RuleBase
    told: Told
    keep: Keep
    find: Find
    width: int
    given: set[str]


def ask_steps(
    asker: Asker, job: Commissioning, rules: RuleBase, told: Told, keep: Keep, find: Find, width: int
) -> tuple[str, ...]:
    """Ask every step that is open, until none is left or a danger is read.

    Parameters: `keep`, called with each event before what follows from it is shown; `find`, which looks for the cause
    of what failed and returns the parts that were repaired meanwhile.
    Returns: the dangers that were read; empty where there are none.
    Raises: Stop; EndOfAnswers; KeyboardInterrupt; BadInput where an answer cannot be kept.
    """
    at = _At(asker, job, rules, told, keep, find, width, set())
    phase = ""
    shown: tuple[str, ...] = ()
    for _ in range(_MOST_TURNS):
        left = job.open_steps()
        if not left:
            return ()
        steps = _together(job, left)
        if steps[0].phase != phase:
            phase = steps[0].phase
            _say(at, ["", f"== {phase} =="])
        ids = tuple(step.id for step in steps)
        if ids != shown:
            _show(at, steps, left)
            shown = ids
        if _turn(at, steps):
            shown = ()
        if danger := job.danger():
            return danger
    raise EndOfAnswers(f"more than {_MOST_TURNS} answers were given")


def _together(job: Commissioning, left: Sequence[str]) -> tuple[CommissioningStep, ...]:
    """Return the step that comes next, with those of its group that follow it."""
    first = job.by_id[left[0]].step
    found = [first]
    for name in left[1:] if first.group else ():
        step = job.by_id[name].step
        if step.group != first.group:
            break
        found.append(step)
    return tuple(found)


def _say(at: _At, lines: Sequence[str]) -> None:
    for line in lines:
        loud = line.startswith(("Caution:", "FAIL"))
        at.asker.say(line, style="bold red" if loud else "bold" if line.startswith(("==", "[")) else "")


def _show(at: _At, steps: Sequence[CommissioningStep], left: Sequence[str]) -> None:
    ids = [name for step in steps for name in step.cautions]
    told = reminders(ids, at.rules, at.given)
    told = tuple(r for r in told if r.new or steps[0].take is not None)
    at.given.update(r.id for r in told)
    asked = [p.step.id for p in at.job.planned if p.step.take is not None or p.step.question]
    count = asked.index(steps[0].id) + 1, len(asked)
    if len(steps) > 1:
        _say(at, group_lines(steps, count, told, at.width))
        return
    planned, bench = at.job.by_id[steps[0].id], at.job.bench()
    expected, own = expected_words(planned, bench), carries_its_own(planned, bench)
    _say(at, step_lines(steps[0], count, expected, told, at.job.installation, own, at.width))


def _turn(at: _At, steps: tuple[CommissioningStep, ...]) -> bool:
    """Take one answer; return whether the question must be shown again."""

    def check(text: str) -> None:
        if _REPAIRED.match(text) is None:
            try:
                _answers(text, steps)
            except QuantityError as error:
                raise ValueError(f"{error.what}, {error.right}") from None

    prompt = "Answer?" if len(steps) > 1 or not steps[0].take else "Reading?"
    text = at.asker.ask(prompt, WORDS, check)
    if text in _COMMANDS:
        return _COMMANDS[text](at, steps)
    if (match := _REPAIRED.match(text)) is not None:
        return _repaired(at, match.group(1))
    for step, answer in _answers(text, steps):
        _feed(at, step, answer)
    return True


def _answers(text: str, steps: Sequence[CommissioningStep]) -> list[tuple[CommissioningStep, str]]:
    """Return what each of the steps asked together was answered.

    Raises: QuantityError with what would be right.
    """
    found = {step.id: text for step in steps}
    if len(steps) > 1 and _NUMBERED.match(text):
        found = {step.id: step.wants for step in steps}
        bad = ""
        for piece in reversed(text.split(",")):
            match = _NUMBERED.match(piece)
            if match is None or not 1 <= int(match.group(1)) <= len(steps):
                right = f"write numbers from 1 to {len(steps)}"
                raise QuantityError(f"`{piece.strip()[:40]}` names none of these", right)
            bad = match.group(2).strip() or bad or ("no" if steps[0].question else "")
            if not bad:
                raise QuantityError("what was found there is missing", "write for example 2 loose")
            found[steps[int(match.group(1)) - 1].id] = bad
    for step in steps:
        answer_of(found[step.id], step)
    return [(step, found[step.id]) for step in steps]


def _feed(at: _At, step: CommissioningStep, text: str) -> None:
    """Feed an answer, keep it, and say what it means."""
    meter = at.told.meter if step.take is not None else ""
    event = StepEvent("answer", step.id, text, at.told.time(), at.told.temperature, meter)
    at.job.feed(event)
    at.keep(event)
    result = at.job.result(step.id)
    if result.verdict != "PASS" or not step.group:
        lead = wrapped(f"{step.title}:", at.width) if step.group else []
        _say(at, [*lead, *verdict_lines(result, at.width)])
    for other in at.job.planned:  # what is worked out from this reading, once all of it is there
        if step.id in other.step.needs and other.step.take is None:
            worked = at.job.result(other.step.id)
            if worked.verdict != "NOT DONE":
                _say(at, [*wrapped(f"{other.step.title}:", at.width), *verdict_lines(worked, at.width)])


def _repaired(at: _At, part: str) -> bool:
    if part not in at.job.installation.parts:
        _say(at, wrapped(f"There is no part `{part}`; its parts are {', '.join(at.job.installation.parts)}.", at.width))
        return False
    before = len(at.job.open_steps())
    event = StepEvent("repaired", text=part)
    at.job.feed(event)
    at.keep(event)
    again = len(at.job.open_steps()) - before
    _say(at, wrapped(f"{part} was mended: {again} steps that this could have disturbed are asked again.", at.width))
    return True


def _help(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    _say(at, help_lines(at.width))
    return False


def _why(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    _say(at, [*wrapped(f"Why: {steps[0].why}", at.width), *wrapped(f"Source: {steps[0].source}", at.width)])
    return False


def _how(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    test = at.rules.tests.get(steps[0].take.quantity) if steps[0].take is not None else None
    _say(at, [*wrapped(f"How: {steps[0].how}", at.width), *(wrapped(test.how, at.width) if test is not None else [])])
    for mistake in test.mistakes if test is not None else ():
        _say(at, wrapped(f"- {mistake.says}: {mistake.reads}", at.width, hang="  "))
    return False


def _back(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    event = StepEvent("back")
    at.job.feed(event)
    at.keep(event)
    _say(at, ["The last answer is taken back."])
    return True


def _skip(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    for step in steps:
        event = StepEvent("answer", step.id, "skipped", at.told.time())
        at.job.feed(event)
        at.keep(event)
    _say(at, [f"NOT DONE: {len(steps)} step{'s' if len(steps) > 1 else ''} left out; it is no pass."])
    return True


def _list(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    results = at.job.results()
    for verdict in ("FAIL", "INVALID", "LOOK"):
        for result in results:
            if result.verdict == verdict:
                _say(at, wrapped(f"{verdict} {result.step.title}: {result.says}", at.width, hang="  "))
    count = {v: sum(r.verdict == v for r in results) for v in ("PASS", "LOOK", "INVALID", "FAIL", "NOT DONE")}
    _say(at, [", ".join(f"{n} {verdict}" for verdict, n in count.items())])
    return False


def _find(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    for part in at.find(at.job):
        _repaired(at, part)
    _say(at, ["", "Back to the commissioning."])
    return True


def _stop(at: _At, steps: Sequence[CommissioningStep]) -> bool:
    raise Stop


_COMMANDS: dict[str, Callable[[_At, Sequence[CommissioningStep]], bool]] = {
    "help": _help, "why": _why, "how": _how, "back": _back, "skip": _skip, "list": _list, "find": _find, "stop": _stop,
}  # fmt: skip
