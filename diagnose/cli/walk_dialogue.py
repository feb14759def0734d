"""The dialogue of a walk: shows what the session asks, hands it what is typed, keeps each event before it goes on.

It decides nothing about the diagnosis.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import NamedTuple

from diagnose.cli.asker import Asker, EndOfAnswers
from diagnose.cli.walk_answers import Answer, Answers, completions, words_at
from diagnose.cli.walk_warming import START, Ahead
from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase
from diagnose.present.terminal import FIRST_WORDS, ranking_lines, why_not_lines
from diagnose.present.walk import SIDE, beside, meaning_lines, question_lines, ranking_side, why_lines
from diagnose.present.walk_finding import finding_lines, found_lines
from diagnose.present.walk_help import how_lines, log_lines, read_help
from diagnose.present.walk_start import alarm_lines, caution_block, complaint_lines, start_lines
from diagnose.session.events import Event
from diagnose.session.steps import Ask, Finding
from diagnose.session.walk import OutOfPlace, Session

__all__ = ["Keeper", "View", "ask_all"]

_MOST_TURNS = 2000  # answers in one walk, so that an endless stream of `help` ends too

Keeper = Callable[[Event, Session], None]


class View(NamedTuple):
    """How the dialogue looks: its width [columns], and whether the ranking stands at its side."""

    width: int
    side: bool = False


class _Dialogue(NamedTuple):
    """What every turn needs."""

    asker: Asker
    session: Session
    answers: Answers
    view: View
    keep: Keeper
    where: str
    ahead: Ahead | None

    @property
    def installation(self) -> Installation:
        return self.session.adviser.installation

    @property
    def rules(self) -> RuleBase:
        return self.session.adviser.rules


def ask_all(
    asker: Asker, session: Session, view: View, keep: Keeper, where: str, given: Sequence[tuple[str, str]] = (),
    ahead: Ahead | None = None,
) -> Finding:
    """Ask until the walk ends.

    Parameters: `keep`, called with each event before what follows from it is shown; `where`, how the job is called;
    `given`, (state, answer) told beforehand, taken when their question comes;
    `ahead`, what works beside the dialogue.
    Returns: the finding.
    Raises: EndOfAnswers; KeyboardInterrupt; BadInput where the job cannot be kept.
    """
    answers = Answers(session.adviser.installation, session.adviser.rules)
    at = _Dialogue(asker, session, answers, view, keep, where, ahead)
    shown: Ask | None = None
    pending = dict(given)
    for _ in range(_MOST_TURNS):
        step = session.step
        if isinstance(step, Finding):
            _say(at, ["", *finding_lines(step, at.installation, at.rules, view.width)])
            return step
        if (told := pending.pop(step.kind, None)) is not None:
            _told(at, step, told)
            continue
        if step is not shown:
            _say(at, _side(at, step, _question(at, step)))
            shown = step
            if at.ahead is not None:
                at.ahead.think()
        answer = _answer(at, step)
        if answer.said:
            _say(at, textwrap.wrap(answer.said[:1].upper() + answer.said[1:] + ".", view.width))
        if answer.command:
            _COMMANDS[answer.command](at, step, answer.rest)
        elif answer.event is not None:
            _feed(at, answer.event, step)
    raise EndOfAnswers(f"more than {_MOST_TURNS} answers were given")


def _told(at: _Dialogue, step: Ask, text: str) -> None:
    """Take an answer that was given beforehand; one that is not understood is asked for after all."""
    try:
        answer = at.answers.read(text, step)
    except ValueError as error:
        _say(at, textwrap.wrap(str(error), at.view.width))
        return
    if answer.event is not None:
        if answer.said:
            _say(at, textwrap.wrap(f"{step.kind}, {answer.said}".capitalize() + ".", at.view.width))
        _feed(at, answer.event, step)


def _say(at: _Dialogue, lines: list[str]) -> None:
    for line in lines:
        at.asker.say(line, style="bold red" if line.startswith(("Caution:", "DANGER")) else "")


def _answer(at: _Dialogue, step: Ask) -> Answer:
    found: list[Answer] = []

    def check(text: str) -> None:
        try:
            found[:] = [at.answers.read(text, step)]
        except ValueError as error:
            raise ValueError(textwrap.fill(str(error), at.view.width)) from None

    blank = step.kind == "tools"
    prompt = _SHORT.get(step.kind, "Reading?")
    text = at.asker.ask(prompt, words_at(step), check, completions(at.answers, step), blank)
    return found[0] if found and text not in words_at(step) else at.answers.read(text, step)


_SHORT = {
    "alarm": "None, or which?", "standing": "Where?", "tools": "Tools?", "meter": "Meter?", "complaint": "Complaint?",
    "seen": "Seen?", "repair": "Repaired, or leave?", "doubt": "Once more?",
}  # fmt: skip


def _question(at: _Dialogue, step: Ask) -> list[str]:
    """Return the lines of a question."""
    width = at.view.width - (SIDE + 3 if at.view.side and step.kind not in START else 0)
    lines = [""]
    if step.kind in START:
        told = at.session.events[-1].kind if step.kind == "alarm" and at.session.events else ""
        lines += [*caution_block(step, width), *alarm_lines(told, width), *start_lines(step.kind, at.rules, width)]
    elif step.kind == "repair":
        assert step.finding is not None
        lines += found_lines(step.finding, step.cautions, at.installation, at.rules, width)
        lines += textwrap.wrap("Type repaired when it is mended; or leave, to stop with what is known.", width)
    else:
        lines += question_lines(step, at.installation, at.rules, width)
    return lines


def _side(at: _Dialogue, step: Ask, lines: list[str]) -> list[str]:
    """Return lines with the ranking at their side where the terminal is wide."""
    if not at.view.side or step.kind in START:
        return lines
    return beside(lines, ranking_side(at.session.ranking, at.installation, at.rules), at.view.width)


def _feed(at: _Dialogue, event: Event, step: Ask) -> None:
    """Feed an event, keep it, and say what a reading means."""
    if step.kind not in START[:4]:
        _wait(at)
    try:
        at.session.feed(event)
    except OutOfPlace as error:
        _say(at, [f"That has no place here ({error})."])
        return
    at.keep(event, at.session)
    if event.kind in ("reading", "keep") and at.session.facts.state not in ("seen", "danger"):
        meaning = at.session.meaning()
        if meaning is not None:
            proof = step.kind == "proof"
            _say(at, meaning_lines(meaning, at.installation, at.rules, min(at.view.width, 80), proof))


def _wait(at: _Dialogue) -> None:
    """Wait for what works ahead: it asks the same engine."""
    if at.ahead is not None:
        at.ahead.wait()


def _why(at: _Dialogue, step: Ask, rest: str) -> None:
    _feed(at, Event("why"), step)
    _say(at, why_lines(step, at.installation, at.rules, at.view.width))


def _why_not(at: _Dialogue, step: Ask, rest: str) -> None:
    _wait(at)
    found = at.session.why_not(rest)
    if found is None:
        _say(at, [f"No suspect `{rest}`; write a fault and a part, for example: why-not blown input_fuse."])
    else:
        _say(at, why_not_lines(found, at.view.width))


def _back(at: _Dialogue, step: Ask, rest: str) -> None:
    if at.session.events:
        _feed(at, Event("undo"), step)
        _say(at, ["The last answer is taken back."])
    else:
        _say(at, ["This is the first question."])


def _ranking(at: _Dialogue, step: Ask, rest: str) -> None:
    _wait(at)
    _say(at, log_lines(at.session.facts.readings, at.installation, at.view.width))
    lines = ranking_lines(at.session.ranking._replace(next=(), stop=None), at.view.width)
    last = lines.index(next(line for line in lines if line and FIRST_WORDS.startswith(line)))
    _say(at, [line for line in lines[:last] if line])


def _retract(at: _Dialogue, step: Ask, rest: str) -> None:
    number = int(rest)
    if not 1 <= number <= len(at.session.facts.readings):
        _say(at, [f"There is no reading {number}."])
        return
    _feed(at, Event("retract", number=number), step)
    _say(at, [f"Reading {number} is taken back."])


def _repaired(at: _Dialogue, step: Ask, rest: str) -> None:
    """Take a repair that was made unasked: the likeliest fault of the part that is named."""
    _wait(at)
    words = set(rest.replace("@", " ").split())
    entries = [e for e in at.session.ranking.faults if words & {e.fault.part}]
    entry = next((e for e in entries if words <= {str(w) for w in e.fault[:3]}), None)
    if entry is None:
        _say(at, [f"No part `{rest}` that could be mended; for example: repaired tray_strap."])
    else:
        _feed(at, Event("repaired", fault=entry.fault._replace(size=None)), step)


def _help(at: _Dialogue, step: Ask, rest: str) -> None:
    _say(at, read_help(step, at.view.width))


def _how(at: _Dialogue, step: Ask, rest: str) -> None:
    _say(at, how_lines(step, at.rules, at.view.width))


def _list(at: _Dialogue, step: Ask, rest: str) -> None:
    _say(at, complaint_lines(at.rules, at.view.width))


def _save(at: _Dialogue, step: Ask, rest: str) -> None:
    _say(at, textwrap.wrap(f"All that was told is kept: {at.where}. Go on, or type stop.", at.view.width))


def _stop(at: _Dialogue, step: Ask, rest: str) -> None:
    _feed(at, Event("stop"), step)


_COMMANDS: dict[str, Callable[[_Dialogue, Ask, str], None]] = {
    "help": _help, "how": _how, "why": _why, "why-not": _why_not, "back": _back, "ranking": _ranking, "list": _list,
    "retract": _retract, "repaired": _repaired, "save": _save, "stop": _stop,
}  # fmt: skip
