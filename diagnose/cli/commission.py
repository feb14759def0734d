"""`diagnose commission`: an installation proved step by step before it leaves, and the hand-over record."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem, printable
from diagnose.cli.commission_job import carry, job_made, record_made
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.cli.asker import Asker
    from diagnose.cli.commission_dialogue import Told
    from diagnose.commissioning.progress import Commissioning
    from diagnose.model.commissioning import CommissioningRecord
    from diagnose.model.installation import Installation
    from diagnose.model.rules import RuleBase
    from diagnose.store.jobs_record import JobRecord
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["commission"]


def commission(
    file: Annotated[
        str | None, typer.Argument(help="The installation: a file, or the name of a layout that ships.")
    ] = None,
    resume: Annotated[
        str | None, typer.Option("--resume", help="A commissioning that was begun, by name or by file.")
    ] = None,
    jobs: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    readings: Annotated[
        str | None, typer.Option("--readings", help="A readings file: what was read already, asked for no more.")
    ] = None,
    answers: Annotated[
        str | None, typer.Option("--answers", help="A file of answers, one a line, in place of typing them.")
    ] = None,
    sheet: Annotated[
        bool, typer.Option("--sheet", help="Ask nothing: print every step with its limit and what it should read.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Ask nothing: print the record as one JSON object.")] = False,
    name: Annotated[str, typer.Option("--name", help="Who commissions, as it is to stand in the record.")] = "",
    day: Annotated[str, typer.Option("--date", help="The date, as it is to stand in the record.")] = "",
    meter: Annotated[str, typer.Option("--meter", help="The meter and clamp used, as they are to stand there.")] = "",
    temperature: Annotated[
        float | None, typer.Option("--temperature", help="The temperature of the air, in degC.", min=-60, max=80)
    ] = None,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> int:
    """Prove that an installation works, step by step, each with the value it should show. Status 1: a step failed.

    Example: diagnose commission crew_cab_tray --name "R. Sample" --meter "true-RMS meter and DC clamp"
    """
    if resume is not None:
        if file is not None or readings is not None or sheet:
            right = "leave the installation, --readings and --sheet out: the record has them"
            raise BadInput([Problem("--resume", None, None, "a commissioning goes on as it is", right)])
        return _resume(resume, jobs, answers, as_json, plain, rules_from)
    if file is None:
        right = "give a file, the name of a layout, or --resume"
        raise BadInput([Problem("FILE", None, None, "no installation is named", right)])
    from diagnose.cli.loading import rules_named

    folders = rules_named(rules_from)
    if not (sheet or as_json):
        head: dict[str, object] = {"name": name, "date": day, "meter": meter, "temperature": temperature, "seed": seed}
        return _begin(file, readings, jobs, answers, head, plain, folders)
    job, rules = _made(file, seed, folders)
    if readings is not None:
        carry(readings, job)
    if sheet and not as_json:
        _sheet(job, rules)
        return 0
    _show(record_made(job, rules, folders, name, day, meter), job.installation, as_json)
    return _status(job)


def _sheet(job: Commissioning, rules: RuleBase) -> None:
    """Print the sheet that is filled in by hand: cautions first, then every step with what it should read here."""
    from diagnose.commissioning.expecting import expected_words
    from diagnose.present.commissioning_step import sheet_lines
    from diagnose.present.terminal import FIRST_WORDS
    from diagnose.present.walk_words import wrapped

    used = {name for planned in job.planned for name in planned.step.cautions}
    cautions = (FIRST_WORDS, *(c.says for c in rules.cautions.values() if c.id in used))
    lines = [f"{job.installation.title}: commissioning sheet", ""]
    lines += [line for says in cautions for line in wrapped(f"Caution: {says}", _width(), hang="  ")]
    phase, bench = "", job.bench()
    for number, planned in enumerate(job.planned, 1):
        if planned.step.phase != phase:
            phase = planned.step.phase
            lines += ["", f"== {phase} =="]
        count, expected = (number, len(job.planned)), expected_words(planned, bench)
        lines += sheet_lines(planned.step, count, expected, job.installation, _width())
    for line in lines:
        typer.echo(printable(line))


def _width() -> int:
    import shutil

    return min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)


def _made(file: str, seed: int, folders: RuleFolders) -> tuple[Commissioning, RuleBase]:
    from diagnose.cli.loading import installation_named, rule_base

    installation, rules = installation_named(file, folders), rule_base(rules=folders)
    return job_made(installation, rules, folders, seed), rules


def _show(record: CommissioningRecord, installation: Installation, as_json: bool) -> None:
    import json

    from diagnose.present.commissioning_json import record_json
    from diagnose.present.commissioning_text import record_lines

    if as_json:
        typer.echo(json.dumps(record_json(record), ensure_ascii=False, indent=1))
        return
    for line in record_lines(record, installation, _width()):
        typer.echo(printable(line))


def _status(job: Commissioning) -> int:
    return 3 if job.danger() else int(any(r.verdict == "FAIL" for r in job.results()))


def _begin(
    file: str, readings: str | None, jobs: str | None, answers: str | None, head: dict[str, object], plain: bool,
    folders: RuleFolders,
) -> int:  # fmt: skip
    from datetime import date

    from diagnose import __version__
    from diagnose.cli.asker import open_asker
    from diagnose.store.answers import load_answers
    from diagnose.store.commissioning_jobs import KIND, step_data
    from diagnose.store.jobs import first_line, job_name, jobs_folder
    from diagnose.store.jobs_record import JobRecord

    asker = open_asker(plain, None if answers is None else load_answers(answers))
    seed = int(str(head["seed"]))
    job, rules = _made(file, seed, folders)
    if readings is not None:
        carry(readings, job)
    first = first_line(job.installation, file, None, __version__, seed, date.today().isoformat(), folders)
    first |= {"job": KIND, **{key: head[key] for key in ("name", "date", "meter", "temperature")}}
    named = f"{job_name(job.installation.title)}-commissioning"
    with JobRecord.begin(jobs_folder(jobs, os.environ), named, first) as kept:
        for event in job.events:
            kept.append(step_data(event))
        asker.say(f"Commissioning {kept.path.stem}\n{printable(job.installation.title)}")
        return _ask(asker, job, rules, kept, first)


def _resume(
    name: str, jobs: str | None, answers: str | None, as_json: bool, plain: bool, rules_from: str | None
) -> int:
    from diagnose.cli.asker import open_asker
    from diagnose.cli.commission_report import commissioning_of
    from diagnose.store.answers import load_answers
    from diagnose.store.jobs import job_path, jobs_folder
    from diagnose.store.jobs_record import JobRecord
    from diagnose.store.jobs_rules import changed_since

    path = job_path(name, jobs_folder(jobs, os.environ))
    if as_json:
        found, job, rules, folders = commissioning_of(path, rules_from=rules_from)
        head = found.head
        record = record_made(job, rules, folders, *(str(head.get(key) or "") for key in ("name", "date", "meter")))
        _show(record, job.installation, True)
        return _status(job)
    asker = open_asker(plain, None if answers is None else load_answers(answers))
    with JobRecord.resume(path) as kept:
        found, job, rules, folders = commissioning_of(path, kept.lines, rules_from)
        asker.say(f"Commissioning {found.id}, {len(job.events)} answers so far\n{printable(job.installation.title)}")
        if found.torn:
            asker.say("The last line had been cut short and is dropped; all that was acknowledged is there.")
        if changed_since(found.head, folders):
            asker.say("The rule base has changed since; what was told is judged anew.")
        return _ask(asker, job, rules, kept, found.head)


def _ask(asker: Asker, job: Commissioning, rules: RuleBase, kept: JobRecord, head: dict[str, object]) -> int:
    """Ask until nothing is open, and return the exit status."""
    from diagnose.cli.asker import EndOfAnswers
    from diagnose.cli.commission_dialogue import Stop, ask_steps
    from diagnose.cli.commission_find import finder
    from diagnose.cli.job_session import taken_up_by
    from diagnose.present.terminal import FIRST_WORDS
    from diagnose.present.walk_words import wrapped
    from diagnose.store.commissioning_jobs import step_data

    width = min(_width(), 90)
    for line in wrapped(FIRST_WORDS, width):
        asker.say(line)
    name = taken_up_by(kept.path)
    again = f"diagnose commission --resume {name}"
    find = finder(asker, rules, kept.path.parent, head, width)
    try:
        danger = ask_steps(asker, job, rules, _told(asker, head), lambda e: kept.append(step_data(e)), find, width)
    except (Stop, EndOfAnswers) as end:
        why = f"{end}: " if str(end) else ""
        asker.say(f"({why}all that was told is kept; go on with\n{again})")
        return _end(asker, job, name)
    except KeyboardInterrupt:
        asker.say(f"\n(interrupted: all that was told is kept; go on with\n{again})")
        raise
    for line in danger:
        asker.say(f"DANGER: {line}", style="bold red")
    return _end(asker, job, name)


def _told(asker: Asker, head: dict[str, object]) -> Told:
    """Return what goes with every answer; a list of answers has no time."""
    from datetime import datetime

    from diagnose.cli.commission_dialogue import Told

    temperature = head.get("temperature")
    warmth = float(temperature) if isinstance(temperature, int | float) else None
    typed = asker.at_terminal
    return Told(lambda: datetime.now().isoformat("T", "minutes") if typed else "", warmth, str(head.get("meter") or ""))


def _end(asker: Asker, job: Commissioning, name: str) -> int:
    results = job.results()
    verdicts = ("PASS", "LOOK", "INVALID", "FAIL", "NOT DONE")
    asker.say("\n" + ", ".join(f"{sum(r.verdict == v for r in results)} {v}" for v in verdicts))
    asker.say(f"The record: diagnose report {name}\nAs a page: diagnose report {name} --html record.html")
    return _status(job)
