"""`diagnose report`: one job as a report for the terminal."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli.commission_report import show_commissioning
from diagnose.cli.report_card import owner_card
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.model.installation import Installation
    from diagnose.model.rules import RuleBase
    from diagnose.session.walk import Session
    from diagnose.store.jobs import Job
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["report"]


def report(
    job: Annotated[str, typer.Argument(help="A job: its name, as `diagnose jobs` lists it, or its file.")],
    folder: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
    html: Annotated[str | None, typer.Option("--html", help="Write the report as a page to this file.")] = None,
    statement: Annotated[
        bool, typer.Option("--statement", help="With --html: the page for a warranty desk, facts apart from inference.")
    ] = False,
    card: Annotated[
        bool, typer.Option("--card", help="With --html: the owner's card, what is normal here and when to stop.")
    ] = False,
    markdown: Annotated[bool, typer.Option("--markdown", help="A commissioning: print it as Markdown.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="A commissioning: print it as one JSON object.")] = False,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")] = False,
) -> int:
    """Show a job: what was told and read, what follows from it, and how it stands.

    Example: diagnose report cases/examples/crew_cab_tray_job.jsonl
    """
    import shutil

    from diagnose.basics.errors import BadInput, Problem, printable
    from diagnose.cli.loading import figures, rule_base
    from diagnose.store.commissioning_jobs import first_of, is_commissioning
    from diagnose.store.jobs import installation_of, job_path, jobs_folder, load_job
    from diagnose.store.jobs_rules import rules_of
    from diagnose.store.new_file import write_new

    _agree(html, statement, card, force)
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    path = job_path(job, jobs_folder(folder, os.environ))
    if is_commissioning(first_of(path)):
        if statement:
            right = "ask for it of the walk that looked for the cause, or leave --statement out"
            raise BadInput([Problem("--statement", None, None, "a commissioning convicts no part", right)])
        return show_commissioning(path, html, markdown, as_json, card, force, width, rules_from)
    if markdown or as_json:
        name = "--markdown" if markdown else "--json"
        raise BadInput([Problem(name, None, None, "it goes with the record of a commissioning", "leave it out")])
    # Not before: the record of a commissioning needs neither.
    from diagnose.cli.job_session import session_of
    from diagnose.present.walk_report import report_lines

    found = load_job(path)
    folders = rules_of(found.head, found.path, rules_from)
    installation, rules = installation_of(found, folders), rule_base(rules=folders)
    tables = figures(folders)
    if html is not None and card:
        write_new(html, owner_card(installation, rules, tables), force)
        typer.echo(f"written: {printable(html)}")
        return 0
    session = session_of(found, installation, rules, tables)
    ranking = session.ranking if session.facts.readings else None
    if html is not None:
        write_new(html, _page(found, session, installation, rules, statement, folders), force)
        typer.echo(f"written: {printable(html)}")
        return 3 if session.facts.state == "danger" else 0
    begun = str(found.head.get("begun"))
    for line in report_lines(found.id, begun, session.facts, session.step, ranking, installation, rules, width):
        typer.echo(printable(line))
    if found.torn:
        typer.echo("The last line of the record had been cut short and is left out.")
    return 3 if session.facts.state == "danger" else 0


def _agree(html: str | None, statement: bool, card: bool, force: bool) -> None:
    """Refuse options that do not go together, and a file that is there already."""
    from diagnose.basics.errors import BadInput, Problem
    from diagnose.store.new_file import refuse_taken

    if card and statement:
        raise BadInput([Problem("--card", None, None, "it is another page than --statement", "ask for one at a time")])
    if html is None and (statement or card or force):
        name = "--statement" if statement else "--card" if card else "--force"
        raise BadInput([Problem(name, None, None, "it goes with --html alone", "add --html FILE")])
    if html is not None:
        refuse_taken(html, force)


def _page(
    job: Job, session: Session, installation: Installation, rules: RuleBase, statement: bool, folders: RuleFolders
) -> str:
    """Return the job as a page: the report, or the statement for a warranty desk."""
    import hashlib

    from diagnose.drawing.placing import picture_of
    from diagnose.model.reading import Reading
    from diagnose.present.picture_notes import convicted_faults, reading_notes
    from diagnose.present.report_page import Origin, report_page, statement_page
    from diagnose.present.svg import svg_slices
    from diagnose.store.jobs_rules import changed_since

    facts = session.facts
    digest = hashlib.sha256(installation.model_dump_json().encode()).hexdigest()[:16]
    version, used = str(job.head.get("version")), str(job.head.get("rules"))
    origin = Origin(job.id, str(job.head.get("begun")), version, used, digest, changed_since(job.head, folders))
    ranking = session.ranking if facts.readings else None
    if not statement:
        notes = reading_notes(facts.readings, convicted_faults(ranking) if ranking else (), installation)
        picture = svg_slices(picture_of(installation, notes))
        return report_page(origin, facts, ranking, installation, rules, picture)
    first: tuple[Reading, ...] = facts.readings
    for number, reading in enumerate(facts.readings):
        if reading.repaired is not None:
            first = facts.readings[:number]
            break
    before = session.adviser.ranking(facts._replace(readings=first)) if first else None
    return statement_page(origin, facts, before, installation, rules, ranking)
