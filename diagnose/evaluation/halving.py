"""Plain half-splitting: device by device until one leaves its healthy band, then halving the way to it.

Every reading is judged by whether it lies in the band of sound vehicles, and by nothing else. It knows no engine.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.circuit.topology import nodes_of, start_batteries, way
from diagnose.evaluation.meter import Meter, OutOfTimeError
from diagnose.evaluation.telling import HealthyBands
from diagnose.evaluation.ways import nearest_battery
from diagnose.inference.candidates import states_of
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Charger
from diagnose.model.reading import Take
from diagnose.model.terminals import poles_of

__all__ = ["split"]

#: kind of a device -> the state in which it is read
STATES = {
    "battery": "at_rest", "alternator": "engine_running", "load": "loaded", "panel": "sun_only", "supply": "mains_on",
}  # fmt: skip


def split(meter: Meter, bands: HealthyBands) -> FaultAt | None:
    """Go over the devices and halve the way to the first whose volts leave the healthy band.

    Returns: what it ends in; None where all is healthy, or time is up.
    """
    installation = meter.vehicle.installation
    try:
        for device, positive, negative, when in _devices(installation):
            if _out(meter, bands, positive, negative, when):
                return _halve(meter, bands, device, (positive, negative), when)
    except OutOfTimeError:
        pass
    return None


def _devices(installation: Installation) -> Iterator[tuple[str, str, str, str]]:
    """Yield each device with two points to read it at, and the state, the states in one go each."""
    found = []
    for name, part in installation.parts.items():
        if isinstance(part, Charger):
            state = "engine_running" if part.input else "sun_only"
            ports = (part.ignition, part.input, part.solar if not part.input else None, part.output)
            found += [(name, port, part.negative, state) for port in ports if port]
        elif part.kind in STATES:
            found.append((name, poles_of(part)[0], poles_of(part)[1], STATES[part.kind]))
    order = ["at_rest", "engine_running", "loaded", "mains_on", "sun_only"]
    known = states_of(installation)
    yield from sorted((f for f in found if f[3] in known), key=lambda f: order.index(f[3]))


def _out(meter: Meter, bands: HealthyBands, a: str, b: str, when: str) -> bool:
    """Return whether volts are outside their healthy band."""
    if a == b:
        return False
    take = Take("volts", (a, b), when)
    read = meter.read(take)
    if read.kind == "unsteady":
        return True
    low, high = bands.band(take)
    return read.value is not None and not low <= read.value <= high


def _halve(meter: Meter, bands: HealthyBands, device: str, poles: tuple[str, str], when: str) -> FaultAt:
    """Halve the loop from the source through the device and back."""
    installation = meter.vehicle.installation
    source = _source(installation, device, poles[0], when)
    if source is None:
        return FaultAt("no_output", device)
    out, back = way(installation, source[0], poles[0]), way(installation, source[1], poles[1])
    if _out(meter, bands, *source, when):
        return FaultAt("discharged", _owner(installation, source))
    positive = bool(out) and _out(meter, bands, poles[0], source[1], when)
    edges, start, other = (out, source[0], source[1]) if positive else (back, source[1], source[0])
    if not edges or (not positive and not _out(meter, bands, source[0], poles[1], when)):
        return FaultAt("no_output", device)
    nodes = nodes_of(edges, start)
    low, high = 0, len(nodes) - 1
    while high - low > 1:
        middle = (low + high) // 2
        pair = (nodes[middle], other) if positive else (other, nodes[middle])
        low, high = (low, middle) if _out(meter, bands, *pair, when) else (middle, high)
    return FaultAt("high_resistance", edges[low].part, edges[low].at)


def _source(installation: Installation, device: str, positive: str, when: str) -> tuple[str, str] | None:
    """Return the posts of the source that feeds a device: a panel in the sun, else the nearest battery."""
    for name, part in installation.parts.items():
        feeds = part.kind == ("panel" if when == "sun_only" else "battery") and name != device
        if feeds and way(installation, poles_of(part)[0], positive):
            nearest = nearest_battery(installation, positive, "pos")
            if part.kind == "panel" or poles_of(part)[0] == nearest:
                return poles_of(part)[0], poles_of(part)[1]
    return None


def _owner(installation: Installation, posts: tuple[str, str]) -> str:
    starters = start_batteries(installation)
    found = [n for n, p in installation.parts.items() if poles_of(p) == posts and p.kind in ("battery", "panel")]
    return min(found, key=lambda n: (n not in starters, n))
