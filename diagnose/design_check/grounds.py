"""Earths: all negatives joined through conductors, none resting on an unproved joint, and enough copper for the load.

Each rule goes from a design to its lines. The charger itself is no conductor here, whatever it does inside.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.design_check.carrying import ampacity, gauge_words, least_size, sized_resistance
from diagnose.design_check.design import Design
from diagnose.design_check.walks import net_of, reach
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["earth_carries_load", "earth_proved", "negatives_joined"]


def _negatives(design: Design) -> dict[str, str]:
    """Return the negative point of every part that has one, panels left out: they return to their charger."""
    points = {
        name: getattr(part, "neg", None) or getattr(part, "negative", None)
        for name, part in design.installation.parts.items()
        if part.kind != "panel"
    }
    return {name: point for name, point in points.items() if point}


def _home(design: Design) -> str:
    """Return the negative post that all others are held against: that of the start battery, else of the first."""
    batteries = design.parts("battery")
    starters = design.starters()
    return str(batteries[next(iter(starters))].neg if starters else next(iter(batteries.values())).neg)


def negatives_joined(design: Design) -> Iterator[CheckLine]:
    """Every negative comes home through conductors."""
    rule, home = "negatives_joined", _home(design)
    reached = reach(design.net, home)
    negatives = _negatives(design)
    apart = {name: point for name, point in negatives.items() if point not in reached}
    while apart:
        island = reach(design.net, next(iter(apart.values())))
        names = tuple(sorted((n for n, point in apart.items() if point in island), key=lambda n: _rank(design, n)))
        says = f"{apart[names[0]]} is not joined to {home} by any cable, strap or bond that is described"
        if len(names) > 1:
            says += f", nor is the negative of {', '.join(names[1:])}"
        yield design.line(rule, "FAIL", names[0], None, None, "", says, names)
        apart = {name: point for name, point in apart.items() if name not in names}
    if all(point in reached for point in negatives.values()):
        says = f"all {len(negatives)} negatives are joined to {home} through conductors"
        yield design.line(rule, "PASS", _owner(design, home), None, None, "", says, tuple(negatives))


def _rank(design: Design, name: str) -> tuple[int, str]:
    """Return the order in which parts without a way home are named: chargers, batteries, the rest."""
    kinds = ("charger", "battery")
    kind = design.installation.parts[name].kind
    return (kinds.index(kind) if kind in kinds else len(kinds), name)


def _owner(design: Design, post: str) -> str:
    return next(name for name, part in design.parts("battery").items() if part.neg == post)


def earth_proved(design: Design) -> Iterator[CheckLine]:
    """An earth that hangs on one bond to a body is measured before it is trusted."""
    rule, home = "earth_proved", _home(design)
    most = design.limit(rule, "most")
    kinds = {n: part.kind for n, part in design.installation.parts.items()}
    needed = {n: p for n, p in _negatives(design).items() if kinds[n] in ("battery", "charger")}
    joined = reach(design.net, home)
    for name in design.parts("bond"):
        without = reach(net_of(design.installation, frozenset({name})), home)
        hang = tuple(n for n, point in needed.items() if point in joined and point not in without)
        verdict: Verdict = "LOOK" if hang else "PASS"
        says = f"{', '.join(hang)} come home through it alone: bare metal, and measure it with current flowing"
        if not hang:
            says = "no battery and no charger depends on it alone"
        says = says.replace(" come ", " comes ") if len(hang) == 1 else says
        yield design.line(rule, verdict, name, None, 1000.0 * most, "mohm", says, (name, *hang))


def earth_carries_load(design: Design) -> Iterator[CheckLine]:
    """The earth of a second battery carries the largest current that comes home through it."""
    rule = "earth_carries_load"
    most = design.limit(rule, "most")
    for name, batteries in _earths(design).items():
        cable: Any = design.installation.parts[name]
        current, may = design.conditions.most(name), ampacity(design, name)
        drop = current * _along(design, name, cable.area.low)
        verdict: Verdict = "FAIL" if current > may.amps else "LOOK" if drop > most else "PASS"
        says = f"{gauge_words(design, cable.area.low)}, {cable.length.high:g} m, brings home {current:.3g} A from "
        says += f"{' and '.join(batteries)} and loses {drop:.2g} V hot; it carries {may.amps:.0f} A"
        if verdict != "PASS":
            says += _better(design, name, current, most)
        value, limit, unit = (current, may.amps, "A") if verdict == "FAIL" else (drop, most, "V")
        yield design.line(rule, verdict, name, value, limit, unit, says, (name, *batteries))


def _earths(design: Design) -> dict[str, tuple[str, ...]]:
    """Return the cables through which batteries other than the start battery come home, with those batteries: the
    cables at their posts, and those on the way to the start battery.
    """
    found: dict[str, tuple[str, ...]] = {}
    home, starters = _home(design), design.starters()
    for battery_name, battery in design.parts("battery").items():
        if battery_name in starters:
            continue
        way = reach(design.net, battery.neg).get(home, ())
        for name, cable in design.parts("cable").items():
            at_post = battery.neg in cable.ends and not _serves_one_load(design, cable, battery.neg)
            if at_post or name in way:
                found[name] = (*found.get(name, ()), battery_name)
    return found


def _along(design: Design, name: str, area: float) -> float:
    """Return the hot resistance [ohm] along a cable, its ends left out."""
    return sized_resistance(design, name, area) - 2.0 * design.tables.number("joints", "termination_median")


def _serves_one_load(design: Design, cable: Any, post: str) -> bool:
    """Return whether a cable at a negative post is only the return lead of one load, which other rules judge."""
    other = cable.ends[1] if cable.ends[0] == post else cable.ends[0]
    loads = [part for part in design.parts("load").values() if part.neg == other]
    return bool(loads) and len(design.net.get(other, ())) == 1


def _better(design: Design, name: str, current: float, most: float) -> str:
    least = least_size(design, name, current)
    sold = [a for a in design.tables.values("conductors", "sold_areas") if least is not None and a >= least]
    fits = next((a for a in sold if current * _along(design, name, a) <= most), None)
    return f"; {gauge_words(design, fits)} would pass" if fits else "; shorten it, no size is enough"
