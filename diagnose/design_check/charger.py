"""The charger: near its battery, cool, not hunting, and of a size that battery and alternator can bear.

Each rule goes from a design to its lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.design_check.conditions import threshold
from diagnose.design_check.design import Design
from diagnose.design_check.routes import charging_legs
from diagnose.design_check.walks import reach
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["charger_cool", "charger_hunts", "charger_near", "charger_size_alternator", "charger_size_battery"]


def charger_near(design: Design) -> Iterator[CheckLine]:
    """A charger stands beside the battery that it charges."""
    rule = "charger_near"
    near, far = design.limit(rule, "near"), design.limit(rule, "far")
    for name, charger in design.parts("charger").items():
        charged = design.charged_by(charger.output)
        if not charged:
            yield design.line(rule, "FAIL", name, None, None, "m", f"{charger.output} is joined to no battery")
            continue
        battery: Any = design.installation.parts[charged[0]]
        metres = _metres(design, charger)
        here, there = (design.installation.points[p].zone for p in (charger.output, battery.pos))
        same = here is None or there is None or here == there
        verdict: Verdict = "PASS" if same and metres <= near else "LOOK" if metres <= far else "FAIL"
        says = f"{metres:.2g} m of cable to {charged[0]}"
        if not same:
            says += f", and in another part of the vehicle ({design.zone_name(here)}, {design.zone_name(there)})"
        elif here is None or there is None:
            says += "; find out whether they stand in the same part of the vehicle"
        limit = far if verdict == "FAIL" else near
        yield design.line(rule, verdict, name, metres, limit, "m", says, (name, charged[0]))


def _metres(design: Design, charger: Any) -> float:
    """Return the metres of cable from a charger's output to its battery."""
    parts: Any = design.installation.parts
    legs = [leg for leg in charging_legs(design, charger) if leg.name == "output"]
    return float(sum(parts[n].length.high for leg in legs for n in leg.parts if parts[n].kind == "cable"))


def charger_cool(design: Design) -> Iterator[CheckLine]:
    """The place of a charger is cool enough for its rating."""
    rule = "charger_cool"
    rise = design.limit(rule, "rise")
    for name, charger in design.parts("charger").items():
        zone = design.zone(name)
        around = design.warmth(zone).high
        case = around + rise
        full, shut = (_stated(design, charger, key) for key in ("full_power_to", "shuts_down_at"))
        verdict: Verdict = "PASS" if case <= full else "LOOK" if case < shut else "FAIL"
        says = f"{design.zone_name(zone)} at {around:.0f} degC makes its case up to {case:.0f} degC; "
        says += f"full power to {full:.0f} degC, off at {shut:.0f} degC"
        yield design.line(rule, verdict, name, case, shut if verdict == "FAIL" else full, "degC", says)


def _stated(design: Design, charger: Any, key: str) -> float:
    span = getattr(charger, key)
    return float(span.low) if span is not None else design.tables.number("chargers", key)


def charger_hunts(design: Design) -> Iterator[CheckLine]:
    """At full load the input of a charger stays above its stop voltage, at the alternator's lowest."""
    rule = "charger_hunts"
    for name, charger in design.parts("charger").items():
        at_work = design.conditions.chargers.get(name)
        if charger.input is None or at_work is None:
            continue
        if not design.charged_by(charger.input):
            says = f"{charger.input} is joined to no battery, so it never starts"
            yield design.line(rule, "FAIL", name, None, None, "V", says)
            continue
        source: Any = design.installation.parts[design.charged_by(charger.input)[0]]
        if source.neg not in reach(design.net, charger.negative):
            continue  # it has no way home, which is another rule's finding
        stop = threshold(design.installation, design.tables, design.net, charger, "stops_below")
        spread = design.limit(rule, "spread")
        verdict: Verdict = "FAIL" if at_work.volts < stop else "LOOK" if at_work.low < stop + spread else "PASS"
        says = f"input {at_work.volts:.2f} V at {at_work.amps:.0f} A, in one vehicle of ten {at_work.low:.2f} V; "
        says += f"it stops below {stop:g} V"
        if verdict == "FAIL":
            says += ": it will start, pull its own input down, stop, and start again"
        yield design.line(rule, verdict, name, at_work.volts, stop, "V", says)
        yield from _never_starts(design, rule, name, charger)


def _never_starts(design: Design, rule: str, name: str, charger: Any) -> Iterator[CheckLine]:
    """Yield a line where a fixed alternator never reaches the charger's start voltage."""
    start = threshold(design.installation, design.tables, design.net, charger, "starts_above")
    fixed = [a.voltage.mid for a in design.parts("alternator").values() if a.regulation == "fixed"]
    if fixed and max(fixed) <= start:
        says = f"the alternator holds {max(fixed):g} V and the charger starts above {start:g} V: it never starts"
        yield design.line(rule, "FAIL", name, max(fixed), start, "V", says)


def charger_size_battery(design: Design) -> Iterator[CheckLine]:
    """The current suits the battery: not more than it likes, not so little that it never fills."""
    rule = "charger_size_battery"
    least = design.limit(rule, "least")
    for name, charger in design.parts("charger").items():
        charged = design.charged_by(charger.output)
        if not charged:
            continue
        batteries: list[Any] = [design.installation.parts[n] for n in charged]
        capacity = sum(b.capacity.low for b in batteries)
        most = min(design.limit(rule, b.chemistry) for b in batteries)
        share = charger.rating.high / capacity
        verdict: Verdict = "PASS" if least <= share <= most else "FAIL" if share > 2.0 * most else "LOOK"
        says = f"{charger.rating.high:g} A into {capacity:g} Ah, {share:.2f} of the capacity"
        if share < least:
            says += "; it will fill slowly"
        elif share > most:
            says += f"; its maker should allow more than {most * capacity:.0f} A"
        limit = least if share < least else most
        chemistry = batteries[0].chemistry if share >= least else "least"
        yield design.line(rule, verdict, name, share, limit, "1/h", says, (name, *charged), chemistry)


def charger_size_alternator(design: Design) -> Iterator[CheckLine]:
    """The alternator carries the charger, even at idle."""
    rule = "charger_size_alternator"
    alternators = design.parts("alternator")
    rating = sum(part.rating.low for part in alternators.values())
    for name, at_work in design.conditions.chargers.items():
        if not alternators or not design.charged_by(getattr(design.installation.parts[name], "input", "")):
            continue
        idle, running = (rating * design.limit(rule, key) for key in ("idle", "running"))
        verdict: Verdict = "PASS" if at_work.amps <= idle else "LOOK" if at_work.amps <= running else "FAIL"
        says = f"takes {at_work.amps:.0f} A; the alternator gives about {idle:.0f} A at idle"
        says += f" and {running:.0f} A on the road"
        if verdict != "PASS":
            says += ", of which the engine needs its share"
        limit, cites = (running, "running") if verdict == "FAIL" else (idle, "idle")
        yield design.line(rule, verdict, name, at_work.amps, limit, "A", says, (name, *alternators), cites)


