"""What instruments show of a settled condition: volts, amperes, ohms, temperature, lamps, whether a load works.

True values, before the errors of the instrument, which belong to `prediction`. Each quantity comes as a pair: while a
hunting charger is unloaded, and while it is at its stop threshold. Signs follow the readings form.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.branches import rows_of
from diagnose.circuit.elimination import Array
from diagnose.circuit.modes import Solution
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.tangent import Tangent, between, joined, meter_volts
from diagnose.circuit.wiring import Wiring

__all__ = ["amps", "charging", "heat", "ohms", "post_volts", "volts"]

BODIES = ("wire", "element", "contact", "bond", "shunt", "relay_contact")
Pair = tuple[Array, Array]


def volts(wiring: Wiring, solution: Solution, tangent: Tangent, a: str, b: str, meter_resistance: float | None) -> Pair:
    """Return the volts [V] a meter shows from `a` (red) to `b` (black); without a resistance the meter draws nothing.
    """
    i, j = wiring.index[a], wiring.index[b]
    if meter_resistance is None:
        shares = joined(tangent, i, j).astype(float)
    else:
        shares = meter_volts(tangent, i, j, np.ones(solution.voltage.shape[1]), meter_resistance)
    high = (solution.voltage[i] - solution.voltage[j]) * shares
    low = (solution.low_voltage[i] - solution.low_voltage[j]) * shares
    return high, low


def post_volts(wiring: Wiring, parameters: Parameters, part: str) -> Array:
    """Return the volts [V] across a battery's own posts with its leads lifted."""
    row = wiring.device_parts("battery").index(part)
    volts: Array = parameters["battery.sign"][row] * parameters["battery.rest"][row] * parameters["battery.on"][row]
    return volts


def _edge_amps(wiring: Wiring, solution: Solution, k: int, voltage: Array) -> Array:
    """Return the current [A] of an edge from its first node to its second."""
    current: Array = (voltage[wiring.edge_a[k]] - voltage[wiring.edge_b[k]]) / solution.resistance[k]
    return current


def amps(wiring: Wiring, solution: Solution, part: str) -> Pair:
    """Return the current [A] of a part as a clamp shows it, with the sign of the readings form."""
    low = solution.low_voltage
    for k, edge in enumerate(wiring.edges):
        if edge.part == part and edge.role in BODIES:
            return _edge_amps(wiring, solution, k, solution.voltage), _edge_amps(wiring, solution, k, low)
    rows = rows_of(wiring)
    signs = (
        ("battery", ("give", "take"), 1.0), ("alternator", ("alternator",), -1.0), ("supply", ("supply",), -1.0),
        ("panel", ("panel",), -1.0), ("charger", ("output",), -1.0), ("starter", ("starter",), 1.0),
        ("diode", ("diode",), 1.0), ("power_load", ("load",), 1.0),
    )  # fmt: skip
    high, under = np.zeros(low.shape[1]), np.zeros(low.shape[1])
    for kind, names, sign in signs:
        if part in wiring.device_parts(kind):
            for name in names:
                row = getattr(rows, name).start + wiring.device_parts(kind).index(part)
                high, under = high + sign * solution.current[row], under + sign * solution.low_current[row]
    for k, edge in enumerate(wiring.edges):
        if edge.part == part and edge.role in ("load_resistance", "excess"):
            high = high + _edge_amps(wiring, solution, k, solution.voltage)
            under = under + _edge_amps(wiring, solution, k, low)
    return high, under


def ohms(wiring: Wiring, tangent: Tangent, a: str, b: str) -> Array:
    """Return the resistance [ohm] between two places of an isolated installation, infinite where nothing joins them."""
    return between(tangent, wiring.index[a], wiring.index[b])


def heat(wiring: Wiring, solution: Solution, part: str, at: str | None) -> Array:
    """Return the greatest heat [W] in the joints of a part, or in the joint at one end; 0 for a part without joints."""
    most = np.zeros(solution.voltage.shape[1])
    for k, edge in enumerate(wiring.edges):
        joint = edge.part == part and edge.role in (
            "termination",
            "holder_contact",
            "contact",
            "bond",
            "relay_contact",
            "element",
        )
        if joint and (at is None or edge.at == at):
            here = _edge_amps(wiring, solution, k, solution.low_voltage)
            lost = here * (solution.low_voltage[wiring.edge_a[k]] - solution.low_voltage[wiring.edge_b[k]])
            most = np.maximum(most, lost)
    return most


def charging(wiring: Wiring, solution: Solution, part: str) -> tuple[Array, Array]:
    """Return where a charger runs and where it hunts, as arrays of 0 and 1."""
    row = wiring.device_parts("charger").index(part)
    running = solution.modes.on[row] | solution.modes.sun[row]
    return running.astype(float), solution.modes.held[row].astype(float)
