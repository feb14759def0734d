"""Installations and numbers for the circuit tests, made without the rule base.

`numbers_for` gives every edge and device plausible figures from one seed, so that a test of the solver does not
depend on tables
that people edit.
"""

from __future__ import annotations

import numpy as np

from diagnose.circuit.parameters import NAMES, Parameters
from diagnose.circuit.wiring import Wiring
from diagnose.model.installation import Installation

__all__ = ["chain", "full_vehicle", "installation", "numbers_for"]

#: role -> lowest and highest resistance [ohm], drawn evenly in the logarithm
_EDGES = {
    "wire": (1e-3, 2e-2),
    "termination": (1e-4, 1e-3),
    "holder_contact": (1e-4, 1e-3),
    "element": (5e-4, 5e-3),
    "contact": (3e-4, 2e-3),
    "bond": (2e-4, 1e-3),
    "relay_contact": (3e-4, 2e-3),
    "shunt": (4e-4, 6e-4),
    "coil": (70.0, 100.0),
    "load_resistance": (1.0, 4.0),
    "standby": (2e3, 6e3),
    "ignition_input": (5e3, 2e4),
    "solar_input": (5e3, 2e4),
}

#: name -> lowest and highest, drawn evenly
_DEVICES = {
    "battery.rest": (12.0, 12.8),
    "battery.give": (0.004, 0.012),
    "battery.take": (0.02, 0.2),
    "battery.sign": (1.0, 1.0),
    "battery.on": (1.0, 1.0),
    "alternator.voltage": (13.8, 14.5),
    "alternator.resistance": (0.005, 0.02),
    "alternator.limit": (70.0, 120.0),
    "alternator.idle_limit": (25.0, 40.0),
    "supply.voltage": (13.6, 14.4),
    "supply.resistance": (0.005, 0.02),
    "supply.limit": (10.0, 30.0),
    "starter.current": (120.0, 200.0),
    "starter.full_at": (6.0, 8.0),
    "diode.drop": (0.4, 0.7),
    "diode.resistance": (0.005, 0.02),
    "relay.closes": (8.0, 13.2),
    "relay.opens": (5.0, 7.0),
    "power_load.power": (30.0, 150.0),
    "power_load.cut": (10.0, 10.8),
    "panel.photo": (4.0, 9.0),
    "panel.saturation": (1e-7, 4e-7),
    "panel.scale": (1.2, 1.4),
    "panel.series": (0.1, 0.4),
    "panel.sign": (1.0, 1.0),
    "charger.start": (12.8, 13.1),
    "charger.stop": (12.3, 12.5),
    "charger.start_ignition": (12.1, 12.3),
    "charger.stop_ignition": (11.6, 11.8),
    "charger.ignition_live": (6.0, 8.0),
    "charger.needs": (0.0, 0.0),
    "charger.voltage": (14.1, 14.7),
    "charger.rating": (18.0, 42.0),
    "charger.efficiency": (0.85, 0.93),
    "charger.standing": (0.5, 3.0),
    "charger.regulation": (0.002, 0.01),
    "charger.shares": (0.0, 0.0),
    "charger.works": (1.0, 1.0),
    "charger.solar_from": (14.0, 16.0),
    "charger.solar_limit": (28.0, 32.0),
    "charger.tracking": (0.76, 0.84),
    "charger.case": (30.0, 65.0),
    "charger.full_power_to": (50.0, 55.0),
    "charger.shuts_down_at": (70.0, 75.0),
    "charger.derate_floor": (0.3, 0.7),
}


def numbers_for(wiring: Wiring, seed: int, count: int = 1) -> Parameters:
    """Return the numbers of `count` sound vehicles."""
    random = np.random.default_rng(seed)
    numbers: Parameters = {}
    for name, (rows, _, _) in NAMES.items():
        if name == "resistance":
            lines = [_resistances(wiring, random, edge.role, edge.part, count) for edge in wiring.edges]
            numbers[name] = np.array(lines, dtype=float).reshape(len(wiring.edges), count)
        else:
            numbers[name] = random.uniform(*_DEVICES[name], size=(len(wiring.device_parts(rows)), count))
    for row, name in enumerate(wiring.device_parts("charger")):
        part = wiring.installation.parts[name]
        numbers["charger.shares"][row] = float(part.shares_solar)  # type: ignore[union-attr]
    return numbers


def _resistances(wiring: Wiring, random: np.random.Generator, role: str, part: str, count: int) -> np.ndarray:
    drawn = np.exp(random.uniform(*np.log(_EDGES.get(role, (1.0, 1.0))), size=count))
    shut = role in _EDGES and getattr(wiring.installation.parts.get(part), "position", "closed") == "closed"
    return drawn if shut else np.full(count, np.inf)


def installation(parts: dict[str, dict[str, object]], title: str = "a test bench") -> Installation:
    """Return an installation of the given parts, as a file would describe them."""
    return Installation.model_validate({"title": title, "parts": parts})


def _cable(a: str, b: str, area: str = "16 mm2", length: str = "3 m") -> dict[str, object]:
    return {"kind": "cable", "ends": [a, b], "area": area, "length": length}


