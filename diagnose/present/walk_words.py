"""Places, states, tests and suspects in the words people use at the vehicle.

It words what it is given and computes nothing.
"""

from __future__ import annotations

import re
import textwrap

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation, name_of
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.states import OPERATING_STATES

__all__ = [
    "fault_words", "figure", "no_minus_zero", "place_words", "suspect_words", "test_words", "where_words", "wrapped",
]  # fmt: skip

_ACTS = {
    "volts": "Volts", "amps": "Current by clamp", "ohms": "Ohms", "ripple": "AC volts", "celsius": "Temperature",
    "lamp": "Look at the lamp", "look": "Look closely", "smell": "Smell, from afar", "works": "See whether it works",
    "tug": "Tug", "wiggle": "Wiggle, and watch", "load_test": "Load test", "gravity": "Acid gravity",
}  # fmt: skip
#: a minus that stands before a number of noughts alone
_MINUS_ZERO = re.compile(r"(?<![\w.,)])[-−](0+(?:[.,]0*)?)(?![.,]?\d)")


def wrapped(text: str, width: int, indent: str = "", hang: str = "") -> list[str]:
    """Return text broken into lines of a width; `indent` goes before each, `hang` besides before all but one."""
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + hang) or [""]


def place_words(place: str, installation: Installation) -> str:
    """Return a place by its name, the end of a part with the part it belongs to."""
    part, _, end = place.partition("@")
    if end:
        return f"{name_of(part, installation)}, its end at the {name_of(end, installation)}"
    return name_of(place, installation)


def where_words(place: str, installation: Installation) -> str:
    """Return a place by name and zone."""
    point = installation.points.get(place.partition("@")[2] or place)
    zone = installation.zones.get(point.zone or "") if point is not None else None
    if zone is None or point is None:
        return place_words(place, installation)
    return f"{place_words(place, installation)} ({zone.name or str(point.zone).replace('_', ' ')})"


def fault_words(fault: FaultAt, installation: Installation, rules: RuleBase) -> str:
    """Return a fault with its place: `high resistance at the tray strap`."""
    rule = rules.faults.get(fault.fault)
    text = f"{rule.name if rule is not None else fault.fault} at {_the(name_of(fault.part, installation))}"
    if fault.at:
        text += f", its end at {_the(name_of(fault.at, installation))}"
    return text + (f", gone to {_the(name_of(fault.to, installation))}" if fault.to else "")


def suspect_words(label: str, installation: Installation, rules: RuleBase) -> str:
    """Return the label of a suspect in words; ids that are not known stay as they are."""
    fault, _, rest = label.partition(" ")
    if fault not in rules.faults:
        return "a sound installation" if label == "nothing wrong" else label
    names = [name_of(word, installation) for word in rest.split(" ") if word]
    return f"{rules.faults[fault].name}, {names[0]}" + "".join(f", {name}" for name in names[1:])


def _the(name: str) -> str:
    return name if name.startswith(("the ", "its ")) else f"the {name}"


def test_words(take: Take, installation: Installation) -> str:
    """Return a test in one line: what, where, in which state."""
    places = [place_words(place, installation) for place in take.where]
    between = f"from {_the(places[0])} to {_the(places[1])}" if len(places) == 2 else f"at {_the(places[0])}"
    if take.quantity == "lamp":
        between = f"`{take.where[0]}`"
    fitted = f", with a jumper from {take.jumper[0]} to {take.jumper[1]}" if take.jumper else ""
    fitted += f", with a known-good {name_of(take.swap, installation)}" if take.swap else ""
    lamp = " by test lamp" if take.meter == "test_lamp" else ""
    return f"{_ACTS[take.quantity]}{lamp} {between}, {OPERATING_STATES[take.when].says}{fitted}"


def figure(value: float, unit: str) -> str:
    """Return a number as a meter shows it, with its unit.

    >>> figure(0.0123, "V"), figure(13.456, "V"), figure(21.27, "A")
    ('0.012 V', '13.46 V', '21.3 A')
    """
    digits = (3 if abs(value) < 1 else 2) if unit in ("V", "") else 1 if abs(value) < 100 else 0
    return no_minus_zero(f"{value:.{digits}f} {unit}".strip())


def no_minus_zero(text: str) -> str:
    """Return text in which a zero has no sign: a minus before nothing but noughts says nothing and reads as a fault.

    >>> no_minus_zero("-0.00 V"), no_minus_zero("-0.05 V"), no_minus_zero("5-0.0"), no_minus_zero("drop -0,0 V")
    ('0.00 V', '-0.05 V', '5-0.0', 'drop 0,0 V')
    """
    return _MINUS_ZERO.sub(r"\1", text)
