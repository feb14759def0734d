"""What a survey found, ready to be written down: values with where they come from, and what stays as in the layout."""

from __future__ import annotations

from typing import Any, NamedTuple

__all__ = ["Surveyed", "Value"]


class Value(NamedTuple):
    """A value of one key of a part, as a file writes it (None takes it away), and where it comes from."""

    value: Any
    origin: str


class Surveyed(NamedTuple):
    """An installation as surveyed.

    `points` are those that the layout lacks; `parts` go over the layout's: key -> value, or None with its reason in
    `removed`; `left` are parts and keys that were not asked; `load_hours` [h a day] by load, `driving` as text; `notes`
    are for the reader.
    """

    title: str
    layout: str
    place: str
    points: dict[str, dict[str, str]]
    parts: dict[str, dict[str, Value]]
    removed: dict[str, str]
    left: dict[str, dict[str, Any]]
    load_hours: dict[str, float]
    driving: Value | None
    notes: tuple[str, ...]
