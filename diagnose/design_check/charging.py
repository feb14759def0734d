"""Charging: voltage against chemistry, against the maker's limit and against temperature; lithium and its dangers.

Each rule goes from a design to its lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from diagnose.basics.batteries import compensated_voltage
from diagnose.basics.quantities import Span
from diagnose.circuit.graph import edges_of
from diagnose.circuit.profiles import profile_in_force
from diagnose.design_check.design import Design
from diagnose.design_check.walks import reach
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["charge_in_cold", "charge_limit", "lfp_needs_charger", "profile_suits", "profile_suits_warmth"]


#: how people call a chemistry
WORDS = {"flooded": "flooded", "agm": "AGM", "gel": "gel", "calcium": "calcium", "lfp": "lithium"}


class Charged(NamedTuple):
    """A battery with what charges it: a charger in its profile in force, a mains charger, or the alternator itself."""

    source: str
    battery: str
    volts: Span
    profile: str | None


def _charged(design: Design) -> Iterator[Charged]:
    edges = edges_of(design.installation)
    for name, part in design.parts("charger", "supply", "alternator").items():
        volts, profile, point = getattr(part, "voltage", None), None, getattr(part, "pos", None)
        if part.kind == "charger":
            in_force = profile_in_force(part, edges)
            volts, profile, point = in_force.voltage, in_force.name, part.output
        if volts is not None:
            yield from (Charged(name, battery, volts, profile) for battery in design.charged_by(str(point)))


def _battery(design: Design, charged: Charged) -> Any:
    return design.installation.parts[charged.battery]


def profile_suits(design: Design) -> Iterator[CheckLine]:
    """The profile in force is one for the chemistry of the battery."""
    rule = "profile_suits"
    margin = design.limit(rule, "either_way")
    for charged in _charged(design):
        chemistry = _battery(design, charged).chemistry
        if charged.profile is None:
            continue
        low, high = (design.tables.number("batteries", f"absorption_{end}_{chemistry}") for end in ("low", "high"))
        top = min(high + margin, design.tables.number("batteries", f"never_above_{chemistry}"))
        within = low - margin <= charged.volts.low and charged.volts.high <= top
        better = _better_profile(design, charged, low, high)
        verdict: Verdict = "PASS" if within else "FAIL" if better or charged.volts.high > top else "LOOK"
        says = f"profile {charged.profile} holds {charged.volts.mid:g} V; "
        says += f"{charged.battery} as {WORDS[chemistry]} wants {low:g} to {high:g} V"
        if not within and better:
            says += f"; set {better}"
        elif not within:
            says += "; it has no better profile"
        limit = top if charged.volts.high > top else low
        yield design.line(rule, verdict, charged.source, charged.volts.mid, limit, "V", says,
                          (charged.source, charged.battery))  # fmt: skip


def _better_profile(design: Design, charged: Charged, low: float, high: float) -> str | None:
    """Return a profile of the same charger that suits the chemistry and the battery's own limit."""
    charger, battery = design.installation.parts[charged.source], _battery(design, charged)
    most = battery.max_charge.low if battery.max_charge is not None else high
    fitting = [p for p in getattr(charger, "profiles", ()) if low <= p.voltage.mid <= min(high, most)]
    return next((p.name for p in fitting if p.name != charged.profile), None)


def charge_limit(design: Design) -> Iterator[CheckLine]:
    """Nothing charges a battery above its maker's greatest charge voltage, or above that of its chemistry."""
    rule = "charge_limit"
    margin = design.limit(rule, "error")
    for charged in _charged(design):
        battery = _battery(design, charged)
        stated = battery.max_charge is not None
        most = battery.max_charge.low if stated else design.limit(rule, battery.chemistry)
        volts = charged.volts.high
        verdict: Verdict = "PASS" if volts <= most else "LOOK" if volts <= most + margin else "FAIL"
        says = f"{charged.source} holds {volts:g} V; {charged.battery} may have {most:g} V"
        says += "" if stated else f" as {WORDS[battery.chemistry]}; its maker's figure is not given"
        line = design.line(rule, verdict, charged.battery, volts, most, "V", says,
                           (charged.battery, charged.source), battery.chemistry)  # fmt: skip
        yield line._replace(source="the battery's own limit, as described") if stated else line


