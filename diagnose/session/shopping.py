"""What to have at hand for a repair, from the part that failed: like for like, sizes from the installation.

It names kinds of part and sizes, nothing that is sold under a name.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from diagnose.basics.quantities import Span
from diagnose.model.installation import Installation
from diagnose.model.ranking import Entry
from diagnose.model.rules import FaultRule

__all__ = ["what_to_buy"]

JOINTS = ("open_circuit", "high_resistance", "intermittent")
NOTHING = "nothing: it is a matter of setting, joining or charging"


def what_to_buy(entry: Entry, installation: Installation, rule: FaultRule) -> str:
    """Return what a repair needs.

    Parameters: `entry`, the fault found; `installation`, which has the sizes; `rule`, of the fault.
    """
    if rule.repair.parts == "none":
        return NOTHING
    part = installation.parts[entry.fault.part]
    at_joint = entry.fault.at is not None and entry.fault.fault in JOINTS
    words = _BY_KIND.get(part.kind, _plain)(part, at_joint)
    return words[0].lower() + words[1:]


def _span(span: Any, unit: str) -> str:
    if not isinstance(span, Span):
        return f"as fitted ({unit})"
    if span.low == span.high:
        return f"{span.low:g} {unit}"
    return f"{span.low:g} to {span.high:g} {unit}"


def _cable(part: Any, at_joint: bool) -> str:
    area = _span(part.area, "mm2")
    if at_joint:
        return f"a lug for {area} cable with its shrink sleeve, and a bolt, washer and nut that fit"
    return f"{area} cable or the next larger, {_span(part.length, 'm')}, with two lugs and shrink sleeve"


def _fuse(part: Any, at_joint: bool) -> str:
    if at_joint:
        return f"a {part.style} fuse holder for {_span(part.rating, 'A')} with its terminals"
    return f"a {part.style} fuse of {_span(part.rating, 'A')}, the same rating and style, and one spare"


def _battery(part: Any, at_joint: bool) -> str:
    return f"a battery like the old one: {part.chemistry}, {_span(part.capacity, 'Ah')}"


def _charger(part: Any, at_joint: bool) -> str:
    return f"a charger of {_span(part.rating, 'A')} with the same inputs, after its guarantee was looked at"


def _plain(part: Any, at_joint: bool) -> str:
    names = {
        "bond": "a braided strap or a short cable as thick as the supply, with two lugs",
        "contact": "a pole, or the whole plug and socket",
    }
    return names.get(part.kind, f"a {part.kind} of the same rating")


_BY_KIND: dict[str, Callable[[Any, bool], str]] = {
    "cable": _cable, "fuse": _fuse, "battery": _battery, "charger": _charger
}
