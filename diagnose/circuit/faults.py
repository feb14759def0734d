"""Faults as changes of a circuit: each law changes one or two edges, or one number of one part.

Which fault follows which law, and how large it may be, is data (`rules/faults`). A misplaced cable end, a short and a
charger with input and output exchanged need a wiring of their own, which `variant_of` describes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import pairwise
from typing import NamedTuple

import networkx as nx
import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.circuit.graph import Edge, edges_of, graph_of, lug
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.profiles import profile_in_force
from diagnose.circuit.wiring import Wiring
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Cable, Charger, Fuse
from diagnose.model.terminals import ends_of

__all__ = ["LAWS", "LEFT_TO_CHANCE", "Change", "Variant", "apply_fault", "together", "variant_of"]

NOMINAL = 12.6
#: a fuse opens at this multiple of its rating if the current lasts (type E fuses, DIN 72581-3: within 30 minutes)
FUSING = 1.35
BODIES = ("wire", "element", "contact", "bond", "shunt", "relay_contact")


class Variant(NamedTuple):
    """What a fault adds to the structure of the wiring."""

    extra: tuple[Edge, ...] = ()
    swapped: frozenset[str] = frozenset()


def together(variants: Iterable[Variant]) -> Variant:
    """Return what several faults add to the wiring; a charger whose input and output are exchanged twice is as it was.
    """
    extra: tuple[Edge, ...] = ()
    swapped: frozenset[str] = frozenset()
    for variant in variants:
        extra, swapped = tuple(dict.fromkeys((*extra, *variant.extra))), swapped ^ variant.swapped
    return Variant(extra, swapped)


class Change(NamedTuple):
    """A fault about to be applied: the wiring, the numbers to change, the fault, its sizes and a spare even draw, by
    variant.
    """

    wiring: Wiring
    numbers: Parameters
    fault: FaultAt
    size: Array
    spare: Array

    def edge(self) -> int:
        """Return the number of the edge that fails: the joint at one end, or the part's own body; -1 for a diode."""
        for k, edge in enumerate(self.wiring.edges):
            if edge.part == self.fault.part:
                joint = self.fault.at is not None and edge.at == self.fault.at and edge.role != "moved"
                if joint or (self.fault.at is None and edge.role in BODIES):
                    return k
        return -1

    def row(self, kind: str) -> int:
        """Return the row of the part among the devices of its kind, or -1."""
        parts = self.wiring.device_parts(kind)
        return parts.index(self.fault.part) if self.fault.part in parts else -1

    def inner(self, role: str) -> Array:
        """Return the resistances of an edge inside the part, such as its drain."""
        row: Array = self.numbers["resistance"][self.wiring.edge_index[(self.fault.part, role, None)]]
        return row


def variant_of(installation: Installation, fault: FaultAt, law: str) -> Variant:
    """Return what a fault adds to the wiring.

    Parameters: `law`, a name in `LAWS`.
    """
    part = installation.parts[fault.part]
    if law == "move_end" and fault.at and fault.to:
        return Variant((Edge(fault.part, "moved", fault.to, lug(fault.part, fault.at), fault.to),))
    if law == "join_negative":
        far = ends_of(part)[1]
        near = lug(fault.part, far) if isinstance(part, Cable | Fuse) else far
        negative = next(p.neg for p in installation.parts.values() if isinstance(p, Battery))
        return Variant((Edge(fault.part, "short", None, near, negative),))
    if law == "reverse" and isinstance(part, Charger):
        return Variant(swapped=frozenset({fault.part}))
    return Variant()


def apply_fault(wiring: Wiring, numbers: Parameters, fault: FaultAt, law: str, size: Array, spare: Array) -> None:
    """Change the numbers of vehicles as a fault does, in place.

    Parameters: `numbers`, one column a vehicle; `law`, a name in `LAWS`; `size`, by vehicle, in the unit of the
    fault's rule; `spare`, even numbers from 0 to 1 by vehicle, for what a fault leaves to chance.
    Raises: KeyError for an unknown law.
    """
    LAWS[law](Change(wiring, numbers, fault, size, spare))


