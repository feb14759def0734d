"""All that is not known of a vehicle, drawn: from a description and the tables to the numbers of many possible
vehicles.

The ranges are those of `rules/tables`, narrowed by what the description says. Nothing here knows faults or readings.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from diagnose.basics.quantities import Span
from diagnose.circuit.elimination import Array
from diagnose.circuit.graph import Edge, edges_of
from diagnose.circuit.parameters import NAMES, Parameters
from diagnose.circuit.topology import start_batteries, zone_of
from diagnose.circuit.wiring import Wiring
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.prediction.devices import DRAWS, Subject
from diagnose.prediction.measured import measured_edges
from diagnose.prediction.streams import Streams

__all__ = ["Vehicles", "draw_vehicles"]


class Vehicles(NamedTuple):
    """Possible vehicles of one description.

    `parameters` as in `circuit.parameters`, one column a vehicle; `charge` [%] by battery; `warmth` [degC] by part: its
    surroundings; `streams`, for whatever else must be drawn for the same vehicles.
    """

    parameters: Parameters
    charge: dict[str, Array]
    warmth: dict[str, Array]
    streams: Streams


def draw_vehicles(wiring: Wiring, tables: Tables, streams: Streams) -> Vehicles:
    """Draw possible sound vehicles.

    Parameters: `wiring`; `tables`, the rule base's figures; `streams`, which also tell how many.
    Returns: the vehicles, the same ones for every wiring made from one description.
    """
    count = streams.count
    installation = wiring.installation
    warmth = {name: _warmth(installation, name, tables, streams) for name in installation.parts}
    edges, starters = edges_of(installation), start_batteries(installation)
    measured = measured_edges(installation, tables, edges)
    rows: dict[str, list[Array]] = {name: [] for name in NAMES}
    charge: dict[str, Array] = {}
    for edge in wiring.edges:
        part = installation.parts.get(edge.part)
        around = warmth.get(edge.part, np.zeros(count))
        drawn = _edge(edge, Subject(edge.part, part, tables, streams, around, False, edges))
        read = measured.get((edge.part, edge.role, edge.at))
        if read is not None and np.isfinite(drawn).all():
            drawn = streams.log_normal(f"{edge.part} {edge.role} {edge.at}", read.ohms, read.factor)
        rows["resistance"].append(drawn)
    for kind, draw in DRAWS.items():
        for name in wiring.device_parts(kind):
            subject = Subject(name, installation.parts[name], tables, streams, warmth[name], name in starters, edges)
            numbers = draw(subject)
            charge |= {name: numbers.pop("charge")} if "charge" in numbers else {}
            for key, value in numbers.items():
                rows[f"{kind}.{key}"].append(value)
    parameters = {name: np.array(values, dtype=float).reshape(len(values), count) for name, values in rows.items()}
    return Vehicles(parameters, charge, warmth, streams)


def _warmth(installation: Installation, name: str, tables: Tables, streams: Streams) -> Array:
    """Return the temperature [degC] around a part."""
    zone = zone_of(installation, name)
    spread = tables.number("conductors", "zone_temperature_spread")
    known = installation.zones.get(zone) if zone else None
    ambient = known.ambient if known is not None and known.ambient is not None else installation.ambient
    return streams.span(f"ambient {zone}", ambient) + streams.even(f"zone {zone}", -spread, spread)


#: role of an edge -> its figure in the table of joints
MEDIANS = {
    "termination": "termination_median",
    "holder_contact": "holder_contact_median",
    "contact": "contact_median",
    "relay_contact": "relay_contact_median",
    "bond": "bond_median",
}


def _edge(edge: Edge, s: Subject) -> Array:
    """Return the resistance [ohm] of one edge of a sound vehicle, infinite for an edge that only a fault closes."""
    name = f"{edge.part} {edge.role} {edge.at}"
    part: Any = s.part
    if edge.role in MEDIANS:
        if getattr(part, "position", "closed") == "open":
            return s.constant(np.inf)
        return s.streams.log_normal(
            name, s.figure("joints", MEDIANS[edge.role]), s.figure("joints", "joint_log_factor")
        )
    if edge.role == "wire":
        return _wire(name, s)
    if edge.role == "element":
        spread = s.figure("joints", "fuse_element_spread")
        drop = s.figure("joints", "fuse_element_drop_at_rating") * s.streams.even(name, 1 - spread, 1 + spread)
        return np.asarray(drop / part.rating.mid)
    if edge.role == "shunt":
        default = s.figure("joints", "shunt_default_resistance")
        return s.streams.span(name, part.resistance or Span(default, default))
    if edge.role == "load_resistance":
        spread = s.figure("loads", "spread")
        return s.streams.span(name, part.resistance) / s.streams.even(f"{edge.part} load", 1 - spread, 1 + spread)
    if edge.role == "coil":
        return s.constant(s.figure("loads", "relay_coil_resistance"))
    if edge.role == "standby":
        return s.constant(12.6 / s.figure("chargers", "standby_current"))
    if edge.role in ("ignition_input", "solar_input"):
        return s.constant(s.figure("chargers", f"{edge.role}_resistance"))
    return s.constant(np.inf)


def _wire(name: str, s: Subject) -> Array:
    """Return the resistance [ohm] of a cable between its lugs at its temperature."""
    low, high = (s.figure("conductors", f"cable_resistance_{end}") for end in ("low", "high"))
    hot = s.warmth + s.streams.even(f"{name} warmth", 0.0, s.figure("conductors", "cable_warmer_than_zone_high"))
    rho, alpha = s.figure("conductors", "copper_resistivity"), s.figure("conductors", "copper_temperature_coefficient")
    length, area = s.stated("length"), s.stated("area")
    return np.asarray(rho * length / area * s.streams.even(name, 1.0 + low, 1.0 + high) * (1.0 + alpha * (hot - 20.0)))
