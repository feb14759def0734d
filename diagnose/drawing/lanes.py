"""Which lane each point and part belongs to, and in which order they stand there: down each run, part by part.

It knows the graph and no coordinates.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from diagnose.model.installation import Installation
from diagnose.model.terminals import ends_of, points_of

__all__ = ["Lanes", "lanes_of"]


class Lanes(NamedTuple):
    """Rows from the top: ("point" or "part", id); devices are ids of parts."""

    positive: tuple[tuple[str, str], ...]
    devices: tuple[str, ...]
    negative: tuple[tuple[str, str], ...]


def lanes_of(installation: Installation) -> Lanes:
    """Return the lanes of an installation; every point and every part stands in them once."""
    parts = installation.parts
    runs = {name: part for name, part in parts.items() if ends_of(part) and part.kind != "relay"}
    devices = tuple(name for name in parts if name not in runs)
    points = dict.fromkeys([*installation.points, *(p for part in parts.values() for p in points_of(part))])
    joined: dict[str, list[str]] = {point: [] for point in points}
    for name, part in runs.items():
        for end in ends_of(part):
            joined[end].append(name)
    low = [p for d in devices for p in (getattr(parts[d], "neg", None), getattr(parts[d], "negative", None)) if p]
    coils = [p for d in devices for p in getattr(parts[d], "coil", ())]  # one end of a coil is earthed, either one
    high = [p for d in devices for p in points_of(parts[d]) if p not in low and p not in coils]
    side = _sides(installation, joined, low, high)
    below = {point for point in points if side.get(point) == "low"}
    upper = _walked(installation, joined, [p for p in points if p not in below], below)
    seen = {name for kind, name in upper if kind == "part"}
    lower = _walked(installation, joined, [p for p in points if p in below], set(points) - below, seen)
    return Lanes(tuple(upper), devices, tuple(lower))


def _sides(
    installation: Installation, joined: dict[str, list[str]], low: Iterable[str], high: Iterable[str]
) -> dict[str, str]:
    """Return the side of each point: that of the nearest pole of a device."""
    side = {**dict.fromkeys(high, "high"), **dict.fromkeys(low, "low")}
    waiting = list(side)
    for point in waiting:
        for name in joined[point]:
            for other in ends_of(installation.parts[name]):
                if other not in side:
                    side[other] = side[point]
                    waiting.append(other)
    return side


def _walked(
    installation: Installation, joined: dict[str, list[str]], points: list[str], elsewhere: set[str],
    done: Iterable[str] = (),
) -> list[tuple[str, str]]:  # fmt: skip
    """Return the rows of one lane: from each point along its parts, deep before wide."""
    rows: list[tuple[str, str]] = []
    placed: set[str] = set(done)
    met: set[str] = set()
    for first in points:
        stack: list[tuple[str, str]] = [("point", first)]
        while stack:
            kind, name = stack.pop()
            if name in (met if kind == "point" else placed):
                continue
            rows.append((kind, name))
            if kind == "point":
                met.add(name)
                stack += [("part", part) for part in reversed(joined[name]) if part not in placed]
            else:
                placed.add(name)
                far = [end for end in ends_of(installation.parts[name]) if end not in met and end not in elsewhere]
                stack += [("point", end) for end in reversed(far)]
    return rows
