"""The way from a failed step into the guided walk and back: readings go over, repairs come back."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from diagnose.cli.asker import Asker
    from diagnose.commissioning.progress import Commissioning
    from diagnose.model.rules import RuleBase

__all__ = ["finder"]


#: keys of a commissioning's first line that a walk's has not
_OWN = ("job", "name", "date", "meter", "temperature")


def finder(
    asker: Asker, rules: RuleBase, folder: Path, head: Mapping[str, Any], width: int
) -> Callable[[Commissioning], tuple[str, ...]]:
    """Return what looks for the cause of what failed; `head` is the first line of the commissioning's record.

    A walk of its own is begun in the folder of jobs, with all readings carried over; the parts that were repaired in it
    come back. The walk asks for danger, tools and meter as always: the commissioning does not.
    """

    def find(job: Commissioning) -> tuple[str, ...]:
        from diagnose.cli.asker import EndOfAnswers
        from diagnose.cli.job_session import taken_up_by
        from diagnose.cli.walk_dialogue import View, ask_all
        from diagnose.session.advice import Adviser
        from diagnose.session.events import Event
        from diagnose.session.walk import Session
        from diagnose.store.jobs import job_name
        from diagnose.store.jobs_form import event_data
        from diagnose.store.jobs_record import JobRecord

        installation = job.installation
        first = {key: value for key, value in head.items() if key not in _OWN}
        session = Session(Adviser(installation, rules, job.tables, 1))
        with JobRecord.begin(folder, job_name(installation.title), first) as record:

            def keep(event: Event, at: Session) -> None:
                record.append({**event_data(event), "state": at.facts.state})

            for reading in job.readings():
                event = Event("reading", reading=reading)
                session.feed(event)
                keep(event, session)
            carried = len(session.facts.readings)
            asker.say(f"\nLooking for the cause: {record.path.stem}, {carried} readings carried over")
            try:
                ask_all(asker, session, View(width), keep, record.path.stem, [("complaint", "none")])
            except EndOfAnswers as end:
                asker.say(f"({end}: go on with diagnose walk --resume {taken_up_by(record.path)})")
        return tuple(dict.fromkeys(fault.part for fault in session.facts.mended))

    return find
