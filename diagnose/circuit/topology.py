"""Questions of connection that need no numbers: which battery cranks the engine, which points lie on the negative
side.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import pairwise

import networkx as nx

from diagnose.circuit.graph import Edge, edges_of, graph_of
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Cable, Part
from diagnose.model.terminals import ends_of, points_of, poles_of

__all__ = ["cranking_pairs", "negative_side", "nodes_of", "parts_near", "start_batteries", "way", "zone_of"]


def start_batteries(installation: Installation) -> frozenset[str]:
    """Return the battery that cranks the engine: the nearest to the starter, else to the alternator; none without
    either.
    """
    graph = graph_of(edges_of(installation))
    batteries = {n: p.pos for n, p in installation.parts.items() if isinstance(p, Battery)}
    for kind in ("starter", "alternator"):
        for part in installation.parts.values():
            if part.kind == kind:
                pole = poles_of(part)[0]
                graph.add_node(pole)  # it may stand on a post without a cable
                far = nx.single_source_shortest_path_length(graph, pole)
                near = {n: far[pos] for n, pos in batteries.items() if pos in far}
                if near:
                    return frozenset({min(near, key=lambda n: (near[n], n))})
    return frozenset()


def way(installation: Installation, start: str, end: str) -> list[Edge]:
    """Return the edges of a shortest way between two points, none where conductors do not join them."""
    edges = edges_of(installation)
    graph = graph_of(edges)
    if start not in graph or end not in graph or not nx.has_path(graph, start, end):
        return []
    by_key = {(edge.part, edge.role, edge.at): edge for edge in edges}
    return [by_key[next(iter(graph[a][b]))] for a, b in pairwise(nx.shortest_path(graph, start, end))]


def nodes_of(edges: Sequence[Edge], start: str) -> list[str]:
    """Return the points along a way, its start first."""
    nodes = [start]
    for edge in edges:
        nodes.append(edge.b if nodes[-1] == edge.a else edge.a)
    return nodes


def cranking_pairs(installation: Installation) -> tuple[tuple[str, str], ...]:
    """Return the pairs of places worth reading while the engine is cranked: the start battery's posts, the starter,
    each post with the starter's pole, and each joint and cable on the way.
    """
    starters = [p for p in installation.parts.values() if p.kind == "starter"]
    if not starters:
        return ()
    poles = poles_of(starters[0])
    found = []
    for battery in (installation.parts[n] for n in sorted(start_batteries(installation))):
        found += [poles_of(battery), poles]
        for post, pole in zip(poles_of(battery), poles, strict=True):
            found.append((post, pole))
            found += pairwise(nodes_of(way(installation, post, pole), post))
    return tuple(dict.fromkeys((a, b) for a, b in found if a != b))


def negative_side(installation: Installation) -> frozenset[str]:
    """Return the nodes that conductors join to a negative post, the body and the negative leads among them."""
    graph = graph_of(edges_of(installation))
    found: set[str] = set()
    for part in installation.parts.values():
        for point in (getattr(part, "neg", None), getattr(part, "negative", None)):
            if point:
                found |= nx.node_connected_component(graph, point) if point in graph else {point}
    return frozenset(found)


def parts_near(installation: Installation, name: str, kinds: Collection[str]) -> dict[str, int]:
    """Return how far it is from a part to each one of some kinds, in steps from point to point with the lugs between
    them, by its name; those that only negative sides join, where all meet, are left out.
    """
    def positive(part: Part) -> tuple[str, ...]:
        negative = {getattr(part, "neg", None), getattr(part, "negative", None)}
        return ends_of(part) or tuple(point for point in points_of(part) if point not in negative)

    graph = graph_of(tuple(edge for edge in edges_of(installation) if edge.part != name))
    far: dict[str, int] = {}
    for start in positive(installation.parts[name]):
        graph.add_node(start)
        for point, steps in nx.single_source_shortest_path_length(graph, start).items():
            far[point] = min(steps, far.get(point, steps))
    found: dict[str, int] = {}
    for other, part in installation.parts.items():
        steps = [far[point] for point in positive(part) if point in far]
        if part.kind in kinds and steps:
            found[other] = min(steps)
    return found


def zone_of(installation: Installation, part_name: str) -> str | None:
    """Return the zone a part lies in: where it is routed, else that of the first of its points that has one."""
    part = installation.parts[part_name]
    if isinstance(part, Cable) and part.routed:
        return part.routed
    names = [getattr(part, key) for key in ("input", "output", "pos", "neg", "negative") if getattr(part, key, None)]
    names += list(getattr(part, "ends", ()))
    zones = [installation.points[n].zone for n in names if n in installation.points and installation.points[n].zone]
    return zones[0] if zones else None
