"""Node voltages of a network of resistors and device branches, by Newton's method on all variants at once.

Each round replaces every branch by its tangent, solves the linear network exactly, and asks the laws again. Only nodes
with devices take part in the rounds; the others are eliminated once before and found once after. Variants that have
settled leave the batch. What ties the ports of a charger together is in `coupling`.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from diagnose.circuit.branches import Branches, Rows, currents, neighbouring, open_circuit, select
from diagnose.circuit.coupling import Linear, couple, flow_of
from diagnose.circuit.elimination import Array, Factors, Plan, factor, substitute
from diagnose.circuit.wiring import Wiring

__all__ = ["Network", "Point", "everywhere", "part_of", "reduce_network", "solve_branches"]

#: rounds after which a variant is given up: where the answer must be exact, and where it need not
ROUNDS, FEWER_ROUNDS, ROUGH = 120, 45, 1e-7
#: rounds in which constant powers are taken as constant currents; rounds after which every other step is halved
STEADY_ROUNDS, FULL_ROUNDS = 3, 20
#: about where a battery stands while something charges it [V]: a good place to begin
CHARGED = 14.0


class Point(NamedTuple):
    """A solution: node voltages [V] (nodes, variants), branch currents [A] and slopes [S] (branches, variants), and
    whether it settled."""

    voltage: Array
    current: Array
    slope: Array
    settled: Array


class _Ports(NamedTuple):
    """The branches sorted by the pair of nodes they join, so that each pair is one entry of the network."""

    order: Array
    starts: Array
    pos: Array
    neg: Array
    slots: Array
    of_branch: Array


class _Tangents(NamedTuple):
    """Where the branches stand: voltage, current and slope, shape (branches, variants).

    `flows` [A], shape (2, chargers, variants): what each charger draws at its output beside its voltage law, and at
    its input.
    """

    voltage: Array
    current: Array
    slope: Array
    flows: Array


def _ports(wiring: Wiring) -> _Ports:
    """Sort the branches by node pair; a branch between a node and itself is a port the charger does not have."""
    plan, own = wiring.core.plan, np.zeros(len(wiring.nodes), dtype=np.intp)
    own[wiring.core.nodes] = np.arange(len(wiring.core.nodes))
    nodes = own[wiring.branch_nodes]
    order = np.lexsort((nodes[:, 1], nodes[:, 0]))
    ordered = nodes[order]
    fresh = np.ones(len(ordered), dtype=bool)
    fresh[1:] = np.any(ordered[1:] != ordered[:-1], axis=1)
    starts = np.flatnonzero(fresh)
    pos, neg = ordered[starts, 0], ordered[starts, 1]
    slots = [plan.slot_of.get((min(a, b), max(a, b)), -1) for a, b in zip(pos.tolist(), neg.tolist(), strict=True)]
    of_branch = np.empty(len(order), dtype=np.intp)
    of_branch[order] = np.cumsum(fresh) - 1
    return _Ports(order, starts, pos, neg, np.array(slots, dtype=np.intp), of_branch)


def _round(
    plan: Plan, ports: _Ports, conductance: Array, at: _Tangents, branches: Branches, rows: Rows
) -> tuple[Array, Array, Array, Array]:
    """Solve the network with every branch replaced by its tangent.

    Returns: branch voltages [V], the currents [A] expected there, node voltages [V], and the flows of `_Tangents`.
    """
    slope = at.slope.copy()
    slope[rows.output], slope[rows.input] = branches.slope[rows.output], 0.0
    constant = at.current - slope * at.voltage
    constant[rows.output], constant[rows.input] = -branches.slope[rows.output] * branches.zero[rows.output], 0.0
    tangent = np.add.reduceat(slope[ports.order], ports.starts, axis=0)
    offset = np.add.reduceat(constant[ports.order], ports.starts, axis=0)
    variants = at.voltage.shape[1]
    chargers = _ends(ports, rows) if branches.slope[rows.output].any() else []
    slots = conductance.copy()
    fed = np.zeros((plan.nodes, 1 + 2 * len(chargers), variants))
    for k, slot in enumerate(ports.slots.tolist()):
        if slot >= 0:
            slots[slot] += tangent[k]
            fed[ports.pos[k], 0] -= offset[k]
            fed[ports.neg[k], 0] += offset[k]
    for k, port in enumerate(port for pair in chargers for port in pair):
        fed[ports.pos[port], 1 + k] += 1.0
        fed[ports.neg[port], 1 + k] -= 1.0
    factors = Factors(np.empty((plan.entries, variants)), np.empty((plan.nodes, variants)))
    factor(plan.outer, slots, factors)
    solved = substitute(plan.outer, plan.outer, factors, fed)
    nodes, flows, output = solved[:, 0], at.flows, np.zeros(branches.drawing.shape)
    if chargers:
        nodes, flows, output = _with_chargers(ports, chargers, at, branches, rows, solved)
    branch = (nodes[ports.pos] - nodes[ports.neg])[ports.of_branch]
    expected = constant + slope * branch
    expected[rows.output], expected[rows.input] = -output, flows[1]
    return branch, expected, nodes, flows


def _ends(ports: _Ports, rows: Rows) -> list[tuple[int, int]]:
    """Return the node pairs of the output and input port of every charger."""
    outputs, inputs = (ports.of_branch[r].tolist() for r in (rows.output, rows.input))
    return list(zip(outputs, inputs, strict=True))


def _with_chargers(
    ports: _Ports, chargers: list[tuple[int, int]], at: _Tangents, branches: Branches, rows: Rows, solved: Array
) -> tuple[Array, Array, Array]:
    """Add what the chargers draw, one after the other, each with the others as they stand.

    Parameters: `solved` [V], (nodes, 1 + 2 for each charger, variants): volts with the chargers drawing nothing beside
    their voltage law, and volts for one ampere fed into each output and input port.
    Returns: node voltages, the flows of `_Tangents`, and the output currents [A].
    """
    sun = at.voltage[rows.track] * at.current[rows.track] * branches.tracking
    flows, output = at.flows.copy(), np.zeros(branches.drawing.shape)
    nodes = solved[:, 0]
    answers = [(solved[:, 1 + 2 * k], solved[:, 2 + 2 * k]) for k in range(len(chargers))]
    for k, (out, port) in enumerate(answers[1:], 1):  # each in turn is taken out and put back as it comes out
        nodes = nodes - flows[0, k] * out - flows[1, k] * port
    for k, ((out, port), (a, b)) in enumerate(zip(answers, chargers, strict=True)):
        if k:
            nodes = nodes + flows[0, k] * out + flows[1, k] * port
        (out_pos, in_pos), (out_neg, in_neg) = ports.pos[[a, b]], ports.neg[[a, b]]
        linear = Linear(
            nodes[out_pos] - nodes[out_neg], nodes[in_pos] - nodes[in_neg],
            out[out_pos] - out[out_neg], port[out_pos] - port[out_neg], port[in_pos] - port[in_neg],
        )  # fmt: skip
        flow = flow_of(linear, branches, k, rows, sun[k])
        flows[0, k], flows[1, k], output[k] = flow.extra, flow.input, flow.output
        nodes = nodes - flow.extra * out - flow.input * port
    return nodes, flows, output


def _start(branches: Branches, rows: Rows, variants: int) -> tuple[Array, Array, Array]:
    """Return branch voltages, currents and slopes to begin with: sources holding their voltage, loads near 12 V."""
    voltage = np.full((rows.panel.stop, variants), 12.0)
    voltage[rows.ramps] = branches.zero
    voltage[rows.diode] = 0.0  # blocking: at its drop it would lift a dead circuit behind it by that much
    fed = (branches.slope[rows.alternator].any(axis=0)) | (branches.slope[rows.supply].any(axis=0))
    for battery in (rows.give, rows.take):
        mirrored = np.sign(branches.zero[battery])
        voltage[battery] = np.where(fed, mirrored * CHARGED, branches.zero[battery])
    voltage[rows.panel] = branches.sign * open_circuit(branches.photo, branches.saturation, branches.scale)
    current, slope = currents(branches, voltage, rows)
    slope[rows.give] = np.where(fed, slope[rows.give], branches.slope[rows.give])
    current[rows.give] = np.where(fed, current[rows.give], 0.0)
    for held in (rows.alternator, rows.supply, rows.output, rows.hold, rows.track):
        slope[held] = branches.slope[held]
        current[held] = 0.0
    return voltage, current, slope


def _steady(at: _Tangents, rows: Rows) -> _Tangents:
    """Return the tangents with constant powers taken as constant currents.

    Their slope is negative, and beside a source at its limit it can outweigh all the rest and send the first rounds
    astray.
    """
    slope = at.slope.copy()
    slope[rows.powers] = 0.0
    return at._replace(slope=slope)


class Network(NamedTuple):
    """A vehicle's resistances with only the nodes of devices and relays left.

    `conductance` [S] (slots of the core, variants), relay contacts left out; `inner`, how the others follow.
    """

    conductance: Array
    inner: Factors


def reduce_network(wiring: Wiring, resistance: Array) -> Network:
    """Eliminate the nodes without devices, once for all that is solved on the same resistances.

    Parameters: `resistance` [ohm], shape (edges, variants), infinite where open; relay contacts are not looked at.
    """
    plan, variants = wiring.plan, resistance.shape[1]
    contacts = {relay.edge for relay in wiring.relays}
    conductance = np.zeros((plan.slots, variants))
    for k, (a, b) in enumerate(zip(wiring.edge_a.tolist(), wiring.edge_b.tolist(), strict=True)):
        if a != b and k not in contacts:
            conductance[plan.slot_of[(min(a, b), max(a, b))]] += 1.0 / resistance[k]
    inner = Factors(np.empty((plan.entries, variants)), np.empty((plan.nodes, variants)))
    factor(plan.inner, conductance, inner)
    return Network(conductance[wiring.core.slots], inner)


def part_of(network: Network, which: Array) -> Network:
    """Return some variants of a network, without what the other nodes need."""
    return Network(network.conductance[:, which], network.inner)


def everywhere(wiring: Wiring, network: Network, voltage: Array) -> Array:
    """Return the volts [V] of all nodes from those of the nodes with devices, shape (nodes, variants)."""
    return substitute((), wiring.plan.inner, network.inner, voltage.copy())


def solve_branches(
    wiring: Wiring, network: Network, closed: Array, branches: Branches, rows: Rows, tolerance: float,
    near: Array | None = None,
) -> Point:  # fmt: skip
    """Return the operating point of every variant at the nodes with devices; other nodes are left at zero.

    Parameters: `network`, of the variants; `closed` [S], conductance of each relay's contact, shape (relays,
    variants); `branches`, the device laws (its `low` and `power` are overwritten for chargers); `tolerance` [A],
    relative to 1 A and the current itself, of every branch; `near` [V], node voltages of a condition that is not far
    off, to begin with.
    Returns: the operating points; `settled` is False where no solution was found in 120 rounds, or
    45 with a rough tolerance.
    """
    core = wiring.core
    own = {node: k for k, node in enumerate(core.nodes.tolist())}
    conductance = network.conductance.copy()
    for relay, contact in zip(wiring.relays, closed, strict=True):
        a, b = sorted(own[node] for node in wiring.edge_nodes(relay.edge))
        if a != b:
            conductance[core.plan.slot_of[(a, b)]] += contact
    begin = None if near is None else near[wiring.branch_nodes[:, 0]] - near[wiring.branch_nodes[:, 1]]
    point = _outer(core.plan, _ports(wiring), conductance, branches, rows, tolerance, begin)
    voltage = np.zeros((wiring.plan.nodes, conductance.shape[1]))
    voltage[core.nodes] = point.voltage
    return point._replace(voltage=voltage)


def _outer(
    plan: Plan,
    ports: _Ports,
    conductance: Array,
    branches: Branches,
    rows: Rows,
    tolerance: float,
    begin: Array | None,
) -> Point:
    """Return the operating point at the nodes with devices; other nodes are left at zero."""
    variants = conductance.shape[1]
    voltage, current, slope = _start(branches, rows, variants)
    if begin is not None:
        voltage = begin
        current, slope = currents(branches, begin, rows)
    at = _Tangents(voltage, current, slope, np.zeros((2, *branches.drawing.shape)))
    point = Point(
        np.zeros((plan.nodes, variants)), np.zeros_like(current), np.zeros_like(current), np.zeros(variants, bool)
    )
    active = np.arange(variants)
    piece = np.zeros(branches.slope.shape, dtype=np.int8)
    turns = ROUNDS if tolerance < ROUGH else FEWER_ROUNDS
    for turn in range(0 if begin is None else STEADY_ROUNDS, turns):
        if not active.size or not ports.starts.size:
            point.settled[active] = True
            break
        used = _steady(at, rows) if turn < STEADY_ROUNDS else at
        branch, expected, solved, flows = _round(plan, ports, conductance, used, branches, rows)
        full = turn < FULL_ROUNDS or turn % 2 == 0
        if not full:
            branch = 0.5 * (at.voltage + branch)
        couple(branches, rows, branch)
        now, slope = currents(branches, branch, rows)
        done = (np.max(np.abs(now - expected) / (1.0 + np.abs(now)), axis=0) <= tolerance) & full
        out = done | (turn == turns - 1)
        if out.any():
            leaving = active[out]
            point.settled[leaving], point.voltage[:, leaving] = done[out], solved[:, out]
            point.current[:, leaving], point.slope[:, leaving] = now[:, out], slope[:, out]
        current, slope, piece = neighbouring(branches, branch, rows, now, slope, piece)
        at = _Tangents(branch, current, slope, flows)
        if done.any():
            keep = np.flatnonzero(~done)
            active, conductance, piece = active[keep], conductance[:, keep], piece[:, keep]
            branches = select(branches, keep)
            at = _Tangents(*(array[..., keep] for array in at))
    return point
