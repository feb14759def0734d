"""The two kinds of record that are tried, each from one that ships; and what a fault left, compared with
what must be there.

What a fault is stands in `faults` and `processes`, not here.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from diagnose.basics.errors import BadInput
from diagnose.store.commissioning_jobs import load_commissioning
from diagnose.store.jobs import load_job
from diagnose.store.jobs_record import JobRecord, read_lines

__all__ = ["KINDS", "Count", "Kind", "keeps"]

EXAMPLES = Path(__file__).resolve().parents[2] / "cases" / "examples"


@dataclass(frozen=True)
class Kind:
    """A kind of record: the command that goes on with it, the record that ships, and what reads it."""

    name: str
    example: Path
    load: Callable[[Path], Any]

    @cached_property
    def lines(self) -> tuple[Any, ...]:
        """Return what the lines of the record hold, the first line first."""
        return read_lines(self.example).data

    def written(self, folder: Path, lines: Sequence[Any] | None = None) -> Path:
        """Write lines, or those of the example, as a new record and return its file."""
        first, *events = self.lines if lines is None else lines
        with JobRecord.begin(folder, self.name, first) as record:
            for event in events:
                record.append(event)
        return record.path


KINDS = (
    Kind("walk", EXAMPLES / "crew_cab_tray_job.jsonl", load_job),
    Kind("commission", EXAMPLES / "tray_handed_over.jsonl", load_commissioning),
)


@dataclass
class Count:
    """How often a fault was tried on a kind of record, and each time the promise was broken, in words."""

    fault: str
    kind: str
    tried: int = 0
    broken: list[str] = field(default_factory=list)

    def held(self, promise: bool, otherwise: str) -> None:
        """Count one trial."""
        self.tried += 1
        if not promise:
            self.broken.append(otherwise)


def keeps(kind: Kind, path: Path, expected: Sequence[Any]) -> bool:
    """Return whether a record reads as expected, and goes on with one more event; it is left with that event."""
    more = expected[-1] if len(expected) > 1 else kind.lines[1]
    try:
        if read_lines(path).data != tuple(expected) or len(kind.load(path).events) != len(expected) - 1:
            return False
        with JobRecord.resume(path) as record:
            record.append(more)
        return read_lines(path) == ((*record.lines.data, more), path.stat().st_size, False)
    except BadInput:
        return False
