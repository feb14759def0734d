"""The operating states a reading can be taken in, as the readings form names them.

A state says what is switched on; it does not say what follows from that.
"""

from __future__ import annotations

from typing import NamedTuple

__all__ = ["OPERATING_STATES", "OperatingState"]


class OperatingState(NamedTuple):
    """What is switched on in one operating state.

    `engine` is off, running, idle or cranking; `isolated` means that the leads are off both posts of every battery.
    """

    engine: str = "off"
    key: bool = False
    loads: bool = False
    supplies: bool = False
    sun: bool = False
    isolated: bool = False
    says: str = ""


OPERATING_STATES: dict[str, OperatingState] = {
    "at_rest": OperatingState(says="everything off and settled"),
    "key_on": OperatingState(key=True, says="ignition on, engine stopped"),
    "engine_running": OperatingState("running", key=True, says="engine at 1,200 rev/min or more"),
    "engine_idle": OperatingState("idle", key=True, says="engine at idle"),
    "engine_running_loaded": OperatingState(
        "running", key=True, loads=True, says="engine at 1,200 rev/min or more, house loads on"
    ),
    "loaded": OperatingState(loads=True, says="engine off, house loads on"),
    "cranking": OperatingState("cranking", key=True, says="engine being cranked"),
    "mains_on": OperatingState(supplies=True, says="engine off, mains charger on"),
    "sun_only": OperatingState(sun=True, says="engine off, panel in full sun"),
    "engine_and_sun": OperatingState("running", key=True, sun=True, says="engine running, panel in full sun"),
    "isolated": OperatingState(isolated=True, says="leads off both posts of every battery, panel and supplies off"),
}
