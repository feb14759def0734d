"""Which profile a charger really follows: where its profile lead leads, whatever was intended.

The lead is followed along conductors to the nearest point that a profile is tied to; a broken or missing lead is tied
to nothing.
"""

from __future__ import annotations

from collections.abc import Collection

import networkx as nx

from diagnose.circuit.graph import Edge, graph_of
from diagnose.model.parts import Charger, Profile

__all__ = ["profile_in_force"]

CONDUCTORS = ("wire", "termination", "holder_contact", "element", "contact", "bond", "shunt")


def profile_in_force(charger: Charger, edges: Collection[Edge]) -> Profile:
    """Return the profile in force.

    Parameters: `charger`; `edges`, the edges that conduct.
    Returns: for a charger without profile lead the profile that is set; else the profile tied to the nearest point
    that the lead reaches, else the one tied to nothing, else the one of lowest voltage.
    """
    if charger.profile_lead is None:
        return next(p for p in charger.profiles if p.name == charger.profile)
    ties = {p.tied_to: p for p in charger.profiles}
    graph = graph_of(tuple(e for e in edges if e.role in CONDUCTORS))
    if charger.profile_lead in graph:
        for reached in nx.single_source_shortest_path_length(graph, charger.profile_lead):
            if reached in ties:
                return ties[reached]
    if "nothing" in ties:
        return ties["nothing"]
    return min(charger.profiles, key=lambda p: p.voltage.low)