def _fuse(a: str, b: str, rating: str = "50 A") -> dict[str, object]:
    return {"kind": "fuse", "ends": [a, b], "rating": rating, "style": "bolted"}


def full_vehicle(shares: bool = False) -> Installation:
    """Return a vehicle with every kind of part once or more, its return through straps and a chassis."""
    return installation(
        {
            "start_battery": {"kind": "battery", "pos": "start_pos", "neg": "start_neg", "chemistry": "flooded",
            "capacity": "75 Ah"},
            "house_battery": {"kind": "battery", "pos": "house_pos", "neg": "house_neg", "chemistry": "agm",
            "capacity": "100 Ah"},
            "alternator": {"kind": "alternator", "pos": "alt_pos", "neg": "engine", "regulation": "variable",
            "rating": "110 A"},
            "starter": {"kind": "starter", "pos": "start_pos", "neg": "engine", "current": "180 A"},
            "alt_cable": _cable("alt_pos", "start_pos", "35 mm2", "1 m"),
            "engine_strap": {"kind": "bond", "ends": ["engine", "chassis"]},
            "start_return": _cable("start_neg", "chassis", "35 mm2", "0.5 m"),
            "input_fuse": _fuse("start_pos", "input_fuse_load"),
            "input_cable": _cable("input_fuse_load", "charger_in", length="5 m"),
            "output_cable": _cable("charger_out", "output_fuse_line", length="1 m"),
            "output_fuse": _fuse("output_fuse_line", "house_pos"),
            "charger_return": _cable("charger_neg", "tray", length="1 m"),
            "tray_strap": {"kind": "bond", "ends": ["tray", "chassis"]},
            "house_return": _cable("house_neg", "tray", length="0.5 m"),
            "key": {"kind": "switch", "ends": ["start_pos", "key_out"]},
            "ignition_lead": _cable("key_out", "charger_ign", "1 mm2", "4 m"),
            "panel": {
                "kind": "panel", "pos": "panel_pos", "neg": "panel_neg", "power": "120 W", "open_circuit": "22 V",
                "peak_voltage": "18 V"
            },
            "panel_plus": _cable("panel_pos", "charger_sun", "4 mm2", "6 m"),
            "panel_minus": _cable("panel_neg", "charger_neg", "4 mm2", "6 m"),
            "charger": {
                "kind": "charger", "input": "charger_in", "output": "charger_out", "negative": "charger_neg",
                "ignition": "charger_ign", "solar": "charger_sun", "rating": "30 A", "shares_solar": shares,
                "profiles": [{"name": "agm", "voltage": "14.7 V"}], "profile": "agm",
            },
            "monitor": {"kind": "shunt", "ends": ["house_pos", "house_bus"]},
            "fridge_fuse": {"kind": "fuse", "ends": ["house_bus", "fridge_line"], "rating": "15 A", "style": "blade"},
            "fridge_cable": _cable("fridge_line", "fridge_pos", "4 mm2", "4 m"),
            "fridge": {"kind": "load", "pos": "fridge_pos", "neg": "tray", "power": "55 W"},
            "lights": {"kind": "load", "pos": "house_bus", "neg": "tray", "resistance": "4 ohm"},
            "tracker": {"kind": "load", "pos": "house_bus", "neg": "tray", "power": "3 W", "always_on": True},
            "shore": {"kind": "supply", "pos": "shore_pos", "neg": "tray", "voltage": "14.2 V", "rating": "15 A"},
            "shore_cable": _cable("shore_pos", "house_bus", "6 mm2", "1 m"),
            "link_relay": {"kind": "relay", "coil": ["key_out", "chassis"], "ends": ["start_pos", "link_line"]},
            "link_diode": {"kind": "diode", "ends": ["link_line", "heater_pos"]},
            "heater": {"kind": "load", "pos": "heater_pos", "neg": "chassis", "resistance": "2 ohm"},
        }
    )  # fmt: skip


def chain(parts: int) -> Installation:
    """Return an installation of about so many parts: a charger fed through a long run with a light at every second
    joint.
    """
    described: dict[str, dict[str, object]] = {
        "start_battery": {"kind": "battery", "pos": "p0", "neg": "n0", "chemistry": "flooded", "capacity": "75 Ah"},
        "alternator": {"kind": "alternator", "pos": "p0", "neg": "n0", "regulation": "variable", "rating": "110 A"},
    }
    links = (parts - 4) // 3
    for k in range(links):
        described[f"plus{k}"] = _cable(f"p{k}", f"p{k + 1}", "35 mm2", "0.1 m")
        described[f"minus{k}"] = _cable(f"n{k}", f"n{k + 1}", "35 mm2", "0.1 m")
        described[f"light{k}"] = {"kind": "load", "pos": f"p{k + 1}", "neg": f"n{k + 1}", "resistance": "200 ohm"}
    described["charger"] = {
        "kind": "charger", "input": f"p{links}", "output": "out", "negative": f"n{links}", "rating": "20 A",
        "profiles": [{"name": "agm", "voltage": "14.4 V"}], "profile": "agm",
    }  # fmt: skip
    described["house_battery"] = {
        "kind": "battery",
        "pos": "out",
        "neg": f"n{links}",
        "chemistry": "agm",
        "capacity": "100 Ah",
    }
    return installation(described)
