"""A worked case: an installation, what people said, what was read, and what was wrong in the end.

Closed cases hold the engine to what was found; they must not be edited to please it.
"""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from diagnose.model.fields import Identifier, Line, Record

__all__ = ["FoundFault", "WorkedCase"]


class FoundFault(Record):
    """A fault that was found, and its place."""

    fault: Identifier
    part: Identifier
    at: Identifier | None = None
    to: Identifier | None = None


class WorkedCase(Record):
    """One closed case; `expected` is empty where nothing was wrong."""

    title: Line
    story: Line | None = None
    installation: Any
    complaint: Line | None = None
    tools: Annotated[tuple[Identifier, ...], Field(min_length=1)] = ("multimeter", "clamp", "eyes", "hands")
    readings: tuple[dict[str, Any], ...]
    expected: tuple[FoundFault, ...]
    cause: Identifier | None = None
    source: Line
