"""A script played by staff with a caller: one card at a time, fast keys, and a job that the walk goes on with."""

from __future__ import annotations

import os
import shutil
import textwrap
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from diagnose import __version__
from diagnose.basics.quantities import QuantityError
from diagnose.basics.readings_text import parse_typed
from diagnose.cli.asker import Asker, EndOfAnswers, open_asker
from diagnose.cli.job_session import taken_up_by
from diagnose.model.reading import Read, Reading
from diagnose.model.script import Answer, End, Question, Script, option_of
from diagnose.present.script_text import card_lines, end_lines
from diagnose.session.events import Event
from diagnose.store.answers import load_answers
from diagnose.store.jobs import first_line, job_name, jobs_folder
from diagnose.store.jobs_form import event_data
from diagnose.store.jobs_record import JobRecord

if TYPE_CHECKING:
    from collections.abc import Mapping

    from diagnose.scripts.compiling import Sources
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["run_script"]

#: words that a card takes beside its answers; the last two are the asker's own
WORDS = ("back", "cannot", "how", "stop")


class _Told(NamedTuple):
    """One card answered: its id and the card, the answer, what was read."""

    at: str
    card: Question
    answer: Answer
    read: Read


def run_script(
    script: Script, sources: Sources, name: str, jobs: str | None, answers: str | None, seed: int, plain: bool,
    rules: RuleFolders | None = None,
) -> int:  # fmt: skip
    """Play a script and keep the job; return the exit status.

    Parameters: `name`, of the installation as given; `jobs`, the folder of jobs; `answers`, a file of answers;
    `rules`, those that the script was compiled by.
    """
    asker = open_asker(plain, None if answers is None else load_answers(answers))
    installation = sources.installation
    first = first_line(installation, name, None, __version__, seed, date.today().isoformat(), rules)
    with JobRecord.begin(jobs_folder(jobs, os.environ), job_name(installation.title), first) as record:
        asker.say("\n".join(filter(None, (f"Job {record.path.stem}", script.heading, script.understood))))
        told: list[_Told] = []
        try:
            return _talk(asker, script, record, told)
        except EndOfAnswers as end:
            _stopped(record, f"the call ended: {end}", _fitted(told))
            asker.say(f"({end}: go on with\ndiagnose walk --resume {taken_up_by(record.path)})")
            return 0


def _keep(record: JobRecord, event: Event, state: str = "test") -> None:
    record.append({**event_data(event), "state": state})


def _talk(asker: Asker, script: Script, record: JobRecord, told: list[_Told]) -> int:
    """Ask the cards and keep what was told: each reading at once, what is taken back as an undo, what is fitted with
    the end, since it is no reading.
    """
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 90)
    for line in (line for text in script.cautions for line in textwrap.wrap(f"Caution: {text}", width)):
        asker.say(line)
    asker.say("\n".join(textwrap.wrap(f"First: {script.first}", width)))
    own = asker.ask("The owner's own words? (Enter: as ordered)", ("stop",), blank=True)
    _keep(record, Event("tools", ",".join(script.tools)))
    _keep(record, Event("complaint", script.complaint if own in ("", "stop") else own))
    at = "" if own == "stop" else script.root
    while at and isinstance(step := script.steps[at], Question):
        found = _card(asker, step, script.owner, at, width)
        if found == "stop":
            at = ""
        elif found == "back":
            if told:
                last = told.pop()
                at = last.at
                if last.card.unknown is None:
                    _keep(record, Event("undo"))
        elif isinstance(found, _Told):
            told.append(found)
            if step.unknown is None:
                _keep(record, _event(found))
            at = found.answer.go
    end = script.steps.get(at)
    return _close(asker, script, end if isinstance(end, End) else None, record, width, _fitted(told))


def _fitted(told: list[_Told]) -> str:
    """Return what was told of what is fitted, each question with its answer; nothing where nothing was."""
    of = (one for one in told if one.card.unknown is not None and one.read.kind != "skipped")
    return " / ".join(f"{one.card.say} {one.answer.label}" for one in of)


def _event(told: _Told) -> Event:
    kind = "cannot" if told.read.kind == "skipped" else "reading"
    back = " (read back)" if told.read.kind == "number" else ""
    return Event(kind, f"{told.read.text}{back}", Reading(told.card.take, told.read))


