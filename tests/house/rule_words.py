"""What the table of faults says of a rule: where it sits and how large it may be; as DEVELOPERS.md writes it."""

from __future__ import annotations

from diagnose.model.rules import FaultRule

__all__ = ["sits_at", "size_words"]


def sits_at(rule: FaultRule) -> str:
    """Return the places of a fault: `end of cable, switch`."""
    before = {"termination": "end of ", "part": ""}
    return ", ".join(dict.fromkeys(before[place.where] + kind for place in rule.sits_at for kind in place.kinds))


def size_words(rule: FaultRule) -> str:
    """Return the range of a fault's size with its unit, or nothing where it has none."""
    return "" if rule.size is None else f"{rule.size.low:g} to {rule.size.high:g} {rule.size.unit}"
