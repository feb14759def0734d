"""Cables: against the fuse before them, against the current they carry, and the volts they lose.

Each rule goes from a design to its lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.basics.fuses import choose_fuse
from diagnose.design_check.carrying import Ampacity, ampacity, gauge_words, least_size
from diagnose.design_check.design import Design
from diagnose.design_check.routes import Leg, charging_legs, least_area, load_legs
from diagnose.design_check.walks import net_of, widest_fuse
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["cable_carries_fuse", "cable_carries_load", "drop_along_leg", "drop_in_all", "drop_to_load"]

#: currents [A] below which a conductor is a signal lead and not judged by what it carries
SIGNAL = 0.5


def _lies(found: Ampacity) -> str:
    """Return how a cable lies, as far as it lowers what it may carry."""
    words = [f"at {found.around:.0f} degC"] if found.heat < 0.995 else []
    words += ["bundled"] if found.bundle < 1.0 else []
    return f", {' and '.join(words)}" if words else ""


def cable_carries_fuse(design: Design) -> Iterator[CheckLine]:
    """Each cable carries what the fuse before it lets through."""
    rule = "cable_carries_fuse"
    profile_leads = {part.profile_lead for part in design.parts("charger").values()}
    for name, cable in design.parts("cable").items():
        fuses = _fuses_before(design, name)
        if not fuses or set(cable.ends) & profile_leads:
            continue
        rating, may = max(fuses), ampacity(design, name)
        if rating == float("inf"):
            continue  # that it has no fuse is another rule's finding
        verdict = _over(design, name, rating, may)
        says = f"{gauge_words(design, cable.area.low)} carries {may.amps:.0f} A{_lies(may)}; its fuse is {rating:g} A"
        if verdict != "PASS":
            enough = least_size(design, name, rating)
            says += f"; {gauge_words(design, enough)} would pass" if enough else "; no single cable would pass"
        yield design.line(rule, verdict, name, rating, may.amps, "A", says)


def _over(design: Design, name: str, rating: float, may: Ampacity) -> Verdict:
    """Return what a fuse above the ampacity means: no size that is sold may fit, then half as much again is let
    through.
    """
    if rating <= may.amps:
        return "PASS"
    sold = design.tables.values("fuses", "sold_bolted") + design.tables.values("fuses", "sold_blade")
    fits = choose_fuse(design.conditions.most(name), may.amps, sold).ratings
    return "FAIL" if fits or rating > design.limit("cable_carries_fuse", "at_most") * may.table else "LOOK"


def _fuses_before(design: Design, name: str) -> list[float]:
    """Return for each battery that can feed a cable the smallest fuse [A] on the least protected way to it."""
    net = net_of(design.installation, frozenset({name}))
    cable: Any = design.installation.parts[name]
    found = []
    for battery in design.parts("battery").values():
        wide = widest_fuse(design.installation, net, battery.pos)
        ends = [wide[end] for end in cable.ends if end in wide]
        found += [max(ends)] if ends else []
    return found


def cable_carries_load(design: Design) -> Iterator[CheckLine]:
    """Each cable carries its continuous current as it lies."""
    rule = "cable_carries_load"
    for name, cable in design.parts("cable").items():
        current = _continuous(design, name, cable)
        if current < SIGNAL:
            continue
        may = ampacity(design, name)
        verdict: Verdict = "PASS" if current <= may.amps else "FAIL"
        size = gauge_words(design, cable.area.low)
        says = f"{size} carries {may.amps:.0f} A{_lies(may)}; its load is {current:.3g} A"
        if verdict == "FAIL":
            enough = least_size(design, name, current)
            says += f"; {gauge_words(design, enough)} would pass" if enough else "; no single cable would pass"
        yield design.line(rule, verdict, name, current, may.amps, "A", says)


def _continuous(design: Design, name: str, cable: Any) -> float:
    """Return the continuous current [A] of a cable: that of the alternator's own cable is the alternator's rating,
    and a starter's is not continuous.
    """
    for alternator in design.parts("alternator").values():
        if alternator.pos in cable.ends:
            return float(alternator.rating.high)
    starters = {part.pos for part in design.parts("starter").values()}
    return 0.0 if starters & set(cable.ends) else design.conditions.most(name)


def drop_along_leg(design: Design) -> Iterator[CheckLine]:
    """No leg of a charger's circuit loses too much at full load."""
    rule = "drop_along_leg"
    look, most = design.limit(rule, "look"), design.limit(rule, "most")
    for name, charger in design.parts("charger").items():
        for leg in charging_legs(design, charger):
            if not leg.amps:
                continue
            verdict: Verdict = "PASS" if leg.drop <= look else "LOOK" if leg.drop <= most else "FAIL"
            says = f"{name}, {leg.name}: {leg.drop:.2f} V lost hot at {leg.amps:.0f} A"
            says += _better(design, leg, look, verdict)
            limit, cites = (most, "most") if verdict == "FAIL" else (look, "look")
            yield design.line(rule, verdict, leg.worst(design), leg.drop, limit, "V", says, leg.parts, cites)


def _better(design: Design, leg: Leg, allowed: float, verdict: Verdict) -> str:
    """Return which size would pass, where one is wanted."""
    if verdict == "PASS":
        return ""
    area = least_area(design, leg, design.conditions.charging, allowed)
    return f"; {gauge_words(design, area)} all along would pass" if area else "; shorten it, no size is enough"


def drop_in_all(design: Design) -> Iterator[CheckLine]:
    """A charger's supply and return together lose no more than a 12 V circuit may."""
    rule = "drop_in_all"
    look, most = (design.limit(rule, key) * 12.0 for key in ("look", "most"))
    for name, charger in design.parts("charger").items():
        legs = [leg for leg in charging_legs(design, charger) if leg.name in ("supply", "return")]
        if not legs or name not in design.conditions.chargers:
            continue
        drop, amps = sum(leg.drop for leg in legs), design.conditions.chargers[name].amps
        verdict: Verdict = "PASS" if drop <= look else "LOOK" if drop <= most else "FAIL"
        says = f"{drop:.2f} V lost hot, out and back, at {amps:.0f} A of input"
        parts = (name, *(part for leg in legs for part in leg.parts))
        limit, cites = (most, "most") if verdict == "FAIL" else (look, "look")
        yield design.line(rule, verdict, name, drop, limit, "V", says, parts, cites)


def drop_to_load(design: Design) -> Iterator[CheckLine]:
    """A load gets its volts with all loads on."""
    rule = "drop_to_load"
    look, most = (design.limit(rule, key) * 12.0 for key in ("look", "most"))
    for name, load in design.parts("load").items():
        if not design.charged_by(load.pos):
            says = f"no battery feeds it: {load.pos} is joined to no positive post"
            yield design.line(rule, "FAIL", name, None, None, "V", says)
            continue
        legs = load_legs(design, load)
        if not legs:
            continue  # it stands on the posts, or has no way home, which is another rule's finding
        drop = sum(leg.drop for leg in legs)
        verdict: Verdict = "PASS" if drop <= look else "LOOK" if drop <= most else "FAIL"
        says = f"{drop:.2f} V lost hot, out and back, with all loads on"
        if verdict == "LOOK":
            says += "; too much for what must not fail (an alarm, navigation lights, electronics)"
        parts = (name, *(part for leg in legs for part in leg.parts))
        limit, cites = (most, "most") if verdict == "FAIL" else (look, "look")
        yield design.line(rule, verdict, name, drop, limit, "V", says, parts, cites)
