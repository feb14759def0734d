"""A wiring picture as frozen records: boxes, points, wires and labels with their coordinates.

Coordinates are in picture units, from the upper left; how they are shown is not known here.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["Box", "Dot", "Label", "Note", "Picture", "Wire"]


class Note(NamedTuple):
    """Words to stand at a part or point; `heavy` where they tell of a fault, so that its lines are drawn thick."""

    text: str
    heavy: bool = False


class Box(NamedTuple):
    """A part: its id, its place and size, and whether it is drawn with a thick line."""

    part: str
    x: float
    y: float
    width: float
    height: float
    heavy: bool = False


class Dot(NamedTuple):
    """A joint of wires; `point` is the id of the point whose place it marks, None where a wire only branches."""

    x: float
    y: float
    point: str | None = None


class Wire(NamedTuple):
    """A straight run of one point's wire."""

    point: str
    x1: float
    y1: float
    x2: float
    y2: float


class Label(NamedTuple):
    """One line of text: its baseline starts at `x`, `y`; `width` is an estimate that real fonts stay below.

    `weight` is one of plain, bold, lane.
    """

    text: str
    x: float
    y: float
    width: float
    weight: str = "plain"


class Picture(NamedTuple):
    """A whole picture with its size."""

    title: str
    width: float
    height: float
    boxes: tuple[Box, ...]
    dots: tuple[Dot, ...]
    wires: tuple[Wire, ...]
    labels: tuple[Label, ...]
