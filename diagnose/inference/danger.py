"""Readings that mean danger: what was read between a battery's own posts, its temperature, and what eyes and nose
found.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.reading import Reading

__all__ = ["dangers"]

CHARGING = ("engine_running", "engine_idle", "engine_running_loaded", "mains_on", "sun_only", "engine_and_sun")
ALARMS = {
    "swollen": "it is swollen: do not charge it, keep away from it and let it be dealt with outdoors "
    "by competent people",
    "smoking": "it smokes: leave, keep others away, and call the fire service if it goes on",
    "acid": "acid has escaped or can be smelled: stop charging, no sparks, air the place, rinse skin with much water",
}
LEAVE = "stop, switch sources off if that is safe, and do not go on measuring"


def dangers(readings: Sequence[Reading], installation: Installation, tables: Tables) -> tuple[str, ...]:
    """Return what is dangerous in the readings, each with what to do, in the order read."""
    found = []
    for number, reading in enumerate(readings, 1):
        if reading.take is not None and reading.read is not None:
            for text in _of_one(reading, installation, tables):
                found.append(f"reading {number}: {text}")
    return tuple(found)


def _of_one(reading: Reading, installation: Installation, tables: Tables) -> list[str]:
    take, read = reading.take, reading.read
    assert take is not None
    assert read is not None
    part = installation.parts.get(take.where[0].partition("@")[0])
    if take.quantity in ("look", "smell") and read.word in ALARMS and (read.word != "swollen" or _can_swell(part)):
        return [f"{take.where[0]}: {ALARMS[read.word]}"]
    if take.meter == "test_lamp" or read.value is None or read.kind not in ("number", "unsteady"):
        return []
    value = read.value if read.high is None else max(read.value, read.high)
    if take.quantity == "celsius":
        name = take.where[0].partition("@")[0]
        return _warmth(name, installation.parts.get(name), value, take.when in CHARGING, tables)
    if take.quantity == "volts":
        return [
            text for name, part in installation.parts.items() for text in _posts(name, part, reading, value, tables)
        ]
    return []


def _can_swell(part: object) -> bool:
    """Return whether a part can be swollen by gas: a battery; of anything else the word means something harmless."""
    return part is None or isinstance(part, Battery)


def _warmth(name: str, part: object, celsius: float, charging: bool, tables: Tables) -> list[str]:
    """Return dangers in the temperature of a battery's case: too hot, or lithium below freezing while it is charged."""
    if not isinstance(part, Battery):
        return []
    hot, cold = tables.number("batteries", "case_hot"), tables.number("batteries", "lfp_charge_below")
    if celsius > hot:
        return [f"{name} is at {celsius:g} degC, above {hot:g}: {LEAVE}; let it cool outdoors or in open air"]
    if charging and part.chemistry == "lfp" and celsius < cold:
        return [f"{name} (lithium) is charged at {celsius:g} degC, below {cold:g}: stop its charge; warm it first"]
    return []


def _posts(name: str, part: object, reading: Reading, value: float, tables: Tables) -> list[str]:
    """Return dangers in volts read between one battery's own posts."""
    take = reading.take
    assert take is not None
    if not isinstance(part, Battery) or set(take.where) != {part.pos, part.neg}:
        return []
    volts = value if take.where[0] == part.pos else -value
    low, high = tables.number("batteries", "lfp_low"), tables.number("batteries", "lfp_high")
    if volts < tables.number("batteries", "reversed_below"):
        return [f"{name} reads {volts:g} V: its polarity is reversed; {LEAVE}, and disconnect nothing under load"]
    most = tables.number("batteries", f"never_above_{part.chemistry}")
    if part.max_charge is not None:
        most = min(most, part.max_charge.high + tables.number("batteries", "max_charge_margin"))
    if take.when in CHARGING and volts > most:
        return [
            f"{name} is charged at {volts:g} V, above {most:g} V for this battery: "
            f"stop the engine or the source; {LEAVE}"
        ]
    if part.chemistry == "lfp" and not part.protection and low <= volts <= high:
        return [f"{name} (lithium, no protection of its own) is at {volts:g} V: do not charge it; {LEAVE}"]
    return []
