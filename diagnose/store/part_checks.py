"""What must hold within one part beyond the form of its keys: ends that differ, thresholds in order, 12 V.

Each check is a small function from the part's record to findings (path below the part, what is wrong, what would be
right). Must not look at other parts.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from diagnose.basics.errors import meant
from diagnose.store.part_points import NOTHING
from diagnose.store.yaml_text import Loc

__all__ = ["Finding", "check_part"]

Finding = tuple[Loc, str, str]
_TWELVE = "only 12 V installations are known here"


def check_part(part: Any) -> Iterator[Finding]:
    """Yield the findings of one part, paths counted from the part."""
    yield from _two_points(part)
    yield from _twelve_volts(part)
    yield from _CHECKS.get(part.kind, _nothing)(part)


def _nothing(part: Any) -> Iterator[Finding]:
    return iter(())


def _two_points(part: Any) -> Iterator[Finding]:
    for key in ("ends", "coil"):
        pair = getattr(part, key, None)
        if pair is not None and pair[0] == pair[1]:
            yield (key, 1), f"both of `{key}` are {pair[0]}", "write two different points"
    for first, second in (("pos", "neg"), ("output", "negative"), ("input", "negative"), ("solar", "negative")):
        point = getattr(part, first, None)
        if point is not None and point == getattr(part, second, None):
            yield (second,), f"`{first}` and `{second}` are both {point}", "write two different points"


#: kind -> key -> (lowest, highest) voltage [V] of a 12 V installation; no published figure: judgement
_VOLTS = {
    "battery": {"max_charge": (12.5, 17.0)},
    "alternator": {"voltage": (12.2, 16.0)},
    "supply": {"voltage": (12.0, 16.5)},
    "charger": dict.fromkeys(
        ("starts_above", "stops_below", "starts_above_with_ignition", "stops_below_with_ignition"), (8.0, 16.0)
    ) | {"needs_at_output": (0.0, 16.0)},
    "load": {"cuts_out_below": (0.0, 16.0)},
    "relay": {"closes_above": (0.0, 16.0), "opens_below": (0.0, 16.0)},
}


def _twelve_volts(part: Any) -> Iterator[Finding]:
    for key, bounds in _VOLTS.get(part.kind, {}).items():
        span = getattr(part, key)
        if span is not None and not bounds[0] <= span.low <= span.high <= bounds[1]:
            yield (key,), f"`{key}` does not belong to a 12 V installation", _volts_right(*bounds)


def _volts_right(low: float, high: float) -> str:
    return f"{_TWELVE}: it lies within {low:g} to {high:g} V"


def _alternator(part: Any) -> Iterator[Finding]:
    if part.regulation == "fixed" and part.voltage is None:
        yield (), "`voltage` is missing", "write `voltage:` for a fixed regulation, for example 14.2 V"


def _load(part: Any) -> Iterator[Finding]:
    if part.power is None and part.resistance is None:
        yield (), "a load without `power` or `resistance`", "write one of them, for example power: 55 W"
    elif part.power is not None and part.resistance is not None:
        yield ("resistance",), "a load with both `power` and `resistance`", "keep one, and set a layout's own to null"


def _relay(part: Any) -> Iterator[Finding]:
    yield from _in_order(part, "opens_below", "closes_above")


def _panel(part: Any) -> Iterator[Finding]:
    yield from _in_order(part, "peak_voltage", "open_circuit")


def _charger(part: Any) -> Iterator[Finding]:
    if part.input is None and part.solar is None:
        yield (), "a charger without `input` or `solar`", "write the point that feeds it, for example input: charger_in"
    yield from _in_order(part, "stops_below", "starts_above")
    yield from _in_order(part, "stops_below_with_ignition", "starts_above_with_ignition")
    yield from _in_order(part, "full_power_to", "shuts_down_at")
    yield from _profiles(part)


def _profiles(part: Any) -> Iterator[Finding]:
    names = list(dict.fromkeys(profile.name for profile in part.profiles))
    if part.profile not in names:
        right = meant(part.profile, names, f"write one of {', '.join(names)}")
        yield ("profile",), f"no profile `{part.profile}`", right
    for index, profile in enumerate(part.profiles):
        loc: Loc = ("profiles", index)
        if profile.name in {earlier.name for earlier in part.profiles[:index]}:
            yield (*loc, "name"), f"two profiles `{profile.name}`", "give each profile a name of its own"
        if not 12.5 <= profile.voltage.low <= profile.voltage.high <= 17.0:
            yield (*loc, "voltage"), "`voltage` does not belong to a 12 V installation", _volts_right(12.5, 17.0)
        if part.profile_lead is None and profile.tied_to is not None:
            yield (*loc, "tied_to"), "`tied_to` without a profile lead", "write `profile_lead:`, or take this out"
        if part.profile_lead is not None and profile.tied_to is None:
            yield loc, "`tied_to` is missing", f"write the point this profile's lead is tied to, or {NOTHING}"


def _in_order(part: Any, lower: str, upper: str) -> Iterator[Finding]:
    low, high = getattr(part, lower), getattr(part, upper)
    if low is not None and high is not None and low.high >= high.low:
        yield (lower,), f"`{lower}` is not under `{upper}`", f"`{lower}` must be the lower of the two"


_CHECKS: dict[str, Callable[[Any], Iterator[Finding]]] = {
    "alternator": _alternator, "load": _load, "relay": _relay, "panel": _panel, "charger": _charger,
}