def _temperature(design: Design, name: str) -> tuple[Span, bool]:
    """Return the temperature [degC] of a battery and whether it is stated; else that of its zone."""
    battery: Any = design.installation.parts[name]
    if battery.temperature is not None:
        return battery.temperature, True
    return design.warmth(design.zone(name)), False


def profile_suits_warmth(design: Design) -> Iterator[CheckLine]:
    """A warm lead battery wants less, a cold one more: the gassing voltage falls as it warms."""
    rule = "profile_suits_warmth"
    margin, hot = design.limit(rule, "either_way"), design.limit(rule, "hot")
    for charged in _charged(design):
        chemistry = _battery(design, charged).chemistry
        if charged.profile is None or chemistry == "lfp":
            continue
        span, stated = _temperature(design, charged.battery)
        high = design.tables.number("batteries", f"absorption_high_{chemistry}")
        slope = design.tables.number("batteries", f"compensation_{chemistry}")
        most = compensated_voltage(high, span.high, slope) + margin
        over = charged.volts.high > most
        verdict: Verdict = "LOOK" if over else "PASS"
        says = f"{charged.volts.high:g} V into {WORDS[chemistry]} at {span.high:.0f} degC, "
        says += f"which bears {most:.2f} V at most"
        if stated and span.high > hot:
            verdict, says = "FAIL", f"{charged.battery} at {span.high:.0f} degC: no charge above {hot:g} degC"
        elif over:
            says += "; let the charger measure the battery's warmth, take a lower profile or a cooler place"
        says += "" if stated or not over else f" (its own warmth is not given, {span.high:.0f} degC is its zone)"
        yield design.line(rule, verdict, charged.battery, charged.volts.high, most, "V", says,
                          (charged.battery, charged.source))  # fmt: skip


def lfp_needs_charger(design: Design) -> Iterator[CheckLine]:
    """A lithium battery does not hang on the alternator without a charger between."""
    rule = "lfp_needs_charger"
    for name, battery in design.parts("battery").items():
        if battery.chemistry != "lfp":
            continue
        reached = reach(design.net, battery.pos)
        direct = [a for a, part in design.parts("alternator").items() if part.pos in reached]
        verdict: Verdict = "FAIL" if direct else "PASS"
        says = "no alternator is joined to it without a charger"
        if direct:
            way = ", ".join(reached[design.parts("alternator")[direct[0]].pos])
            says = f"{direct[0]} charges it directly ({way}): put a charger between"
        limit = design.limit(rule, "most")
        yield design.line(rule, verdict, name, None, limit, "V", says, (name, *direct))


def charge_in_cold(design: Design) -> Iterator[CheckLine]:
    """A lithium battery is never charged below freezing."""
    rule = "charge_in_cold"
    least, most = design.limit(rule, "least"), design.limit(rule, "most")
    for name, battery in design.parts("battery").items():
        if battery.chemistry != "lfp":
            continue
        span, stated = _temperature(design, name)
        outside = span.low < least or (stated and span.high > most)
        verdict: Verdict = "PASS"
        says = f"{span.low:.0f} to {span.high:.0f} degC" if span.low < span.high else f"{span.low:.0f} degC"
        says += ", and its own disconnect stops a charge below freezing" if battery.protection else ""
        if outside:
            verdict = "LOOK" if battery.protection else "FAIL"
            says = f"{span.low if span.low < least else span.high:.0f} degC: lithium takes no charge there"
            says += ", its own disconnect must see to it" if battery.protection else ""
        elif not battery.protection:
            verdict, says = "LOOK", f"{says}; no disconnect of its own is described: find out what stops it in frost"
        yield design.line(rule, verdict, name, span.low, least, "degC", says)
