"""`diagnose jobs`: the walks that are kept, searched by words, with where each stands."""

from __future__ import annotations

import os
from typing import Annotated

import typer

__all__ = ["jobs"]


def jobs(
    words: Annotated[
        list[str] | None, typer.Argument(help="Words to search for: in the name, the vehicle, complaint and state.")
    ] = None,
    folder: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> int:
    """List the jobs that are kept, the last changed first, with where each stands.

    Example: diagnose jobs repaired
    """
    import shutil

    from diagnose.basics.errors import printable
    from diagnose.present.walk_report import job_lines, state_words
    from diagnose.store.jobs import Job, jobs_folder, list_jobs

    place = jobs_folder(folder, os.environ)
    found = list_jobs(place)
    wanted = [word.casefold() for word in words or ()]

    def told(job: Job) -> str:
        complaints = [event.text for event in job.events if event.kind == "complaint"]
        parts = (job.id, str(job.head.get("title")), str(job.head.get("begun")), state_words(job.state), *complaints)
        return " ".join(parts).casefold()

    kept = [j for j, _ in found if j is not None and all(word in told(j) for word in wanted)]
    rows = [(j.id, str(j.head.get("begun")), j.state, str(j.head.get("title")), j.answered) for j in kept]
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    for line in job_lines(rows, width):
        typer.echo(printable(line))
    for _, wrong in found:
        if wrong:
            typer.echo(f"damaged: {printable(wrong)}")
    if not rows:
        typer.echo(f"no job{' like that' if wanted else ''} in {printable(str(place))}; begin one: diagnose walk")
    return 0
