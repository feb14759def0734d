"""`diagnose walk`: from complaint to proved repair, one question at a time, every answer kept before the next."""

from __future__ import annotations

import os
import shutil
import sys
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem, printable
from diagnose.cli.baseline import BASELINE_HELP, with_baseline
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.cli.asker import Asker
    from diagnose.cli.walk_dialogue import View
    from diagnose.session.walk import Session
    from diagnose.store.jobs_record import JobRecord

__all__ = ["walk"]

#: columns from which the ranking stands at the side
WIDE = 110


def walk(
    file: Annotated[
        str | None, typer.Argument(help="The installation: a file or a layout that ships; asked for if left out.")
    ] = None,
    resume: Annotated[str | None, typer.Option("--resume", help="Go on with a job: its name or its file.")] = None,
    jobs: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    tools: Annotated[str | None, typer.Option("--tools", help="Tools at hand, so that they are not asked for.")] = None,
    complaint: Annotated[
        str | None, typer.Option("--complaint", help="The complaint in free words, its id or number; or none.")
    ] = None,
    answers: Annotated[
        str | None, typer.Option("--answers", help="A file of answers, one a line, in place of typing them.")
    ] = None,
    baseline: Annotated[str | None, typer.Option("--baseline", help=BASELINE_HELP)] = None,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Do without the cache folder.")] = False,
) -> int:
    """Find a fault step by step: one question at a time, until the repair is proved by a reading.

    Example: diagnose walk crew_cab_tray --complaint "does not charge while driving" --tools multimeter,eyes
    """
    from diagnose.cli.asker import open_asker
    from diagnose.store.answers import load_answers

    asker = open_asker(plain, None if answers is None else load_answers(answers))
    if resume is not None:
        if file is not None or complaint is not None or tools is not None or baseline is not None:
            right = "leave the installation, --tools, --complaint and --baseline out: the job has them"
            raise BadInput([Problem("--resume", None, None, "a job goes on as it is", right)])
        return _resume(asker, resume, jobs, rules_from)
    return _begin(asker, file, jobs, _given(tools, complaint), seed, baseline, rules_from)


def _given(tools: str | None, complaint: str | None) -> list[tuple[str, str]]:
    """Return what was told on the command line, in the order in which the walk asks for it."""
    from diagnose.cli.loading import chosen_tools

    given = [] if tools is None else [("tools", ",".join(chosen_tools(tools)))]
    return given if complaint is None else [*given, ("complaint", complaint)]


def _begin(
    asker: Asker, file: str | None, jobs: str | None, given: list[tuple[str, str]], seed: int, baseline: str | None,
    rules_from: str | None,
) -> int:  # fmt: skip
    from datetime import date

    from diagnose import __version__
    from diagnose.cli.asker import EndOfAnswers
    from diagnose.cli.loading import figures, installation_named, rule_base, rules_named
    from diagnose.cli.walk_layout import pick_installation
    from diagnose.session.advice import Adviser
    from diagnose.session.walk import Session
    from diagnose.store.jobs import first_line, job_name, jobs_folder
    from diagnose.store.jobs_record import JobRecord

    folder, folders = jobs_folder(jobs, os.environ), rules_named(rules_from)
    text = None
    if file is None:
        try:
            file, text, installation = pick_installation(asker, _width(), folders)
        except EndOfAnswers as end:
            asker.say(f"({end}: no job was begun)")
            return 0
    else:
        installation = installation_named(file, folders)
    installation = with_baseline(installation, baseline, jobs)
    first = first_line(installation, file, text, __version__, seed, date.today().isoformat(), folders)
    adviser = Adviser(installation, rule_base(rules=folders), figures(folders), seed)
    with JobRecord.begin(folder, job_name(installation.title), first) as record:
        session = Session(adviser)
        asker.say(f"Job {record.path.stem}\n{printable(installation.title)}")
        return _walk(asker, session, record, given)


def _resume(asker: Asker, job: str, jobs: str | None, rules_from: str | None) -> int:
    from diagnose.cli.job_session import session_of
    from diagnose.cli.loading import figures, rule_base
    from diagnose.session.events import Event
    from diagnose.session.transitions import ENDS
    from diagnose.store.jobs import installation_of, job_path, jobs_folder, load_job
    from diagnose.store.jobs_record import JobRecord
    from diagnose.store.jobs_rules import changed_since, rules_of

    with JobRecord.resume(job_path(job, jobs_folder(jobs, os.environ))) as record:
        found = load_job(record.path, record.lines)
        folders = rules_of(found.head, found.path, rules_from)
        installation = installation_of(found, folders)
        session = session_of(found, installation, rule_base(rules=folders), figures(folders))
        asker.say(f"Job {found.id}, {len(session.events)} answers so far\n{printable(installation.title)}")
        if found.torn:
            asker.say("The last line had been cut short and is dropped; all that was acknowledged is there.")
        if changed_since(found.head, folders):
            asker.say("The rule base has changed since; what was told is weighed anew.")
        if session.facts.state in ENDS:
            _keeper(record)(Event("reopen"), session) if session.feed(Event("reopen")) else None
        if session.facts.looking:
            asker.say("It had ended. Since it is taken up again, something\nis taken to be still wrong.")
        return _walk(asker, session, record, [])


def _walk(asker: Asker, session: Session, record: JobRecord, given: list[tuple[str, str]]) -> int:
    """Ask until the walk ends, and return the exit status."""
    from diagnose.cli.asker import EndOfAnswers
    from diagnose.cli.job_session import taken_up_by
    from diagnose.cli.walk_dialogue import ask_all
    from diagnose.cli.walk_warming import Ahead

    name = taken_up_by(record.path)
    again = f"diagnose walk --resume {name}"
    ahead = Ahead(session)
    try:
        found = ask_all(asker, session, _view(asker), _keeper(record), record.path.stem, given, ahead)
    except EndOfAnswers as end:
        asker.say(f"({end}: all that was told is kept; go on with\n{again})")
        return 0
    except KeyboardInterrupt:
        asker.say(f"\n(interrupted: all that was told is kept; go on with\n{again})")
        raise
    finally:
        ahead.wait()  # a thread that is still computing must not outlive the interpreter
    asker.say(f"Go on with {again}\nRead it with diagnose report {name}")
    return 3 if found.because == "danger" else 0


def _keeper(record: JobRecord):  # type: ignore[no-untyped-def]
    from diagnose.store.jobs_form import event_data

    def keep(event, session) -> None:  # type: ignore[no-untyped-def]
        record.append({**event_data(event), "state": session.facts.state})

    return keep


def _width() -> int:
    return max(shutil.get_terminal_size((80, 24)).columns, 40)


def _view(asker: Asker) -> View:
    from diagnose.cli.walk_dialogue import View

    columns = _width()
    side = columns >= WIDE and not asker.plain and sys.stdout.isatty()
    return View(min(columns, 160) if side else min(columns, 90), side)
