"""A kept commissioning as a record again, for `report`, `compare` and `commission --resume`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from diagnose.cli.commission_job import job_made, record_made
from diagnose.cli.report_card import owner_card

if TYPE_CHECKING:
    from diagnose.commissioning.progress import Commissioning
    from diagnose.model.rules import RuleBase
    from diagnose.store.commissioning_jobs import CommissioningJob
    from diagnose.store.jobs_record import Lines
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["commissioning_of", "show_commissioning"]


class Kept(NamedTuple):
    """A commissioning that was kept: its record, its steps judged anew, and the rules by which."""

    found: CommissioningJob
    job: Commissioning
    rules: RuleBase
    folders: RuleFolders


def commissioning_of(path: Path, lines: Lines | None = None, rules_from: str | None = None) -> Kept:
    """Return a commissioning that was kept, with its steps judged anew by the rules it was begun with.

    Parameters: `path`; `lines`, if they were read already; `rules_from`, where its own rules lie now, if moved.

    Raises: BadInput where it is damaged, or holds an answer that its step does not take.
    """
    from diagnose.basics.errors import BadInput, Problem
    from diagnose.basics.quantities import QuantityError
    from diagnose.cli.loading import rule_base
    from diagnose.store.commissioning_jobs import load_commissioning
    from diagnose.store.jobs import installation_of
    from diagnose.store.jobs_checks import seed_of
    from diagnose.store.jobs_rules import rules_of

    found = load_commissioning(path, lines)
    folders = rules_of(found.head, found.path, rules_from)
    rules = rule_base(rules=folders)
    job = job_made(installation_of(found, folders), rules, folders, seed_of(found.path, found.head))
    for number, event in enumerate(found.events, 2):
        if event.kind == "answer" and event.step not in job.by_id:
            continue  # the rule base has changed and no longer asks this
        try:
            job.feed(event)
        except QuantityError as error:
            raise BadInput([Problem(str(path), number, 1, error.what, error.right)]) from None
    return Kept(found, job, rules, folders)


def show_commissioning(
    path: Path, html: str | None, markdown: bool, as_json: bool, card: bool, force: bool, width: int,
    rules_from: str | None = None,
) -> int:  # fmt: skip
    """Show the record of a commissioning in the form asked for, and return the exit status."""
    import json

    import typer

    from diagnose.basics.errors import printable
    from diagnose.present.commissioning_json import record_json
    from diagnose.present.commissioning_page import commissioning_page
    from diagnose.present.commissioning_text import record_lines, record_markdown
    from diagnose.store.new_file import write_new

    found, job, rules, folders = commissioning_of(path, rules_from=rules_from)
    record = record_made(job, rules, folders, *(str(found.head.get(key) or "") for key in ("name", "date", "meter")))
    if html is not None:
        text = owner_card(job.installation, rules, job.tables) if card else commissioning_page(record, job.installation)
        write_new(html, text, force)
        typer.echo(f"written: {printable(html)}")
    elif as_json:
        typer.echo(json.dumps(record_json(record), ensure_ascii=False, indent=1))
    else:
        marked = record_markdown(record, job.installation).split("\n") if markdown else None
        for line in marked or record_lines(record, job.installation, width):
            typer.echo(printable(line))
    return 3 if job.danger() else int(any(row.verdict == "FAIL" for row in record.rows))
