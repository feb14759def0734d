"""`diagnose draw`: the wiring picture of an installation as SVG, with the readings of a job where they were taken."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from diagnose.cli.words import RULES_HELP

__all__ = ["draw"]


def draw(
    file: Annotated[str, typer.Argument(help="The installation: a file, or the name of a layout that ships.")],
    job: Annotated[str | None, typer.Option("--job", help="A job whose readings stand in the picture.")] = None,
    output: Annotated[str | None, typer.Option("-o", "--output", help="The SVG file to write.")] = None,
    folder: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")] = False,
) -> int:
    """Draw the wiring: positive run above, devices between, negative run and body below.

    Example: diagnose draw crew_cab_tray
    """
    from diagnose.basics.errors import printable
    from diagnose.cli.loading import figures, installation_named, rule_base, rules_named
    from diagnose.drawing.placing import picture_of
    from diagnose.model.picture import Note
    from diagnose.present.picture_notes import convicted_faults, reading_notes
    from diagnose.present.svg import svg_text
    from diagnose.store.jobs import job_path, jobs_folder, load_job
    from diagnose.store.jobs_rules import rules_of
    from diagnose.store.new_file import refuse_taken, write_new

    if output is not None:
        refuse_taken(output, force)
    found = None if job is None else load_job(job_path(job, jobs_folder(folder, os.environ)))
    folders = rules_named(rules_from) if found is None else rules_of(found.head, found.path, rules_from)
    installation = installation_named(file, folders)
    tables = figures(folders)
    notes: dict[str, list[Note]] = {}
    if found is not None:
        from diagnose.cli.job_session import session_of

        session = session_of(found, installation, rule_base(rules=folders), tables)
        convicted = convicted_faults(session.ranking) if session.facts.readings else ()
        notes = reading_notes(session.facts.readings, convicted, installation)
    text = svg_text(picture_of(installation, notes))
    if output is None:
        typer.echo(text, nl=False)
    else:
        write_new(output, text, force)
        typer.echo(f"written: {printable(output)}")
    return 0
