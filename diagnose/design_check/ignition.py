"""The ignition-sense lead: needed or not, and dead when the key is out.

Each rule goes from a design to its lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.circuit.graph import key_switches
from diagnose.design_check.conditions import with_live_ignition
from diagnose.design_check.design import Design
from diagnose.design_check.walks import net_of, reach
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["ignition_dies_with_key", "ignition_needed"]


def ignition_needed(design: Design) -> Iterator[CheckLine]:
    """A charger behind an alternator whose voltage varies gets an ignition-sense lead."""
    rule = "ignition_needed"
    low = design.limit(rule, "low")
    variable = [n for n, part in design.parts("alternator").items() if part.regulation == "variable"]
    for name, charger in design.parts("charger").items():
        if charger.input is None or not design.parts("alternator"):
            continue
        starts = charger.starts_above.high if charger.starts_above else design.tables.number("chargers", "starts_above")
        live = with_live_ignition(design.installation, design.net, charger)
        needed = bool(variable) and starts > low
        verdict: Verdict = "FAIL" if needed and not live else "PASS"
        if not needed:
            says = "no ignition-sense lead is needed"
            says += "" if variable else ", the alternator's voltage does not vary"
            says += "; one is fitted all the same" if live else ""
        elif live:
            says = f"the alternator may rest at {low:g} V, and the charger has the ignition-sense lead that it needs: "
            says += f"without it, it starts above {starts:g} V only"
        else:
            says = f"the alternator may rest at {low:g} V and the charger starts above {starts:g} V: "
            says += "it needs a working ignition-sense lead"
        yield design.line(rule, verdict, name, starts, low, "V", says, (name, *variable))


def ignition_dies_with_key(design: Design) -> Iterator[CheckLine]:
    """The feed of the ignition-sense lead is dead when the key is out."""
    rule = "ignition_dies_with_key"
    keyed = frozenset(key_switches(design.installation))
    for name, charger in design.parts("charger").items():
        if charger.ignition is None:
            continue
        feeding = _fed_by(design, charger)
        verdict: Verdict = "PASS"
        says = f"its ignition-sense lead is fed through {', '.join(sorted(keyed & set(feeding)))}"
        if not feeding:
            verdict, says = "FAIL", f"{charger.ignition} is joined to no battery: the lead does nothing"
        elif any(b.pos in reach(net_of(design.installation, keyed), charger.ignition)
                 for b in design.parts("battery").values()):  # fmt: skip
            verdict = "FAIL"
            says = f"its ignition-sense lead is live with the key out ({', '.join(feeding)}): "
            says += "the charger can drain the start battery"
        yield design.line(rule, verdict, name, None, None, "", says, (name, *feeding))


def _fed_by(design: Design, charger: Any) -> tuple[str, ...]:
    """Return the parts from an ignition input to the battery that feeds it, or nothing."""
    reached = reach(design.net, charger.ignition)
    ways = [reached[b.pos] for b in design.parts("battery").values() if b.pos in reached]
    return min(ways, key=len, default=())
