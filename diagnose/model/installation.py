"""An installation: points a probe can touch, and the parts that join them.

Holds what the file says, after `layout:` has been merged in; it must not calculate.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from diagnose.basics.quantities import Span
from diagnose.model.fields import Identifier, Line, Measured, Record
from diagnose.model.parts import Part

__all__ = ["Installation", "Known", "Point", "Zone", "name_of"]

Temperature = Annotated[Span, Measured("temperature", most=200.0)]
Time = Annotated[Span, Measured("time")]


class Zone(Record):
    """A part of the vehicle with its own ambient temperature.

    `enclosed` tells whether a space is shut off from moving air, `opening` is the area [mm2] of its lower or its upper
    openings to the outside, whichever is less; both only where they are known.
    """

    ambient: Temperature | None = None
    name: Line | None = None
    enclosed: Annotated[bool, Field(strict=True)] | None = None
    opening: Annotated[Span, Measured("opening")] | None = None


class Point(Record):
    """A place a probe can touch."""

    name: Line | None = None
    zone: Identifier | None = None
    access: Time = Span(0.0, 0.0)


class Known(Record):
    """A resistance that was read on this vehicle while it was sound, how sure it was, and how long ago."""

    resistance: Annotated[Span, Measured("resistance")]
    uncertainty: Annotated[Span, Measured("resistance")]
    age: Annotated[Span, Measured("age")] = Span(0.0, 0.0)


class Installation(Record):
    """A complete description of one installation."""

    title: Line
    story: Line | None = None
    layout: Identifier | None = None
    ambient: Temperature = Span(25.0, 25.0)
    zones: dict[Identifier, Zone] = Field(default_factory=dict)
    points: dict[Identifier, Point] = Field(default_factory=dict)
    parts: dict[Identifier, Part]
    measured: dict[Line, Known] = Field(default_factory=dict)


def name_of(identifier: str, installation: Installation) -> str:
    """Return what people call a point or a part: its name, else its id in plain words."""
    for known in (installation.points, installation.parts):
        named = known.get(identifier)
        if named is not None and named.name and named.name != identifier:
            return str(named.name)
    return identifier.replace("_", " ")
