"""An installation as a networkx graph: points and lugs are nodes, what conducts between them are edges.

This file turns parts into nodes and edges and answers questions of connection; it holds no resistances and solves
nothing.
"""

from __future__ import annotations

from typing import NamedTuple

import networkx as nx

from diagnose.model.installation import Installation
from diagnose.model.parts import Cable, Fuse
from diagnose.model.terminals import ends_of

__all__ = ["Edge", "edges_of", "graph_of", "key_switches", "lug"]

#: kinds of part that are one edge, with the role of that edge
SINGLE_EDGE = {"switch": "contact", "contact": "contact", "bond": "bond", "shunt": "shunt", "relay": "relay_contact"}


class Edge(NamedTuple):
    """A resistive piece of one part between two nodes.

    `role` is wire, termination, holder_contact, element, contact, bond, shunt or relay_contact; `at` is the point of
    the end for a termination or holder contact, else None.
    """

    part: str
    role: str
    at: str | None
    a: str
    b: str


def lug(part: str, point: str) -> str:
    """Return the name of a cable's or fuse's own side of a termination.

    >>> lug("input_cable", "charger_in")
    'input_cable@charger_in'
    """
    return f"{part}@{point}"


def edges_of(installation: Installation) -> tuple[Edge, ...]:
    """Return the resistive edges of every part, in the order of the parts."""
    edges: list[Edge] = []
    for name, part in installation.parts.items():
        if isinstance(part, Cable | Fuse):
            joint, body = ("termination", "wire") if isinstance(part, Cable) else ("holder_contact", "element")
            a, b = part.ends
            edges += [
                Edge(name, joint, a, a, lug(name, a)),
                Edge(name, body, None, lug(name, a), lug(name, b)),
                Edge(name, joint, b, lug(name, b), b),
            ]
        elif part.kind in SINGLE_EDGE:
            a, b = ends_of(part)
            edges.append(Edge(name, SINGLE_EDGE[part.kind], None, a, b))
    return tuple(edges)


def graph_of(edges: tuple[Edge, ...]) -> nx.MultiGraph:
    """Return the graph of the given edges, keyed by (part, role, at)."""
    graph = nx.MultiGraph()
    for edge in edges:
        graph.add_edge(edge.a, edge.b, key=(edge.part, edge.role, edge.at))
    return graph


def _terminals(installation: Installation) -> set[str]:
    """Return the points that belong to a source or to the power side of a charger."""
    points: set[str] = set()
    for part in installation.parts.values():
        if part.kind in ("battery", "alternator", "supply", "panel", "starter"):
            points |= {part.pos, part.neg}
        elif part.kind == "charger":
            points |= {p for p in (part.input, part.output, part.negative, part.solar) if p}
    return points


def key_switches(installation: Installation) -> tuple[str, ...]:
    """Return the switches that the ignition key works: beyond them lie ignition inputs and no source or charger port.

    A switch in the feed of an ignition-sense lead is closed only while the key is on; the form has no word for it, so
    it is told from the wiring.
    """
    inputs = {p.ignition for p in installation.parts.values() if p.kind == "charger" and p.ignition}
    graph = graph_of(edges_of(installation))
    terminals = _terminals(installation)
    found = []
    for name, part in installation.parts.items():
        if part.kind != "switch":
            continue
        key = (name, "contact", None)
        a, b = part.ends
        graph.remove_edge(a, b, key=key)
        for end in (a, b):
            beyond = nx.node_connected_component(graph, end)
            if beyond & inputs and not beyond & terminals:
                found.append(name)
                break
        graph.add_edge(a, b, key=key)
    return tuple(found)
