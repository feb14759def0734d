"""Which repairs of a closed walk were proved: by its record where that is plain, else by walking it again.

It must not judge a repair itself: what proves one is the business of `proving`.
"""

from __future__ import annotations

from collections.abc import Callable

from diagnose.model.fault import FaultAt
from diagnose.session.advice import Adviser
from diagnose.session.events import Event, effective
from diagnose.session.facts import Facts
from diagnose.session.walk import Session

__all__ = ["CLOSED", "proved_repairs"]

#: the state of a walk that ends with every repair proved
CLOSED = "done"


def proved_repairs(events: tuple[Event, ...], state: str, adviser: Callable[[], Adviser]) -> tuple[FaultAt, ...]:
    """Return the faults whose repair a reading has proved, each place once.

    A walk that is done after a single repair has proved it. After several, some may have been in vain: it is walked
    again, and a repair counts where its reading was as it should be before the next repair.

    Parameters: `events` of the record; `state` in which they ended; `adviser`, made only where it is needed.
    Returns: none of a walk that is not done.
    Raises: OutOfPlace where the events do not lead anywhere by the rules of today.
    """
    counted = effective(events)
    if state != CLOSED:
        return ()
    mended = [event.fault for event in counted if event.kind == "repaired" and event.fault is not None]
    if len(mended) == 1 and not any(event.kind == "retract" for event in counted):
        return tuple(mended)
    session = Session(adviser())
    found: dict[tuple[str, str | None], FaultAt] = {}
    for event in (*counted, None):
        if event is None or event.kind == "repaired":
            found |= _proved(session.facts)
        if event is not None:
            session.feed(event)
    return tuple(found.values())


def _proved(facts: Facts) -> dict[tuple[str, str | None], FaultAt]:
    """Return the last repair by its place, if all that was to be seen after it was seen and its proof held."""
    if not facts.mended or not facts.checks or facts.unproved or not facts.checked:
        return {}
    proof = next(check.expected.take for check in facts.checks if not check.neighbour)
    return {facts.mended[-1].place: facts.mended[-1]} if proof in facts.checked else {}
