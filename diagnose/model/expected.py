"""What a sound (or a given faulty) installation would read on a test."""

from __future__ import annotations

from typing import NamedTuple

from diagnose.model.reading import Take

__all__ = ["Expected", "Limit"]


class Limit(NamedTuple):
    """A published limit of a reading, with its reason and source; None where there is no bound."""

    low: float | None
    high: float | None
    why: str


class Expected(NamedTuple):
    """A test with its middle value, 95 % band, unit, limit, and chances of words where it is or may be one."""

    take: Take
    value: float | None
    low: float | None
    high: float | None
    unit: str
    limit: Limit | None
    chances: tuple[tuple[str, float], ...] = ()
