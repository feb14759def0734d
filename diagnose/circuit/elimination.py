"""Gaussian elimination of a resistive network in many variants at once, by star-mesh transforms.

A node with conductances g1, g2, ... to its neighbours is taken out by joining each two neighbours with
g1*g2/(g1+g2+...). Only conductances are stored, never the diagonal, so nothing is ever subtracted: a zero conductance
is a true open, and the last node of a floating island shows itself by a sum of exactly zero and is pinned. The
pattern is worked out once for a wiring (minimum degree, with networkx); the numbers run along the last axis, one
column for each variant. This file knows nothing of batteries or chargers. Source: the star-mesh transform (Rosen
1924); the subtraction-free form of elimination (Grassmann, Taksar and Heyman 1985).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

import networkx as nx
import numpy as np
from numpy.typing import NDArray

__all__ = ["Array", "Core", "Factors", "Plan", "core_of", "factor", "plan_elimination", "substitute"]

Array = NDArray[Any]
#: stands for the resistance [ohm] to the reference of a node that nothing holds: a current fed into it drives its
#: voltage away, as it would a load whose return is broken; without such a current the node is pinned at 0 V
LOOSE = 1e6


class Step(NamedTuple):
    """The elimination of one node: its neighbours then, the slots of its edges, and the edges between neighbours."""

    node: int
    neighbours: NDArray[np.intp]
    slots: NDArray[np.intp]
    pairs: tuple[tuple[int, int, int], ...]
    span: slice


class Plan(NamedTuple):
    """An order of elimination: `inner` nodes carry no device and go first, `outer` nodes follow; node 0 is the
    reference.
    """

    inner: tuple[Step, ...]
    outer: tuple[Step, ...]
    slot_of: dict[tuple[int, int], int]
    slots: int
    entries: int
    nodes: int


class Core(NamedTuple):
    """The outer nodes of a plan as a network of their own: its plan, and the numbers of its nodes and slots in all."""

    plan: Plan
    nodes: NDArray[np.intp]
    slots: NDArray[np.intp]


class Factors(NamedTuple):
    """The numbers of an elimination: the share of each neighbour, and 1 / (sum of conductances) of each node."""

    weights: Array
    inverse: Array


def plan_elimination(nodes: int, edges: Iterable[tuple[int, int]], device_nodes: Iterable[int]) -> Plan:
    """Work out an order of elimination with little fill-in.

    Parameters: `nodes`, how many there are (node 0 is the reference); `edges`, pairs of nodes that may conduct, devices
    among them; `device_nodes`, the nodes where a device is attached, which are taken out last.
    Returns: the plan.

    >>> plan = plan_elimination(3, [(0, 1), (1, 2)], [2])
    >>> [step.node for step in plan.inner + plan.outer]
    [1, 2]
    """
    graph = nx.Graph()
    graph.add_nodes_from(range(nodes))
    graph.add_edges_from((a, b) for a, b in edges if a != b)
    slot_of = {(min(a, b), max(a, b)): k for k, (a, b) in enumerate(graph.edges)}
    last = set(device_nodes) - {0}
    inner: list[Step] = []
    outer: list[Step] = []
    entries = 0
    for steps, left in ((inner, set(range(1, nodes)) - last), (outer, last)):
        while left:
            node = min(left, key=lambda k: (graph.degree[k], k))
            neighbours = sorted(graph.neighbors(node))
            steps.append(_step(graph, node, neighbours, slot_of, entries))
            entries += len(neighbours)
            graph.remove_node(node)
            left.remove(node)
    return Plan(tuple(inner), tuple(outer), slot_of, len(slot_of), entries, nodes)


def core_of(plan: Plan) -> Core:
    """Return what is left of a plan once its inner nodes are out, numbered afresh; node 0 stays node 0.

    >>> core = core_of(plan_elimination(4, [(0, 1), (1, 2), (2, 3)], [3]))
    >>> core.nodes.tolist(), core.plan.slots
    ([0, 3], 1)
    """
    nodes = [0, *sorted(step.node for step in plan.outer)]
    used = {slot for step in plan.outer for slot in step.slots.tolist()}
    slots = sorted(used | {slot for step in plan.outer for *_, slot in step.pairs})
    node_at, slot_at = ({old: new for new, old in enumerate(numbers)} for numbers in (nodes, slots))
    steps, entries = [], 0
    for step in plan.outer:
        near = np.array([node_at[n] for n in step.neighbours.tolist()], dtype=np.intp)
        edges = np.array([slot_at[k] for k in step.slots.tolist()], dtype=np.intp)
        pairs = tuple((i, j, slot_at[k]) for i, j, k in step.pairs)
        steps.append(Step(node_at[step.node], near, edges, pairs, slice(entries, entries + len(near))))
        entries += len(near)
    kept = {pair: slot_at[k] for pair, k in plan.slot_of.items() if k in slot_at}
    slot_of = {(node_at[a], node_at[b]): k for (a, b), k in kept.items()}
    inner = Plan((), tuple(steps), slot_of, len(slots), entries, len(nodes))
    return Core(inner, np.array(nodes, dtype=np.intp), np.array(slots, dtype=np.intp))


def _step(graph: nx.Graph, node: int, near: list[int], slot_of: dict[tuple[int, int], int], entries: int) -> Step:
    """Describe the elimination of one node, adding the edges that it makes between its neighbours."""
    pairs = []
    for i, a in enumerate(near):
        for j in range(i + 1, len(near)):
            b = near[j]
            if not graph.has_edge(a, b):
                graph.add_edge(a, b)
                slot_of[(a, b)] = len(slot_of)
            pairs.append((i, j, slot_of[(a, b)]))
    slots = [slot_of[(min(node, b), max(node, b))] for b in near]
    span = slice(entries, entries + len(near))
    return Step(node, np.array(near, dtype=np.intp), np.array(slots, dtype=np.intp), tuple(pairs), span)


def factor(steps: Sequence[Step], conductance: Array, factors: Factors) -> None:
    """Take the nodes of `steps` out of the network, in place.

    Parameters: `conductance` [S], shape (slots, variants), overwritten with what is left between the other nodes;
    `factors`, whose rows for these steps are filled. A node without any conductance gets shares of zero.
    """
    row = list(conductance)
    product, total = np.empty(conductance.shape[1:]), np.empty(conductance.shape[1:])
    for step in steps:
        inverse, weights = factors.inverse[step.node], list(factors.weights[step.span])
        branch = [row[k] for k in step.slots.tolist()]
        total[:] = branch[0] if branch else 0.0
        for own in branch[1:]:
            np.add(total, own, out=total)
        if total.all():
            np.divide(1.0, total, out=inverse)
        else:
            inverse[:] = LOOSE
            np.divide(1.0, total, out=inverse, where=total != 0.0)
        for own, weight in zip(branch, weights, strict=True):
            np.multiply(own, inverse, out=weight)
        for i, j, slot in step.pairs:
            np.multiply(branch[i], weights[j], out=product)
            np.add(row[slot], product, out=row[slot])


def substitute(forward: Sequence[Step], back: Sequence[Step], factors: Factors, current: Array) -> Array:
    """Return node voltages from the currents fed into the nodes.

    Parameters: `forward`, the steps whose nodes take currents; `back`, the steps to be found again, last first taken
    out; `current` [A], shape (nodes, variants) or (nodes, sets of currents, variants), overwritten with voltages.
    Returns: voltages [V], same shape, node 0 at zero, a pinned node at zero.
    """
    row = list(current)
    product = np.empty(current.shape[1:])
    for step in forward:
        for near, weight in zip(step.neighbours.tolist(), factors.weights[step.span], strict=True):
            np.multiply(weight, row[step.node], out=product)
            np.add(row[near], product, out=row[near])
    current[0] = 0.0
    for step in reversed(back):
        own = row[step.node]
        np.multiply(own, factors.inverse[step.node], out=own)
        for near, weight in zip(step.neighbours.tolist(), factors.weights[step.span], strict=True):
            np.multiply(weight, row[near], out=product)
            np.add(own, product, out=own)
    return current
