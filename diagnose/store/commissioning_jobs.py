"""The record of a commissioning among the jobs: its events as plain data and back, and one record read whole.

The lines are kept as those of a walk are. What an answer means is not known here.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

from diagnose.basics.errors import BadInput, Problem
from diagnose.commissioning.progress import StepEvent
from diagnose.store.jobs_record import FORMAT, Lines, read_lines

__all__ = ["KIND", "CommissioningJob", "first_of", "is_commissioning", "load_commissioning", "step_data"]

#: what the first line of such a record says it is
KIND = "commissioning"
_TEXTS = ("kind", "step", "text", "time", "meter")
_KINDS = ("answer", "back", "repaired")


class CommissioningJob(NamedTuple):
    """A commissioning that is kept: its id, file, first line and events, and whether a torn last line was dropped."""

    id: str
    path: Path
    head: dict[str, Any]
    events: tuple[StepEvent, ...]
    torn: bool


def is_commissioning(head: Any) -> bool:
    """Return whether the first line of a record says that it is of a commissioning."""
    return isinstance(head, dict) and head.get("job") == KIND


def step_data(event: StepEvent) -> dict[str, Any]:
    """Return an event as plain data, without what it does not have.

    >>> step_data(StepEvent("repaired", text="tray_strap"))
    {'kind': 'repaired', 'text': 'tray_strap'}
    """
    return {key: value for key, value in event._asdict().items() if value not in ("", None)}


def first_of(path: Path) -> Any:
    """Return the first line of a record, None where it holds nothing.

    Raises: BadInput where it cannot be read.
    """
    lines = read_lines(path).data
    return lines[0] if lines else None


def load_commissioning(path: Path, lines: Lines | None = None) -> CommissioningJob:
    """Return a commissioning from its file.

    Parameters: `path`; `lines`, if they were read already.
    Raises: BadInput where it is damaged, of a later form, or the record of something else.
    """
    lines = read_lines(path) if lines is None else lines
    head = lines.data[0] if lines.data else None
    if not is_commissioning(head) or not isinstance(head, dict):
        right = "name one that `diagnose jobs` calls a commissioning"
        raise BadInput([Problem(str(path), 1, 1, "this is no record of a commissioning", right)])
    if not isinstance(head.get("format"), int) or head["format"] > FORMAT:
        raise BadInput([Problem(str(path), 1, 1, "this record is of a later program", "use the later program")])
    events = []
    for number, data in enumerate(lines.data[1:], 2):
        event = _event(data)
        if event is None:
            right = "restore the record from a copy"
            raise BadInput([Problem(str(path), number, 1, "this line holds no answer to a step", right)])
        events.append(event)
    return CommissioningJob(path.stem, path, head, tuple(events), lines.torn)


def _event(data: Any) -> StepEvent | None:
    """Return the event that plain data stand for, or None."""
    if not isinstance(data, dict) or data.get("kind") not in _KINDS:
        return None
    texts = {key: data[key] for key in _TEXTS if key in data}
    temperature = data.get("temperature")
    if any(not isinstance(text, str) for text in texts.values()):
        return None
    if temperature is not None and (isinstance(temperature, bool) or not isinstance(temperature, int | float)):
        return None
    return StepEvent(**texts, temperature=None if temperature is None else float(temperature))
