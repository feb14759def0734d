"""The commissioning of an installation and its record, made from what the files say."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from diagnose.commissioning.progress import Commissioning, StepEvent
    from diagnose.model.commissioning import CommissioningRecord
    from diagnose.model.installation import Installation
    from diagnose.model.rules import RuleBase
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["carry", "job_made", "record_made"]


def job_made(installation: Installation, rules: RuleBase, folders: RuleFolders, seed: int) -> Commissioning:
    """Return the commissioning of an installation at its beginning."""
    from diagnose.cli.loading import figures
    from diagnose.commissioning.bands import Model
    from diagnose.commissioning.progress import Commissioning
    from diagnose.commissioning.sequence import planned_steps
    from diagnose.store.commissioning_rules import load_step_rules

    tables = figures(folders)
    planned = planned_steps(installation, load_step_rules(tables, folders.base), rules, tables)
    return Commissioning(installation, tables, planned, Model(installation, tables, rules, planned, seed))


def record_made(
    job: Commissioning, rules: RuleBase, folders: RuleFolders, name: str, day: str, meter: str
) -> CommissioningRecord:
    """Return the hand-over record as things stand."""
    import hashlib

    from diagnose import __version__
    from diagnose.commissioning.record import Signed, record_of

    digest = hashlib.sha256(job.installation.model_dump_json().encode()).hexdigest()[:16]
    used = (meter,) if meter else ()
    signed = Signed(name, day, used, __version__, folders.digest()[:16], digest)
    return record_of(job.installation, job.results(), job.tables, rules, signed)


def carry(readings: str, job: Commissioning, keep: Callable[[StepEvent], None] = lambda event: None) -> int:
    """Answer the steps whose test stands in a readings file, and return how many those are."""
    from diagnose.commissioning.progress import StepEvent
    from diagnose.store.readings import load_readings

    told = load_readings(readings, job.installation).readings
    read = {entry.take: entry.read for entry in told if entry.take is not None and entry.read is not None}
    count = 0
    for planned in job.planned:
        found = read.get(planned.step.take) if planned.step.take is not None else None
        if found is not None:
            event = StepEvent("answer", planned.step.id, found.text)
            job.feed(event)
            keep(event)
            count += 1
    return count
