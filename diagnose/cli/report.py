"""`diagnose report`: one job as a report for the terminal."""

from __future__ import annotations

import os
from typing import Annotated

import typer

__all__ = ["report"]


def report(
    job: Annotated[str, typer.Argument(help="A job: its name, as `diagnose jobs` lists it, or its file.")],
    folder: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> int:
    """Show a job: what was told and read, what follows from it, and how it stands.

    Example: diagnose report cases/examples/crew_cab_tray_job.jsonl
    """
    import shutil

    from diagnose.basics.errors import printable
    from diagnose.cli.loading import figures, rule_base
    from diagnose.present.walk_report import report_lines
    from diagnose.session.advice import Adviser
    from diagnose.session.walk import Session
    from diagnose.store.jobs import installation_of, job_path, jobs_folder, load_job

    found = load_job(job_path(job, jobs_folder(folder, os.environ)))
    installation, rules = installation_of(found), rule_base()
    session = Session(Adviser(installation, rules, figures(), int(found.head.get("seed", 1))), found.events)
    ranking = session.ranking if session.facts.readings else None
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    begun = str(found.head.get("begun"))
    for line in report_lines(found.id, begun, session.facts, session.step, ranking, installation, rules, width):
        typer.echo(printable(line))
    if found.torn:
        typer.echo("The last line of the record had been cut short and is left out.")
    return 3 if session.facts.state == "danger" else 0
