"""`diagnose compare`: the joints of an installation then and now, and what has drifted."""

from __future__ import annotations

import os
from typing import Annotated

import typer

from diagnose.basics.errors import BadInput, Problem, printable

__all__ = ["compare"]


def compare(
    then: Annotated[
        str, typer.Argument(help="The earlier commissioning: its name, as `diagnose jobs` lists it, or its file.")
    ],
    now: Annotated[str, typer.Argument(help="The later one, of the same installation.")],
    folder: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> int:
    """Show each joint's resistance then and now with its uncertainty, what has drifted first. Status 1: something has.

    Example: diagnose compare cases/examples/tray_handed_over.jsonl cases/examples/tray_come_back.jsonl
    """
    import json
    import shutil

    from diagnose.cli.commission_report import commissioning_of
    from diagnose.commissioning.drift import paired
    from diagnose.commissioning.record import baseline_of
    from diagnose.present.comparison import comparison_json, comparison_lines
    from diagnose.store.jobs import job_path, jobs_folder

    place = jobs_folder(folder, os.environ)
    _, first, *_ = commissioning_of(job_path(then, place))
    found, last, *_ = commissioning_of(job_path(now, place))
    if first.installation.parts.keys() != last.installation.parts.keys():
        right = "name two commissionings of one installation"
        raise BadInput([Problem(found.id, None, None, "it is of another installation, with other parts", right)])
    pairs = paired(baseline_of(first.results(), first.tables), baseline_of(last.results(), last.tables))
    if as_json:
        typer.echo(json.dumps(comparison_json(pairs), ensure_ascii=False, indent=1))
    else:
        width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
        for line in comparison_lines(pairs, last.installation, width):
            typer.echo(printable(line))
    return int(any(drifted for _, _, drifted in pairs))