def _open(c: Change) -> None:
    if (k := c.edge()) >= 0:
        c.numbers["resistance"][k] = np.inf
    elif (row := c.row("diode")) >= 0:
        c.numbers["diode.resistance"][row] = np.inf


def _add_resistance(c: Change) -> None:
    if (k := c.edge()) >= 0:
        c.numbers["resistance"][k] += c.size
    elif (row := c.row("diode")) >= 0:
        c.numbers["diode.resistance"][row] += c.size


def _area(c: Change) -> None:
    part = c.wiring.installation.parts[c.fault.part]
    assert isinstance(part, Cable)
    c.numbers["resistance"][c.edge()] *= np.maximum(part.area.mid / c.size, 1.0)


def _join_negative(c: Change) -> None:
    """A short takes with it the weakest fuse on each way from a battery, where the current is enough to open it."""
    c.numbers["resistance"][c.wiring.edge_index[(c.fault.part, "short", None)]] = c.size
    short = next(e for e in c.wiring.edges if e.part == c.fault.part and e.role == "short")
    parts = c.wiring.installation.parts
    graph = graph_of(edges_of(c.wiring.installation))
    for battery in (p for p in parts.values() if isinstance(p, Battery)):
        if short.a not in graph or battery.pos not in graph or not nx.has_path(graph, short.a, battery.pos):
            continue
        way = nx.shortest_path(graph, short.a, battery.pos)
        passed = {key[0] for a, b in pairwise(way) for key in graph[a][b]}
        fuses = {name: part for name in passed if isinstance(part := parts[name], Fuse)}
        if fuses:
            weakest = min(fuses, key=lambda n: (fuses[n].rating.low, n))
            blown = NOMINAL / c.size > FUSING * fuses[weakest].rating.high
            row = c.numbers["resistance"][c.wiring.edge_index[(weakest, "element", None)]]
            row[blown] = np.inf


def _reverse(c: Change) -> None:
    for name in ("battery.sign", "panel.sign"):
        if (row := c.row(name.split(".")[0])) >= 0:
            c.numbers[name][row] *= -1.0
    if (row := c.row("power_load")) >= 0:
        c.numbers["power_load.power"][row] = 0.0


def _move_end(c: Change) -> None:
    """The end goes elsewhere; a charger whose profile lead it is then follows another profile."""
    resistance, index = c.numbers["resistance"], c.wiring.edge_index
    here = index[(c.fault.part, "termination", c.fault.at)]
    resistance[index[(c.fault.part, "moved", c.fault.to)]] = resistance[here]
    resistance[here] = np.inf
    _follow_profiles(c)


def _open_lead(c: Change) -> None:
    _open(c)
    _follow_profiles(c)


def _follow_profiles(c: Change) -> None:
    """Give every charger with a profile lead the profile that its lead now leads to."""
    open_now = np.all(np.isinf(c.numbers["resistance"]), axis=1)
    before = edges_of(c.wiring.installation)
    after = [
        edge._replace(role="wire") if edge.role == "moved" else edge
        for k, edge in enumerate(c.wiring.edges)
        if not open_now[k]
    ]
    for row, name in enumerate(c.wiring.device_parts("charger")):
        part = c.wiring.installation.parts[name]
        assert isinstance(part, Charger)
        if part.profile_lead is not None:
            shift = profile_in_force(part, after).voltage.mid - profile_in_force(part, before).voltage.mid
            c.numbers["charger.voltage"][row] += shift


def _set(name: str) -> Callable[[Change], None]:
    kind = name.split(".")[0]

    def law(c: Change) -> None:
        c.numbers[name][c.row(kind)] = c.size

    return law


def _rest_voltage(c: Change) -> None:
    row = c.row("battery")
    c.numbers["battery.rest"][row] = c.size
    c.numbers["battery.give"][row] *= 1.5


