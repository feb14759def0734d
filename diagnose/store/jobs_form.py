"""Events of a walk as plain data and back: the form of the lines of a job record.

Knows the form, not where records lie. What does not fit the form is refused in words.
"""

from __future__ import annotations

from math import isfinite
from typing import Any

from diagnose.model.fault import FaultAt
from diagnose.model.reading import QUANTITIES, STATES, Read, Reading, Take
from diagnose.session.events import KINDS, Event

__all__ = ["Malformed", "event_data", "event_from"]

_READ_KINDS = ("number", "below", "word", "over_range", "unsteady", "skipped")


class Malformed(ValueError):  # noqa: N818 - the record's fault
    """Data that is no event."""


def event_data(event: Event) -> dict[str, Any]:
    """Return an event as plain data, without what it does not have.

    >>> event_data(Event("retract", number=2))
    {'kind': 'retract', 'number': 2}
    """
    data: dict[str, Any] = {"kind": event.kind}
    if event.text:
        data["text"] = event.text
    if event.number is not None:
        data["number"] = event.number
    if event.fault is not None:
        data["fault"] = {k: v for k, v in event.fault._asdict().items() if v is not None}
    if event.reading is not None:
        if event.reading.take is not None:
            data["take"] = {k: v for k, v in event.reading.take._asdict().items() if v is not None}
        if event.reading.read is not None:
            data["read"] = {k: v for k, v in event.reading.read._asdict().items() if v is not None}
    return data


def event_from(data: Any) -> Event:
    """Return the event that plain data stand for.

    Raises: Malformed, in words.

    >>> event_from(event_data(Event("alarm", "none")))
    Event(kind='alarm', text='none', reading=None, fault=None, number=None)
    """
    try:
        kind = data["kind"]
        if kind not in KINDS:
            raise Malformed(f"no event `{kind}`")
        fault = _fault(data["fault"]) if "fault" in data else None
        take = _take(data["take"]) if "take" in data else None
        read = _read(data["read"]) if "read" in data else None
        number = data.get("number")
        reading = Reading(take, read) if take is not None or read is not None else None
        if not isinstance(data.get("text", ""), str) or isinstance(number, bool) or not isinstance(number, int | None):
            raise Malformed("text is no text, or number is no number")
        if (kind == "repaired") != (fault is not None and kind != "leave"):
            raise Malformed(f"`{kind}` with or without a fault")
        return Event(kind, data.get("text", ""), reading, fault, number)
    except (KeyError, TypeError, AttributeError, ValueError) as error:
        raise error if isinstance(error, Malformed) else Malformed(f"this is no event ({error})") from None


def _take(data: dict[str, Any]) -> Take:
    jumper = data.get("jumper")
    take = Take(**{**data, "where": tuple(data["where"]), "jumper": None if jumper is None else tuple(jumper)})
    if take.quantity not in QUANTITIES or take.when not in STATES or len(take.where) != QUANTITIES[take.quantity][0]:
        raise Malformed(f"no test `{take.quantity}` in `{take.when}`")
    if isinstance(data["where"], str) or not _names(*take.where, take.meter, *(jumper or ()), take.swap or ""):
        raise Malformed("a place of a test is no name")
    if jumper is not None and len(jumper) != 2:
        raise Malformed("a jumper joins two places")
    return take


def _read(data: dict[str, Any]) -> Read:
    read = Read(**data)
    if read.kind not in _READ_KINDS or not all(v is None or _is_number(v) for v in (read.value, read.high)):
        raise Malformed(f"no reading of kind `{read.kind}`")
    if not _names(read.text, read.word or ""):
        raise Malformed("what was read is no text")
    return read


def _fault(data: dict[str, Any]) -> FaultAt:
    fault = FaultAt(**data)
    if not _names(fault.fault, fault.part, fault.at or "", fault.to or "") or not _is_number(fault.size or 0.0):
        raise Malformed("no fault at a place")
    return fault


def _names(*values: object) -> bool:
    return all(isinstance(value, str) for value in values)


def _is_number(value: object) -> bool:
    return isinstance(value, float | int) and not isinstance(value, bool) and isfinite(value)