def _stopped(record: JobRecord, why: str, fitted: str) -> None:
    """Keep why the call ended, and what was told of what is fitted, since it is no reading."""
    _keep(record, Event("stop", f"{why}; told of what is fitted: {fitted}" if fitted else why), "stopped")


def _card(asker: Asker, step: Question, owner: bool, at: str, width: int) -> _Told | str:
    """Show one card and return what was told, or back, stop."""
    asker.say("")
    for line in card_lines(step, owner, width):
        if line:
            asker.say(line, style="bold red" if line.startswith("Caution:") else "")
    words = [a.read for a in step.answers if a.read is not None and a.read != "skipped"]
    named = {a.label.casefold(): a.read for a in step.answers if a.read is not None and a.read != "skipped"}
    unit = next((a.unit for a in step.answers if a.unit), None)
    for number, word in enumerate(words, 1):
        label = next(a.label for a in step.answers if a.read == word)
        # Where a number may be told, an answer has none: a 1 that is typed is a reading.
        asker.say(f"  {'' if unit else f'{number} '}{word.replace('_', ' ')}: {label}")
    asker.say(f"  {f'the number in {unit}; ' if unit else ''}cannot, how, back, stop; about {step.more:.0f} more")

    def check(text: str) -> None:
        _read(text, words, named, unit)

    while True:
        text = asker.ask("They say?" if owner else "Found?", (*WORDS, *words), check)
        if text == "how":
            asker.say("\n".join(textwrap.wrap(step.how, width)))
            continue
        if text in ("back", "stop"):
            return text
        got = Read("skipped", "skipped") if text == "cannot" else _read(text, words, named, unit)
        if got.kind == "number" and not _said_back(asker, got):
            continue
        return _Told(at, step, option_of(step.answers, got), got)


def _read(text: str, words: list[str], named: Mapping[str, str], unit: str | None) -> Read:
    """Return what was typed: the number of an answer, a word, what the card calls it, or a number in the unit.

    Parameters: `named`, the words by what the card calls them.
    Raises: ValueError in words.
    """
    text = named.get(text.casefold(), text)
    if unit is None and text.isdecimal() and 1 <= int(text) <= len(words):
        text = words[int(text) - 1]
    try:
        typed = parse_typed(text, unit, [w for w in words if w != "unsteady"])
    except QuantityError as error:
        raise ValueError(str(error).replace("skipped", "cannot")) from None  # what a card calls it
    return Read(typed.kind, typed.text, typed.value, typed.high, typed.word)


def _said_back(asker: Asker, read: Read) -> bool:
    """Read a number back mark by mark and return whether it is right."""
    marks = read.text.replace("-", "minus ").replace(".", " point ").replace(",", " point ")
    spelled = " ".join(" ".join(p) if p.isdigit() else p for p in marks.split())
    return asker.ask(f"Read back: {spelled}. Right?", ("yes", "no")) == "yes"


def _close(asker: Asker, script: Script, end: End | None, record: JobRecord, width: int, fitted: str) -> int:
    """Show the end, ask what was moved, and keep both with the reason.

    Parameters: `fitted`, what was told of what is fitted.
    """
    if end is not None:
        for line in ["", *end_lines(end, script.owner, width)]:
            asker.say(line, style="bold red" if line.startswith("Caution:") else "")
    moved = asker.ask("What was moved or switched, and put back? (Enter: nothing)", ("stop",), blank=True)
    advice = "the call was broken off" if end is None else f"{end.end}; {'; '.join(end.tell)}"
    sent = "" if end is None else f"; {': '.join((end.verdict.lower(), *filter(None, [', '.join(end.bring)])))}"
    _stopped(record, f"script: {advice}{sent}; moved: {moved or 'nothing'}", fitted)
    if fitted:
        text = f"Told of what is fitted: {fitted} Put it into the description before the walk goes on."
        asker.say("\n".join(textwrap.wrap(text, width)))
    asker.say(f"Go on at the vehicle with\ndiagnose walk --resume {taken_up_by(record.path)}")
    return 3 if end is not None and end.end == "danger" else 0
