"""Energy: what the loads take a day, what driving and sun give back, days to flat, hours to full from half.

The commonest harmless cause of a battery that never fills. Each rule goes from a design to its lines; the hours are
assumptions and are said.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from diagnose.basics.batteries import charge_time, days_to_flat
from diagnose.design_check.design import Design
from diagnose.design_check.walks import reach
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["energy_day", "energy_flat", "energy_full"]


class Bank(NamedTuple):
    """House batteries side by side: names, capacity [Ah], chemistry, standing losses [Ah/day], currents [A] into them
    from the engine and from full sun, and what each load takes [Ah/day].
    """

    names: tuple[str, ...]
    capacity: float
    chemistry: str
    standing: float
    engine: float
    sun: float
    loads: dict[str, float]
    always: float

    @property
    def taken(self) -> float:
        """What is taken in a day of use [Ah]."""
        return self.standing + sum(self.loads.values())


def _banks(design: Design) -> Iterator[Bank]:
    """Yield the groups of batteries that are not start batteries; those joined by a relay only while charging count
    apart.
    """
    starters, seen = design.starters(), set[str]()
    batteries = {n: p for n, p in design.parts("battery").items() if n not in starters}
    for name, battery in batteries.items():
        if name in seen:
            continue
        reached = reach(design.net, battery.pos)
        names = tuple(n for n, p in batteries.items() if p.pos in reached)
        seen |= set(names)
        yield _bank(design, names, [batteries[n] for n in names])


def _bank(design: Design, names: tuple[str, ...], batteries: list[Any]) -> Bank:
    reached = reach(design.net, batteries[0].pos)
    capacity = sum(b.capacity.mid for b in batteries)
    self_discharge = design.tables.number("batteries", f"self_discharge_{batteries[0].chemistry}") / 100.0 * capacity
    chargers = {n: p for n, p in design.parts("charger").items() if p.output in reached}
    standby = 24.0 * design.tables.number("chargers", "standby_current") * len(chargers)
    loads = {n: p for n, p in design.parts("load").items() if p.pos in reached and _is_house(design, n, p)}
    takes = {n: _hours(design, n, p) * design.conditions.loaded.get(n, 0.0) for n, p in loads.items()}
    always = sum(takes[n] for n, p in loads.items() if p.always_on)
    kept = min((_kept_by_heat(design, n, p) for n, p in chargers.items()), default=1.0)
    runs = all(_runs(design, n) for n in chargers)
    engine = kept * runs * sum(design.conditions.charging.get(n, 0.0) for n in names)
    sun = kept * sum(design.conditions.sun.get(n, 0.0) for n in names)
    return Bank(names, capacity, batteries[0].chemistry, self_discharge + standby, engine, sun, takes, always)


def _is_house(design: Design, name: str, load: Any) -> bool:
    """Return whether a load is nearer to a house battery than to a start battery (they may be joined by a relay)."""
    reached = reach(design.net, load.pos)
    ways = {n: len(reached[b.pos]) for n, b in design.parts("battery").items() if b.pos in reached}
    return min(ways, key=lambda n: ways[n]) not in design.starters()


def _hours(design: Design, name: str, load: Any) -> float:
    """Return the hours a day of a load: as said, all day for one that is always on, else by its size."""
    said = dict(design.assumed.load_hours)
    if name in said:
        return said[name]
    if load.always_on:
        return 24.0
    if design.assumed.load_default is not None:
        return design.assumed.load_default
    amps = design.conditions.loaded.get(name, 0.0)
    if amps > design.limit("energy_day", "large"):
        return design.limit("energy_day", "hours_large")
    return design.limit("energy_day", "hours_resistance" if load.resistance else "hours_power")


def _kept_by_heat(design: Design, name: str, charger: Any) -> float:
    """Return the share of its rating that a charger gives in its place in the middle of its derating."""
    full, shut = (
        span.mid if span is not None else design.tables.number("chargers", key)
        for key, span in (("full_power_to", charger.full_power_to), ("shuts_down_at", charger.shuts_down_at))
    )
    rise = (design.tables.number("chargers", "case_above_zone_low") + design.tables.number(
        "chargers", "case_above_zone_high")) / 2.0  # fmt: skip
    case = design.warmth(design.zone(name)).mid + rise
    floor = design.tables.number("chargers", "derate_floor_high") / 2.0
    if case >= shut:
        return 0.0
    return 1.0 - max(case - full, 0.0) / (shut - full) * (1.0 - floor)


def _runs(design: Design, name: str) -> bool:
    """Return whether a charger gives anything with the engine running: it has an input and does not hunt."""
    charger: Any = design.installation.parts[name]
    at_work = design.conditions.chargers.get(name)
    if charger.input is None or at_work is None or not design.charged_by(charger.input):
        return False
    stop = charger.stops_below_with_ignition if charger.ignition else charger.stops_below
    return at_work.volts >= (stop.mid if stop is not None else 0.0)


def _given(design: Design, bank: Bank) -> tuple[float, float]:
    """Return what driving and sun put back in a day [Ah], charging losses taken off."""
    kept = design.limit("energy_day", "kept_lfp" if bank.chemistry == "lfp" else "kept")
    return kept * bank.engine * design.assumed.driving, kept * bank.sun * design.assumed.sun


def energy_day(design: Design) -> Iterator[CheckLine]:
    """Driving and sun give back what a day takes."""
    rule = "energy_day"
    for bank in _banks(design):
        driving, sun = _given(design, bank)
        verdict: Verdict = "PASS" if driving + sun >= bank.taken else "LOOK"
        hours = ", ".join(f"{n} {_hours(design, n, design.installation.parts[n]):g} h" for n in bank.loads)
        says = f"a day takes {bank.taken:.0f} Ah ({hours or 'no loads'}; {bank.standing:.2g} Ah standing); "
        says += f"{design.assumed.driving:g} h of driving give {driving:.0f} Ah"
        if bank.sun:
            says += f", {design.assumed.sun:g} h of full sun {sun:.0f} Ah"
        if not bank.engine and design.parts("alternator") and not bank.sun:
            says += "; nothing comes while the charger does not run"
        elif verdict == "LOOK":
            says += "; it will run down in use, and that is no fault"
        yield design.line(rule, verdict, bank.names[0], driving + sun, bank.taken, "Ah/day", says, bank.names)


def energy_flat(design: Design) -> Iterator[CheckLine]:
    """Parked and in use the battery lasts at least a night and a day."""
    rule = "energy_flat"
    for bank in _banks(design):
        down_to = design.limit(rule, "down_to_lfp" if bank.chemistry == "lfp" else "down_to")
        usable = (design.limit(rule, "begin") - down_to) / 100.0 * bank.capacity
        camped = days_to_flat(usable, 0.0, bank.taken)
        alone = days_to_flat(usable, 0.0, bank.standing + bank.always)
        sunny = bank.taken - _given(design, bank)[1]
        least = design.limit(rule, "least")
        verdict: Verdict = "PASS" if camped >= least else "LOOK"
        says = f"{usable:.0f} Ah down to {down_to:.0f} %: parked and in use {camped:.1f} days without sun"
        if bank.sun:
            says += f", with sun {'for good' if sunny <= 0 else f'{usable / sunny:.1f} days'}"
        says += f"; parked and left alone {_some(alone)}"
        yield design.line(rule, verdict, bank.names[0], camped, least, "days", says, bank.names)


def _some(days: float) -> str:
    """Return days no finer than they are known."""
    return f"{days:.0f} days" if days < 30.0 else f"{days / 30.0:.0f} months"


def energy_full(design: Design) -> Iterator[CheckLine]:
    """From half full the battery fills in a few days' driving."""
    rule = "energy_full"
    days = design.limit(rule, "days")
    for bank in _banks(design):
        lfp = bank.chemistry == "lfp"
        tail = design.tables.number("batteries", f"full_at_share_{bank.chemistry}") * bank.capacity
        ways = (("driving", bank.engine, design.assumed.driving), ("full sun", bank.sun, design.assumed.sun))
        source, current, a_day = max(ways, key=lambda way: way[1] * way[2])
        net = current - bank.taken / 24.0
        if net <= tail:
            says = f"what comes in ({current:.1f} A) hardly covers what is taken ({bank.taken / 24.0:.1f} A on average)"
            yield design.line(rule, "LOOK", bank.names[0], None, days, "days", says, bank.names)
            continue
        kept = design.limit("energy_day", "kept_lfp" if lfp else "kept")
        hours = charge_time(bank.capacity, 50.0, 95.0, net, tail, 95.0 if lfp else 85.0, kept)
        verdict: Verdict = "PASS" if a_day and hours / a_day <= days else "LOOK"
        says = f"half to nearly full takes {hours:.1f} h of {source} at {current:.0f} A with the loads as usual"
        says += f", at {a_day:g} h a day {hours / a_day:.1f} days" if a_day else ", and there is none"
        taken = hours / a_day if a_day else None
        yield design.line(rule, verdict, bank.names[0], taken, days, "days", says, bank.names)
