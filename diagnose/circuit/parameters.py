"""The numbers of a vehicle, one column for each variant, and what each of their names means.

`Parameters` maps a name of `NAMES` to an array of shape (how many, variants). The numbers do not depend on the
operating state. This file only names, checks and joins them; `prediction.unknowns` draws them and `circuit.faults`
changes them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from diagnose.circuit.elimination import Array

__all__ = ["NAMES", "Parameters", "columns", "join", "width"]

Parameters = dict[str, Array]

#: name -> (what the rows are, unit, meaning)
NAMES: dict[str, tuple[str, str, str]] = {
    "resistance": ("edge", "ohm", "resistance of each edge, infinite where it is open"),
    "battery.rest": ("battery", "V", "voltage with no current"),
    "battery.give": ("battery", "ohm", "resistance while it gives current"),
    "battery.take": ("battery", "ohm", "resistance while it takes charge"),
    "battery.sign": ("battery", "", "1, or -1 where it is reversed"),
    "battery.on": ("battery", "", "1, or 0 where its own disconnect is open"),
    "alternator.voltage": ("alternator", "V", "regulated voltage"),
    "alternator.resistance": ("alternator", "ohm", "source resistance"),
    "alternator.limit": ("alternator", "A", "greatest current at running speed"),
    "alternator.idle_limit": ("alternator", "A", "greatest current at idle"),
    "supply.voltage": ("supply", "V", "regulated voltage"),
    "supply.resistance": ("supply", "ohm", "source resistance"),
    "supply.limit": ("supply", "A", "greatest current"),
    "starter.current": ("starter", "A", "current while cranking"),
    "starter.full_at": ("starter", "V", "voltage above which it draws its full current"),
    "diode.drop": ("diode", "V", "forward drop where it starts to conduct"),
    "diode.resistance": ("diode", "ohm", "slope beyond the drop, infinite where it is open"),
    "relay.closes": ("relay", "V", "coil voltage above which it closes"),
    "relay.opens": ("relay", "V", "coil voltage below which it opens"),
    "power_load.power": ("power_load", "W", "power drawn above the cut-out voltage"),
    "power_load.cut": ("power_load", "V", "voltage below which it stops"),
    "panel.photo": ("panel", "A", "photo current"),
    "panel.saturation": ("panel", "A", "diode saturation current"),
    "panel.scale": ("panel", "V", "diode voltage scale n*Ns*Vth"),
    "panel.series": ("panel", "ohm", "series resistance"),
    "panel.sign": ("panel", "", "1, or -1 where it is reversed"),
    "charger.start": ("charger", "V", "input voltage above which it starts"),
    "charger.stop": ("charger", "V", "input voltage below which it stops"),
    "charger.start_ignition": ("charger", "V", "the same with a live ignition-sense lead"),
    "charger.stop_ignition": ("charger", "V", "the same with a live ignition-sense lead"),
    "charger.ignition_live": ("charger", "V", "ignition input voltage that counts as live"),
    "charger.needs": ("charger", "V", "output voltage without which it does not start"),
    "charger.voltage": ("charger", "V", "voltage of the profile in force"),
    "charger.rating": ("charger", "A", "output current limit when cool"),
    "charger.efficiency": ("charger", "", "output power over input power"),
    "charger.standing": ("charger", "W", "power it uses itself while on"),
    "charger.regulation": ("charger", "ohm", "output resistance while it holds its voltage"),
    "charger.shares": ("charger", "", "1 where it uses sun and input together, else 0"),
    "charger.works": ("charger", "", "1, or 0 where it is dead"),
    "charger.solar_from": ("charger", "V", "panel voltage above which it uses the sun"),
    "charger.solar_limit": ("charger", "V", "panel voltage above which it refuses the sun"),
    "charger.tracking": ("charger", "", "share of the panel's open-circuit voltage at which it works"),
    "charger.case": ("charger", "degC", "case temperature"),
    "charger.full_power_to": ("charger", "degC", "case temperature up to which it gives its rating"),
    "charger.shuts_down_at": ("charger", "degC", "case temperature at which it shuts down"),
    "charger.derate_floor": ("charger", "", "share of its rating that is left just below shutting down"),
}


def width(parameters: Parameters) -> int:
    """Return the number of variants."""
    return int(parameters["resistance"].shape[1])


def columns(parameters: Parameters, which: Any) -> Parameters:
    """Return the variants that an index or mask selects, as a copy."""
    return {name: values[:, which].copy() for name, values in parameters.items()}


def join(several: Sequence[Parameters]) -> Parameters:
    """Return the variants of several sets side by side."""
    return {name: np.concatenate([one[name] for one in several], axis=1) for name in several[0]}
