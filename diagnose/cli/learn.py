"""`diagnose learn`: what the proved repairs of closed jobs teach of how often each fault occurs."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from pathlib import Path

    from diagnose.model.fault import FaultAt
    from diagnose.model.figures import Tables
    from diagnose.model.rules import RuleBase
    from diagnose.session.advice import Adviser
    from diagnose.store.jobs import Job
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["learn"]


class _TeachesNothing(Exception):  # noqa: N818 - no error of anybody
    """A job from which nothing is learnt, with the reason."""


def learn(
    jobs: Annotated[
        list[str] | None,
        typer.Argument(help="Closed jobs: names, as `diagnose jobs` lists them, or files; all that are kept if none."),
    ] = None,
    folder: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    into: Annotated[
        str | None, typer.Option("--into", help="Write the frequencies into this folder, for --rules; else only shown.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="With --into: write over what was learnt before.")] = False,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> int:
    """Show how often faults occur by the repairs that your closed jobs proved, on top of what ships; apply nothing.

    Example: diagnose learn cases/examples/crew_cab_tray_job.jsonl
    """
    import json
    import shutil

    from diagnose.basics.errors import printable
    from diagnose.cli.loading import rule_base, rules_named
    from diagnose.inference.learning import learn as learnt
    from diagnose.present.lessons import lessons_json, lessons_lines
    from diagnose.store.learnt_rules import write_learnt

    if force and into is None:
        raise BadInput([Problem("--force", None, None, "it goes with --into alone", "add --into FOLDER")])
    folders = rules_named(rules_from)
    rules = rule_base(rules=folders)
    repairs, left_out = _gathered(jobs, folder, rules, folders)
    lessons, weight = learnt(rules, repairs)
    if into is not None and not repairs:
        right = "close a job with a repair that a reading has proved, then learn"
        raise BadInput([Problem("--into", None, None, "no repair is proved, so there is nothing to write", right)])
    written = write_learnt(into, lessons, force) if into is not None else ()
    if as_json:
        typer.echo(json.dumps(lessons_json(lessons, weight, left_out), ensure_ascii=False, indent=1))
        return 0
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    for line in lessons_lines(lessons, weight, left_out, width):
        typer.echo(line)
    if written:
        typer.echo(f"Written: {len(written)} files in {printable(str(into))}. They hold where --rules names it.")
    elif repairs:
        typer.echo("Nothing is applied. To keep it for --rules: --into FOLDER")
    return 0


def _gathered(
    named: list[str] | None, folder: str | None, rules: RuleBase, folders: RuleFolders
) -> tuple[list[tuple[dict[str, float], str]], list[tuple[str, str]]]:
    """Return the proved repairs of the jobs, each job once, and what was left out with the reason.

    A job that was named and cannot be read is bad input; one that only lies in the folder is left out.
    """
    from diagnose.cli.loading import figures
    from diagnose.store.jobs import job_path, jobs_folder

    tables = figures(folders)
    place = jobs_folder(folder, os.environ)
    problems: list[Problem] = []
    repairs: list[tuple[dict[str, float], str]] = []
    left_out: list[tuple[str, str]] = []
    seen: set[Path] = set()
    for name in named or sorted(str(file) for file in place.glob("*.jsonl")):
        try:
            path = job_path(name, place)
            if path.resolve() not in seen:
                seen.add(path.resolve())
                repairs += _repairs_of(path, rules, tables, folders)
        except _TeachesNothing as nothing:
            left_out.append((name, str(nothing)))
        except BadInput as error:
            if named:
                problems += error.problems
            else:
                left_out.append((name, error.problems[0].what))
    if problems:
        raise BadInput(problems)
    return repairs, left_out


def _repairs_of(
    path: Path, rules: RuleBase, tables: Tables, folders: RuleFolders
) -> list[tuple[dict[str, float], str]]:
    """Return the weights of all faults on the vehicle and the fault, of each proved repair of a job.

    Raises: _TeachesNothing, with the reason, where there is none; BadInput where the job cannot be read.
    """
    from diagnose.inference.learning import weights_by_fault
    from diagnose.session.advice import Adviser
    from diagnose.session.closed import CLOSED, proved_repairs
    from diagnose.session.walk import OutOfPlace
    from diagnose.store.commissioning_jobs import is_commissioning
    from diagnose.store.jobs import installation_of, load_job
    from diagnose.store.jobs_checks import seed_of
    from diagnose.store.jobs_record import read_lines

    lines = read_lines(path)
    if lines.data and is_commissioning(lines.data[0]):
        raise _TeachesNothing("a commissioning proves no repair")
    job = load_job(path, lines)
    if job.state != CLOSED:
        raise _TeachesNothing("no repair is proved: the walk is not done")
    installation = installation_of(job, folders)
    known = weights_by_fault(installation, rules)
    strange = [f for f in _mended(job) if f.part not in installation.parts or not known.get(f.fault)]
    if strange:
        raise _TeachesNothing(f"`{strange[0].fault}` of `{strange[0].part}` is no fault here by the rules of today")

    def adviser() -> Adviser:
        return Adviser(installation, rules, tables, seed_of(job.path, job.head))

    try:
        found = proved_repairs(job.events, job.state, adviser)
    except OutOfPlace:
        raise _TeachesNothing("by the rules of today the walk takes another way") from None
    if not found:
        raise _TeachesNothing("no reading proves a repair")
    return [(known, fault.fault) for fault in found]


def _mended(job: Job) -> list[FaultAt]:
    return [event.fault for event in job.events if event.kind == "repaired" and event.fault is not None]
