"""The network about a settled condition: what a meter's own current does to it, and which nodes hang together.

A voltmeter draws its reading through its input resistance, an ohmmeter feeds a small current; both are answered by the
resistance between two nodes of the network with every device replaced by its tangent. This file solves no operating
points.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array, Factors, Plan, factor, substitute
from diagnose.circuit.modes import Solution
from diagnose.circuit.wiring import Wiring

__all__ = ["Tangent", "between", "joined", "meter_volts", "tangent_at"]


class Tangent(NamedTuple):
    """A factored linear network; `island` numbers the nodes that hang together, shape (nodes, variants)."""

    plan: Plan
    factors: Factors
    island: NDArray[np.int32]


def tangent_at(wiring: Wiring, solution: Solution) -> Tangent:
    """Return the linear network about the unloaded condition of a solution."""
    plan = wiring.plan
    variants = solution.voltage.shape[1]
    conductance = np.zeros((plan.slots, variants))
    for k, (a, b) in enumerate(zip(wiring.edge_a.tolist(), wiring.edge_b.tolist(), strict=True)):
        if a != b:
            conductance[plan.slot_of[(min(a, b), max(a, b))]] += 1.0 / solution.resistance[k]
    for k, (a, b) in enumerate(wiring.branch_nodes.tolist()):
        if a != b:
            conductance[plan.slot_of[(min(a, b), max(a, b))]] += solution.slope[k]
    factors = Factors(np.empty((plan.entries, variants)), np.empty((plan.nodes, variants)))
    steps = plan.inner + plan.outer
    factor(steps, conductance, factors)
    island = np.zeros((plan.nodes, variants), dtype=np.int32)
    for step in reversed(steps):
        near = np.where(factors.weights[step.span] != 0.0, island[step.neighbours], -1).max(axis=0, initial=-1)
        island[step.node] = np.where(near >= 0, near, step.node)
    return Tangent(plan, factors, island)


def between(tangent: Tangent, a: int, b: int) -> Array:
    """Return the resistance [ohm] between two nodes, infinite where nothing joins them, shape (variants,)."""
    variants = tangent.island.shape[1]
    if a == b:
        return np.zeros(variants)
    fed = np.zeros((tangent.plan.nodes, variants))
    fed[a], fed[b] = 1.0, -1.0
    reached, steps = {a, b}, []
    for step in tangent.plan.inner + tangent.plan.outer:  # no other node has a current, or is needed for these two
        if step.node in reached:
            reached.update(step.neighbours.tolist())
            steps.append(step)
    volts = substitute(steps, steps, tangent.factors, fed)
    return np.where(joined(tangent, a, b), volts[a] - volts[b], np.inf)


def joined(tangent: Tangent, a: int, b: int) -> NDArray[np.bool_]:
    """Return where two nodes lie in one island, shape (variants,)."""
    same: NDArray[np.bool_] = tangent.island[a] == tangent.island[b]
    return same


def meter_volts(tangent: Tangent, a: int, b: int, open_volts: Array, meter_resistance: float) -> Array:
    """Return what a voltmeter of a given input resistance reads between two nodes.

    Parameters: `open_volts` [V], their difference without the meter; `meter_resistance` [ohm].
    Returns: volts [V], zero where the meter is the only thing that joins the two.
    """
    return open_volts / (1.0 + between(tangent, a, b) / meter_resistance)
