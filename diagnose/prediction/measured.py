"""Resistances that were read while the installation was sound: what they leave open of its joints and cables today.

A baseline ages: its error and what a sound joint may change since widen it, until the tables know no less.
"""

from __future__ import annotations

from math import exp, hypot, log, sqrt
from typing import NamedTuple

from diagnose.circuit.graph import Edge
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation, Known

__all__ = ["Measured", "Read", "measured_edges"]

DAYS_A_YEAR = 365.25
#: the edge that lies between the two ends of a part, apart from the joints at them
_BODIES = ("wire", "element", "contact", "bond", "relay_contact", "shunt")
_JOINTS = {"termination": "termination_median", "holder_contact": "holder_contact_median"}


class Read(NamedTuple):
    """A resistance [ohm] and one standard deviation of its logarithm, as a factor."""

    ohms: float
    factor: float


#: an edge by its part, its role and its end
Measured = dict[tuple[str, str, str | None], Read]


def measured_edges(installation: Installation, tables: Tables, edges: tuple[Edge, ...]) -> Measured:
    """Return what the baseline of an installation tells of its edges; nothing where the tables know as much.

    Parameters: `installation`, whose `measured` are by `PART@POINT` (a joint) or by `PART` (from end to end).
    """
    widest = log(tables.number("joints", "joint_log_factor"))
    joints: Measured = {}
    found: Measured = {}
    for place, known in installation.measured.items():
        part, _, point = place.partition("@")
        edge = next((e for e in edges if e.part == part and e.at == point and e.role in _JOINTS), None)
        if point and edge is not None:
            read = _aged(known.resistance.mid, known.uncertainty.mid, known, tables)
            if read is not None and log(read.factor) < widest:
                joints[edge.part, edge.role, edge.at] = read
    for place, known in installation.measured.items():
        body = next((e for e in edges if e.part == place and e.role in _BODIES), None)
        if "@" in place or body is None:
            continue
        ohms, error = known.resistance.mid, known.uncertainty.mid
        for edge in edges:
            if edge.part == place and edge.role in _JOINTS:
                default = Read(tables.number("joints", _JOINTS[edge.role]), exp(widest))
                joint = joints.get((edge.part, edge.role, edge.at), default)
                ohms, error = ohms - joint.ohms, hypot(error, joint.ohms * log(joint.factor))
        read = _aged(ohms, error, known, tables)
        if read is not None and log(read.factor) < (widest if body.role not in ("wire", "element") else _known(tables)):
            found[body.part, body.role, body.at] = read
    return joints | found


def _known(tables: Tables) -> float:
    """Return how well the tables know the resistance of a cable that is described: less is no news."""
    low, high = (tables.number("conductors", f"cable_resistance_{end}") for end in ("low", "high"))
    return (high - low) / sqrt(12.0) + tables.number("joints", "baseline_cable_floor")


def _aged(ohms: float, error: float, known: Known, tables: Tables) -> Read | None:
    """Return a resistance as it is known today, or None where it was lost in the error."""
    if ohms <= error:
        return None
    years = known.age.mid / DAYS_A_YEAR
    ageing = log(tables.number("joints", "baseline_ageing")) * sqrt(years)
    return Read(ohms, exp(hypot(error / ohms, ageing, tables.number("joints", "baseline_floor"))))
