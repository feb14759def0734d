"""The wiring of one installation with every node and device numbered, ready for numbers.

A `Wiring` is structure only: it is shared by all variants of a solve. Extra edges (a jumper, a test lamp, a misplaced
cable end, a short) are named when it is built and stay open until a variant gives them a resistance.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Core, Plan, core_of, plan_elimination
from diagnose.circuit.graph import Edge, edges_of, key_switches
from diagnose.model.installation import Installation
from diagnose.model.terminals import ends_of, points_of, poles_of

__all__ = ["ChargerPorts", "Device", "Wiring", "build_wiring"]


class Device(NamedTuple):
    """A two-terminal device between two nodes."""

    part: str
    pos: int
    neg: int


class ChargerPorts(NamedTuple):
    """The nodes of a charger; a port it does not have is its negative."""

    part: str
    input: int
    output: int
    negative: int
    solar: int
    ignition: int


class RelayCoil(NamedTuple):
    """The coil nodes of a relay and the number of its contact edge."""

    part: str
    pos: int
    neg: int
    edge: int


class Wiring:
    """Nodes, edges and devices of an installation by number.

    `devices` maps battery, alternator, supply, power_load, starter, panel, diode to their `Device`s. Currents of a
    device are counted from its `pos` node through it to its `neg` node.
    """

    def __init__(self, installation: Installation, extra: tuple[Edge, ...], swapped: frozenset[str]) -> None:
        """Number everything; see `build_wiring`."""
        self.installation = installation
        self.edges = edges_of(installation) + _device_edges(installation) + extra
        reference = next(p.neg for p in installation.parts.values() if p.kind == "battery")
        names = [reference, *installation.points]
        for part in installation.parts.values():
            names += points_of(part)
        for edge in self.edges:
            names += [edge.a, edge.b]
        self.nodes = tuple(dict.fromkeys(names))
        self.index = {name: k for k, name in enumerate(self.nodes)}
        self.edge_index = {(e.part, e.role, e.at): k for k, e in enumerate(self.edges)}
        self.edge_a = np.array([self.index[e.a] for e in self.edges], dtype=np.intp)
        self.edge_b = np.array([self.index[e.b] for e in self.edges], dtype=np.intp)
        self.devices = {kind: self._devices(kind) for kind in DEVICE_KINDS}
        self.chargers = self._chargers(swapped)
        self.relays = self._relays()
        keyed = key_switches(installation)
        self.key_edges = np.array([k for k, e in enumerate(self.edges) if e.part in keyed], dtype=np.intp)

    def _devices(self, kind: str) -> tuple[Device, ...]:
        found = []
        for name, part in self.installation.parts.items():
            if part.kind == kind or (kind == "power_load" and part.kind == "load" and part.power):
                pos, neg = poles_of(part) or ends_of(part)
                found.append(Device(name, self.index[pos], self.index[neg]))
        return tuple(found)

    def _chargers(self, swapped: frozenset[str]) -> tuple[ChargerPorts, ...]:
        found = []
        for name, part in self.installation.parts.items():
            if part.kind == "charger":
                negative = self.index[part.negative]
                ports = [self.index[p] if p else negative for p in (part.input, part.output, part.solar, part.ignition)]
                if name in swapped:
                    ports[0], ports[1] = ports[1], ports[0]
                found.append(ChargerPorts(name, ports[0], ports[1], negative, ports[2], ports[3]))
        return tuple(found)

    def _relays(self) -> tuple[RelayCoil, ...]:
        return tuple(
            RelayCoil(
                name, self.index[part.coil[0]], self.index[part.coil[1]], self.edge_index[(name, "relay_contact", None)]
            )
            for name, part in self.installation.parts.items()
            if part.kind == "relay"
        )

    def edge_nodes(self, edge: int) -> tuple[int, int]:
        """Return the nodes of an edge by its number."""
        return int(self.edge_a[edge]), int(self.edge_b[edge])

    def device_parts(self, kind: str) -> tuple[str, ...]:
        """Return the names of the parts of one device kind, in their order in the parameter arrays."""
        if kind == "charger":
            return tuple(c.part for c in self.chargers)
        if kind == "relay":
            return tuple(r.part for r in self.relays)
        return tuple(d.part for d in self.devices[kind])

    @cached_property
    def branch_nodes(self) -> NDArray[np.intp]:
        """The two nodes of every branch of `branches.LAYOUT`, shape (branches, 2)."""
        pairs: list[tuple[int, int]] = []
        for kind in ("battery", "battery", "alternator", "supply", "starter", "diode"):
            pairs += [(d.pos, d.neg) for d in self.devices[kind]]
        for port in ("output", "input", "solar"):
            pairs += [(getattr(c, port), c.negative) for c in self.chargers]
        pairs += [(d.pos, d.neg) for d in self.devices["power_load"]]
        for port in ("input", "solar"):
            pairs += [(getattr(c, port), c.negative) for c in self.chargers]
        pairs += [(d.pos, d.neg) for d in self.devices["panel"]]
        return np.array(pairs, dtype=np.intp).reshape(-1, 2)

    @cached_property
    def plan(self) -> Plan:
        """The order of elimination, with the nodes whose volts decide what a device does last."""
        branches = [tuple(pair) for pair in self.branch_nodes.tolist()]
        device_nodes = {node for pair in branches for node in pair}
        device_nodes |= {node for r in self.relays for node in (r.pos, r.neg, *self.edge_nodes(r.edge))}
        device_nodes |= {c.ignition for c in self.chargers}
        edges = list(zip(self.edge_a.tolist(), self.edge_b.tolist(), strict=True))
        return plan_elimination(len(self.nodes), edges + branches, device_nodes)

    @cached_property
    def core(self) -> Core:
        """The nodes with devices as a network of their own, once the others are eliminated."""
        return core_of(self.plan)


DEVICE_KINDS = ("battery", "alternator", "supply", "power_load", "starter", "panel", "diode")


def _device_edges(installation: Installation) -> tuple[Edge, ...]:
    """Return the resistive edges inside devices: coils, resistive loads, charger inputs at rest, drains and leaks.

    Drains and leaks are open in a sound installation; they are there so that a fault can change them.
    """
    edges: list[Edge] = []
    for name, part in installation.parts.items():
        if part.kind == "relay":
            edges.append(Edge(name, "coil", None, *part.coil))
        elif part.kind == "load":
            edges.append(Edge(name, "excess", None, part.pos, part.neg))
            if part.resistance:
                edges.append(Edge(name, "load_resistance", None, part.pos, part.neg))
        elif part.kind == "battery":
            edges.append(Edge(name, "drain", None, part.pos, part.neg))
        elif part.kind == "alternator":
            edges.append(Edge(name, "leak", None, part.pos, part.neg))
        elif part.kind == "charger":
            for role, point in (
                ("standby", part.input), ("ignition_input", part.ignition), ("solar_input", part.solar)
            ):
                if point:
                    edges.append(Edge(name, role, None, point, part.negative))
    return tuple(edges)


def build_wiring(
    installation: Installation, extra: tuple[Edge, ...] = (), swapped: frozenset[str] = frozenset()
) -> Wiring:
    """Number the nodes, edges and devices of an installation.

    Parameters: `extra`, edges that are open unless a variant gives them a resistance; `swapped`, chargers whose input
    and output are exchanged.
    Returns: the wiring; node 0, the reference of all voltages, is the negative post of the first battery.
    """
    return Wiring(installation, extra, swapped)
