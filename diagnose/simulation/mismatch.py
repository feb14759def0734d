"""What a simulated vehicle has that the tables do not tell: its numbers shifted by stated amounts.

Each amount is the largest shift either way; a vehicle's own shift is drawn evenly within it. Nothing here reads or
solves.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from diagnose.circuit.parameters import Parameters
from diagnose.prediction.streams import Streams

__all__ = ["AS_TOLD", "OUTSIDE", "Mismatch", "shifted", "shifted_reading"]


class Mismatch(NamedTuple):
    """The largest shifts of one vehicle beside what the tables allow.

    `stretch` widens every draw about its middle; `thresholds`, `profile`, `regulated`, `rest` [V]; `efficiency`, share;
    `battery`, `joints`, factors either way; `cables`, share; `volts_gain`, share; `clamp` [A].
    """

    stretch: float = 1.0
    thresholds: float = 0.0
    profile: float = 0.0
    regulated: float = 0.0
    rest: float = 0.0
    efficiency: float = 0.0
    battery: float = 1.0
    joints: float = 1.0
    cables: float = 0.0
    volts_gain: float = 0.0
    clamp: float = 0.0


#: a vehicle that the tables describe
AS_TOLD = Mismatch()
#: a vehicle somewhat outside what the tables say (no published figure: judgement)
OUTSIDE = Mismatch(
    stretch=1.15, thresholds=0.03, profile=0.03, regulated=0.05, rest=0.03, efficiency=0.01, battery=1.2, joints=1.3,
    cables=0.04, volts_gain=0.002, clamp=0.1,
)  # fmt: skip

_VOLTS = {
    "charger.start": "thresholds", "charger.stop": "thresholds", "charger.start_ignition": "thresholds",
    "charger.stop_ignition": "thresholds", "charger.voltage": "profile", "alternator.voltage": "regulated",
    "supply.voltage": "regulated", "battery.rest": "rest", "charger.efficiency": "efficiency",
}  # fmt: skip


def shifted(numbers: Parameters, roles: tuple[str, ...], mismatch: Mismatch, streams: Streams) -> Parameters:
    """Return the numbers of vehicles, shifted; what is given is left as it was.

    Parameters: `roles`, of the edges in their order, as in `circuit.graph`; `streams`, which draw the shifts.
    """
    moved = {name: values.copy() for name, values in numbers.items()}
    for name, amount in _VOLTS.items():
        most = getattr(mismatch, amount)
        # start and stop of one charger move together, so that one never passes the other
        key = f"mismatch {amount}" if amount == "thresholds" else f"mismatch {name}"
        for row in range(len(moved[name])):
            moved[name][row] += streams.even(f"{key} {row}", -most, most)
    for name in ("battery.give", "battery.take"):
        for row in range(len(moved[name])):
            moved[name][row] *= streams.factor(f"mismatch {name} {row}", mismatch.battery)
    for row, role in enumerate(roles):
        name = f"mismatch edge {row}"
        if role == "wire":
            moved["resistance"][row] *= 1.0 + streams.even(name, -mismatch.cables, mismatch.cables)
        elif role in ("termination", "holder_contact", "contact", "bond", "element"):
            moved["resistance"][row] *= streams.factor(name, mismatch.joints)
    return moved


def shifted_reading(quantity: str, shown: float, mismatch: Mismatch, streams: Streams) -> float:
    """Return what the vehicle's own meter shows where another would show `shown`.

    >>> shifted_reading("volts", 12.0, AS_TOLD, Streams(1, 1))
    12.0
    """
    if quantity in ("volts", "load_test"):
        gain = streams.even("mismatch meter gain", -mismatch.volts_gain, mismatch.volts_gain)
        return shown * (1.0 + float(gain[0]))
    if quantity == "amps":
        return shown + float(np.asarray(streams.even("mismatch clamp", -mismatch.clamp, mismatch.clamp))[0])
    return shown
