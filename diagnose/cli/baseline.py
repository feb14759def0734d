"""The baseline of a commissioning as something that is known of an installation, for `expect`, `rank` and `walk`."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.model.installation import Installation

__all__ = ["BASELINE_HELP", "with_baseline"]

BASELINE_HELP = "A commissioning of this installation, by name or file: what its joints were on day one."


def with_baseline(installation: Installation, job: str | None, jobs: str | None = None) -> Installation:
    """Return an installation with the resistances that were read when it was handed over, and how long ago that was.

    Parameters: `job`, a commissioning by name or by file, None for none; `jobs`, the folder that jobs are kept in.
    Raises: BadInput where there is no such commissioning, or where it is of another installation.
    """
    if job is None:
        return installation
    from datetime import date

    from diagnose.basics.errors import BadInput, Problem
    from diagnose.cli.commission_report import commissioning_of
    from diagnose.commissioning.record import baseline_of, known_of
    from diagnose.store.jobs import job_path, jobs_folder

    path = job_path(job, jobs_folder(jobs, os.environ))
    found, kept, *_ = commissioning_of(path)
    if kept.installation.parts.keys() != installation.parts.keys():
        right = "name a commissioning of this one"
        raise BadInput([Problem("--baseline", None, None, f"{found.id} is of another installation", right)])
    days = max((date.today() - _day(found.head)).days, 0)
    return installation.model_copy(update={"measured": known_of(baseline_of(kept.results(), kept.tables), days)})


def _day(head: dict[str, object]):  # type: ignore[no-untyped-def]
    """Return the day of a commissioning: as typed if it is a date, else when it was begun."""
    from datetime import date

    for key in ("date", "begun"):
        try:
            return date.fromisoformat(str(head.get(key)))
        except ValueError:
            continue
    return date.today()
