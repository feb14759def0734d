"""Walks along the conductors of an installation, part by part: what joins what, and through which fuses.

Holds no resistance and judges nothing. A bond or contact described as open does not conduct; a switch can be closed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import NamedTuple

from diagnose.model.installation import Installation
from diagnose.model.parts import Fuse
from diagnose.model.terminals import ends_of

__all__ = ["Net", "net_of", "reach", "widest_fuse"]

Net = Mapping[str, tuple["Step", ...]]


class Step(NamedTuple):
    """A way on from a point: through a part, to another point."""

    part: str
    to: str


def net_of(installation: Installation, without: frozenset[str] = frozenset()) -> Net:
    """Return the ways on from every point along conductors; `without` names parts that are taken out."""
    net: dict[str, list[Step]] = {}
    for name, part in installation.parts.items():
        ends = ends_of(part)
        if len(ends) != 2 or name in without:
            continue
        if part.kind in ("bond", "contact") and getattr(part, "position", "closed") == "open":
            continue
        net.setdefault(ends[0], []).append(Step(name, ends[1]))
        net.setdefault(ends[1], []).append(Step(name, ends[0]))
    return {point: tuple(steps) for point, steps in net.items()}


def reach(net: Net, start: str) -> dict[str, tuple[str, ...]]:
    """Return every point that conductors join to `start`, with the parts on the shortest way there."""
    found: dict[str, tuple[str, ...]] = {start: ()}
    waiting = [start]
    for point in waiting:
        for step in net.get(point, ()):
            if step.to not in found:
                found[step.to] = (*found[point], step.part)
                waiting.append(step.to)
    return found


def widest_fuse(installation: Installation, net: Net, start: str) -> dict[str, float]:
    """Return for every point joined to `start` the rating [A] of the smallest fuse on the least protected way there.

    Infinite where a way without any fuse leads there.
    """
    found = {start: math.inf}
    waiting = [start]
    while waiting:
        point = max(waiting, key=lambda p: found[p])
        waiting.remove(point)
        for step in net.get(point, ()):
            part = installation.parts[step.part]
            rating = min(found[point], part.rating.high) if isinstance(part, Fuse) else found[point]
            if rating > found.get(step.to, 0.0):
                found[step.to] = rating
                waiting.append(step.to)
    return found
