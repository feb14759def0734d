"""What can happen in a walk: the whole vocabulary of events, each a record that can be written down and read again.

Nothing else changes a walk. An event must not know what follows from it.
"""

from __future__ import annotations

from typing import NamedTuple

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Reading

__all__ = ["KINDS", "Event", "effective"]

#: kind -> what it tells
KINDS: dict[str, str] = {
    "alarm": "what smokes, is hot, smells, hisses, swells or is wet; `none` where nothing does",
    "standing": "where the vehicle stands",
    "tools": "the tools at hand",
    "meter": "what the meter read on a known battery",
    "complaint": "the complaint",
    "seen": "nothing more has been seen already",
    "reading": "a reading, asked for or not",
    "cannot": "the reading asked for cannot be taken",
    "keep": "the doubted reading stands as given",
    "retract": "a reading is taken back",
    "repaired": "a fault was mended",
    "leave": "the repair is left for another day",
    "undo": "the last event is taken back",
    "why": "the reason was asked for",
    "stop": "enough for now",
    "reopen": "the walk goes on after a stop",
}


class Event(NamedTuple):
    """One event: its kind, the text as typed, and a reading, a fault or the number of a reading where it has one."""

    kind: str
    text: str = ""
    reading: Reading | None = None
    fault: FaultAt | None = None
    number: int | None = None


def effective(events: tuple[Event, ...]) -> tuple[Event, ...]:
    """Return the events that count: without those taken back, and without what changes nothing.

    >>> [e.kind for e in effective((Event("alarm", "none"), Event("why"), Event("standing", "boat"), Event("undo")))]
    ['alarm']
    """
    kept: list[Event] = []
    for event in events:
        if event.kind == "undo":
            kept = kept[:-1]
        elif event.kind != "why":
            kept.append(event)
    return tuple(kept)
