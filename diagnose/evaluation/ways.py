"""Halving the way of the current from one point to another until one joint or part is left.

Used by those the engine is compared with. It knows no belief.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diagnose.circuit.graph import Edge
from diagnose.circuit.topology import nodes_of, way
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery

__all__ = ["fault_on", "halved", "last_live", "nearest_battery"]

#: volts lost above which what is left is taken as open
OPEN = 5.0


def nearest_battery(installation: Installation, point: str, post: str) -> str | None:
    """Return the post (`pos` or `neg`) of the battery either of whose posts the fewest joints part from a point."""
    found: dict[str, int] = {}
    for part in installation.parts.values():
        if isinstance(part, Battery):
            for own in (part.pos, part.neg):
                edges = way(installation, point, own)
                if edges or own == point:
                    wanted = part.pos if post == "pos" else part.neg
                    found[wanted] = min(found.get(wanted, len(edges)), len(edges))
    return min(found, key=lambda p: (found[p], p)) if found else None


def halved(edges: Sequence[Edge], start: str, whole: float, drop: Callable[[str, str], float]) -> Edge:
    """Return the joint or part that loses most of what a way loses, by the larger half each time.

    Parameters: `edges`, the way from `start`; `whole` [V], what it loses; `drop`, which reads volts between two points.
    """
    nodes = nodes_of(edges, start)
    low, high, lost = 0, len(nodes) - 1, whole
    while high - low > 1:
        middle = (low + high) // 2
        first = drop(nodes[low], nodes[middle])
        if abs(first) >= abs(lost) / 2:
            high, lost = middle, first
        else:
            low, lost = middle, lost - first
    return edges[low]


def last_live(edges: Sequence[Edge], start: str, live: Callable[[str], bool]) -> Edge:
    """Return the joint or part beyond which a way is dead, halving by whether a point is live.

    Parameters: `edges`, the way from `start`, which is live, to a dead end.
    """
    nodes = nodes_of(edges, start)
    low, high = 0, len(nodes) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if live(nodes[middle]) else (low, middle)
    return edges[low]


def fault_on(edge: Edge, lost: float) -> FaultAt:
    """Return the fault that a way ends in: open where all is lost, else a joint that resists, or a thin wire."""
    if abs(lost) > OPEN:
        return FaultAt("blown" if edge.role == "element" else "open_circuit", edge.part, edge.at)
    return FaultAt("undersized" if edge.role == "wire" else "high_resistance", edge.part, edge.at)
