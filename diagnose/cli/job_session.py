"""The walk that a kept job stands for: read, checked, and led on to where it stood; and by what it is taken up."""

from __future__ import annotations

import os
import shlex
from typing import TYPE_CHECKING

from diagnose.basics.errors import BadInput, Problem

if TYPE_CHECKING:
    from pathlib import Path

    from diagnose.model.figures import Tables
    from diagnose.model.installation import Installation
    from diagnose.model.rules import RuleBase
    from diagnose.session.walk import Session
    from diagnose.store.jobs import Job

__all__ = ["session_of", "taken_up_by"]


def session_of(job: Job, installation: Installation, rules: RuleBase, tables: Tables) -> Session:
    """Return the walk of a job.

    Parameters: `job`; `installation`, the job's own unless its readings are to stand in another's picture.
    Raises: BadInput, with the line, where an event does not fit the installation or has no place where it stands: a
    record that was edited.
    """
    from diagnose.session.advice import Adviser
    from diagnose.session.walk import OutOfPlace, Session
    from diagnose.store.jobs_checks import check_events, seed_of

    check_events(job, installation, rules.faults)
    try:
        adviser = Adviser(installation, rules, tables, seed_of(job.path, job.head))
        return Session(adviser, job.events, job.states)
    except OutOfPlace as error:
        line = next((number for number, event in enumerate(job.events, 2) if event is error.event), None)
        problem = Problem(str(job.path), line, 1, str(error), "restore the record from a copy")
        raise BadInput([problem]) from None


def taken_up_by(path: Path) -> str:
    """Return by what a record is taken up again, as typed: its id if that finds it, else its file."""
    from diagnose.store.jobs import job_path, jobs_folder

    try:
        found = job_path(path.stem, jobs_folder(None, os.environ))
    except BadInput:
        return shlex.quote(str(path))
    return path.stem if found.resolve() == path.resolve() else shlex.quote(str(path))