def _own_resistance(c: Change) -> None:
    row = c.row("battery")
    c.numbers["battery.give"][row] = np.maximum(c.numbers["battery.give"][row], c.size)
    c.numbers["battery.take"][row] = np.maximum(c.numbers["battery.take"][row], 2.0 * c.size)


def _lose_cell(c: Change) -> None:
    part = c.wiring.installation.parts[c.fault.part]
    lithium = isinstance(part, Battery) and part.chemistry == "lfp"
    c.numbers["battery.rest"][c.row("battery")] -= 3.3 if lithium else 2.1


def _lose_capacity(c: Change) -> None:
    part = c.wiring.installation.parts[c.fault.part]
    assert isinstance(part, Battery)
    worse = np.maximum(part.capacity.mid / c.size, 1.0)
    for name in ("battery.give", "battery.take"):
        c.numbers[name][c.row("battery")] *= worse


def _disconnect(c: Change) -> None:
    c.numbers["battery.on"][c.row("battery")] = 0.0


def _scale(c: Change, by: Array) -> None:
    for name in ("charger.rating", "supply.limit", "panel.photo"):
        if (row := c.row(name.split(".")[0])) >= 0:
            c.numbers[name][row] *= by


def _dead(c: Change) -> None:
    _scale(c, 0.0 * c.size)
    if (row := c.row("charger")) >= 0:
        c.numbers["charger.works"][row] = 0.0


def _heat(c: Change) -> None:
    """A charger derates by its own law; a hot supply gives half; a hot panel loses voltage (0.33 % a kelvin)."""
    if (row := c.row("charger")) >= 0:
        c.numbers["charger.case"][row] = c.size
    elif (row := c.row("panel")) >= 0:
        c.numbers["panel.scale"][row] *= 1.0 - 0.0033 * np.maximum(c.size - 50.0, 0.0)
    else:
        _scale(c, np.full_like(c.size, 0.5))


def _regulate(c: Change) -> None:
    """The regulated voltage is as given; a figure under 5 V is taken as volts missing, or volts too many."""
    volts = c.numbers["alternator.voltage"][c.row("alternator")]
    sign = 1.0 if c.fault.fault == "overcharging" else -1.0
    volts[:] = np.where(c.size < 5.0, volts + sign * c.size, c.size)


def _leak(c: Change) -> None:
    c.inner("leak")[:] = NOMINAL / np.exp(np.log(0.05) + c.spare * np.log(2.0 / 0.05))


def _extra_current(c: Change) -> None:
    role = "drain" if c.row("battery") >= 0 else "excess"
    c.inner(role)[:] = NOMINAL / np.maximum(c.size, 1e-6)


def _comes_and_goes(c: Change) -> None:
    """At the moment of a reading the joint is sound, poor or open, a third of the time each."""
    if (k := c.edge()) >= 0:
        poor = 0.05 * np.exp(c.spare * 3.0 * np.log(100.0))
        row = c.numbers["resistance"][k]
        row += np.where(c.spare < 1 / 3, 0.0, np.where(c.spare < 2 / 3, poor, np.inf))


#: laws that leave something to chance beside the size
LEFT_TO_CHANCE = ("leak", "comes_and_goes")
LAWS: dict[str, Callable[[Change], None]] = {
    "open": _open_lead,
    "add_resistance": _add_resistance,
    "open_element": _open_lead,
    "nothing": lambda c: None,
    "area": _area,
    "join_negative": _join_negative,
    "reverse": _reverse,
    "move_end": _move_end,
    "profile": _set("charger.voltage"),
    "rest_voltage": _rest_voltage,
    "own_resistance": _own_resistance,
    "lose_cell": _lose_cell,
    "lose_capacity": _lose_capacity,
    "disconnect": _disconnect,
    "dead": _dead,
    "fraction": lambda c: _scale(c, c.size),
    "heat": _heat,
    "regulate": _regulate,
    "leak": _leak,
    "extra_current": _extra_current,
    "comes_and_goes": _comes_and_goes,
}
