"""Fuses: one close to every battery end, of the right rating, style and breaking capacity.

Each rule goes from a design to its lines.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from diagnose.basics.fuses import choose_fuse, hot_fuse_share
from diagnose.design_check.carrying import ampacity, hot_resistance
from diagnose.design_check.design import Design
from diagnose.design_check.routes import charging_legs
from diagnose.design_check.walks import reach
from diagnose.model.checks import CheckLine, Verdict
from diagnose.model.parts import Cable, Fuse

__all__ = ["fuse_at_battery", "fuse_breaks", "fuse_carries_load", "fuse_style"]

#: currents [A] below which a conductor is a signal lead and not judged by what it carries
SIGNAL = 0.5


class Bare(NamedTuple):
    """An unfused cable at a battery: the metres [m] of cable up to its far end, and whether a fuse follows there."""

    cable: str
    metres: float
    then_fuse: bool


def fuse_at_battery(design: Design) -> Iterator[CheckLine]:
    """At each battery end of a cable a fuse stands close to the terminal."""
    rule = "fuse_at_battery"
    near, far = design.limit(rule, "bare"), design.limit(rule, "sheathed")
    for name, battery in design.parts("battery").items():
        bare = _bare_cables(design, battery)
        for found in bare:
            verdict: Verdict = "PASS" if found.metres <= near else "LOOK"
            if found.metres > far or not found.then_fuse:
                verdict = "FAIL"
            says = f"{found.metres:.2g} m of it before the first fuse from {name}"
            if not found.then_fuse:
                says = f"no fuse between it and {name}; one belongs at the post {battery.pos}"
            elif verdict == "LOOK":
                says += "; only if sheathed all the way"
            limit, cites = (far, "sheathed") if verdict == "FAIL" else (near, "bare")
            yield design.line(rule, verdict, found.cable, found.metres, limit, "m", says, (found.cable, name), cites)
        if not bare:
            says = f"every cable but the starter's and the alternator's begins with a fuse at {battery.pos}"
            yield design.line(rule, "PASS", name, 0.0, near, "m", says)


def _bare_cables(design: Design, battery: Any) -> list[Bare]:
    """Return the cables that a battery feeds without a fuse, the starter's and the alternator's left out."""
    parts: Any = design.installation.parts
    exempt = _engine_cables(design, battery)
    found: list[Bare] = []
    metres, waiting = {battery.pos: 0.0}, [battery.pos]
    for point in waiting:
        for step in design.net.get(point, ()):
            part = parts[step.part]
            if isinstance(part, Fuse) or step.to in metres:
                continue
            length = part.length.high if isinstance(part, Cable) else 0.0
            metres[step.to] = metres[point] + length
            then = any(isinstance(parts[s.part], Fuse) for s in design.net.get(step.to, ()))
            if isinstance(part, Cable) and step.part not in exempt:
                found.append(Bare(step.part, metres[step.to], then))
                if not then:
                    continue  # one finding for all that lies bare beyond it
            waiting.append(step.to)
    return found


def _engine_cables(design: Design, battery: Any) -> frozenset[str]:
    """Return the parts between a battery and the starter and the alternator: those are left without a fuse."""
    reached = reach(design.net, battery.pos)
    engine = design.parts("starter", "alternator").values()
    ways = [reached[part.pos] for part in engine if part.pos in reached]
    bare = [way for way in ways if not any(design.installation.parts[p].kind in ("fuse", "relay") for p in way)]
    return frozenset(part for way in bare for part in way)


def fuse_carries_load(design: Design) -> Iterator[CheckLine]:
    """A fuse carries its continuous current with a margin, hot."""
    rule = "fuse_carries_load"
    margin = design.limit(rule, "margin")
    for name, fuse in design.parts("fuse").items():
        current = design.conditions.most(name)
        if current < SIGNAL:
            continue
        share = hot_fuse_share(design.warmth(design.zone(name)).mid)
        needs, rating = current * margin, fuse.rating.low
        verdict: Verdict = "PASS" if rating * share >= needs else "LOOK" if rating >= needs else "FAIL"
        says = f"{rating:g} A for {current:.3g} A of continuous current, which asks for {needs:.3g} A"
        if verdict == "LOOK":
            says += f"; hot it is worth {rating * share:.3g} A"
        if verdict != "PASS":
            says += _fitting(design, name, fuse, current / share)
        yield design.line(rule, verdict, name, rating, needs, "A", says)


def _fitting(design: Design, name: str, fuse: Any, current: float) -> str:
    """Return which ratings sold would carry a current and still protect the cables at the fuse."""
    cables = {n: p for n, p in design.parts("cable").items() if set(p.ends) & set(fuse.ends)}
    thinnest = min((ampacity(design, n).amps for n in cables if design.conditions.most(n) > SIGNAL), default=1e9)
    sold = design.tables.values("fuses", f"sold_{fuse.style}" if fuse.style != "resetting" else "sold_blade")
    fits = choose_fuse(current, thinnest, sold).ratings
    if not fits:
        return "; no size fits both load and cable: a thicker cable first"
    return f"; {' or '.join(f'{rating:g}' for rating in fits[:2])} A would pass"


def fuse_style(design: Design) -> Iterator[CheckLine]:
    """A fuse that carries charging current for hours is bolted down."""
    rule = "fuse_style"
    for name in _charging_fuses(design):
        fuse: Any = design.installation.parts[name]
        current = max(design.conditions.charging.get(name, 0.0), design.conditions.mains.get(name, 0.0),
                      design.conditions.sun.get(name, 0.0))  # fmt: skip
        if current < design.limit(rule, "from"):
            continue
        verdict: Verdict = "PASS" if fuse.style == "bolted" else "LOOK"
        says = f"{fuse.style}, for {current:.3g} A of charging current that lasts for hours"
        if verdict == "LOOK":
            says += "; bolted joints stay cool, a holder that is pushed on or clipped on ages"
        yield design.line(rule, verdict, name, current, design.limit(rule, "from"), "A", says)


def _charging_fuses(design: Design) -> tuple[str, ...]:
    """Return the fuses on the ways of charging current."""
    legs = [leg for charger in design.parts("charger").values() for leg in charging_legs(design, charger)]
    names = {part for leg in legs for part in leg.parts}
    points = [part.pos for part in design.parts("supply").values()]
    points += [end for relay in design.parts("relay").values() for end in relay.ends]
    for point in points:
        reached = reach(design.net, point)
        ways = sorted((reached[b.pos] for b in design.parts("battery").values() if b.pos in reached), key=len)
        names |= set(ways[0]) if ways else set()
    return tuple(n for n, p in design.installation.parts.items() if n in names and p.kind == "fuse")


def fuse_breaks(design: Design) -> Iterator[CheckLine]:
    """The fuses at a battery can break the current of a dead short behind them; above all at lithium."""
    rule = "fuse_breaks"
    lead = design.limit(rule, "lead")
    for name, battery in design.parts("battery").items():
        fuses = {n: p for n, p in design.parts("fuse").items() if battery.pos in p.ends}
        if not fuses:
            continue
        short = {n: _short(design, battery, n) for n in fuses}
        allowed = 1.0 if battery.chemistry == "lfp" else lead
        breaks = {n: allowed * _breaks(design, p) for n, p in fuses.items()}
        weakest = min(fuses, key=lambda n: breaks[n] / short[n])
        poor = [n for n in fuses if breaks[n] < short[n]]
        verdict: Verdict = "PASS" if not poor else "FAIL" if battery.chemistry == "lfp" else "LOOK"
        says = f"a dead short behind {weakest} draws about {short[weakest] / 1000:.2g} kA from {name}; "
        says += f"that fuse breaks {breaks[weakest] / allowed / 1000:.2g} kA"
        says += " at 32 V or more" if allowed > 1.0 else ""
        if len(poor) > 1:
            says += f"; the same holds for {', '.join(n for n in poor if n != weakest)}"
        yield design.line(rule, verdict, name, short[weakest], breaks[weakest], "A", says, (name, *(poor or [weakest])))


def _breaks(design: Design, fuse: Any) -> float:
    """Return the breaking capacity [A] of a fuse: as stated, else that of its style."""
    if fuse.breaks is not None:
        return float(fuse.breaks.low)
    style = fuse.style if fuse.style in ("bolted", "cartridge") else "blade"
    return design.tables.number("fuses", f"breaks_{style}")


def _short(design: Design, battery: Any, fuse: str) -> float:
    """Return the current [A] of a dead short right behind a fuse at a full battery, the fuse itself in the way.

    A lithium battery is taken as strong as its kind can be, a lead battery as the middle of its kind.
    """
    number = design.tables.number
    rest = design.tables.values("batteries", f"rest_voltage_{battery.chemistry}")[-1]
    inside = number("batteries", f"give_resistance_{battery.chemistry}") / battery.capacity.high
    if battery.chemistry == "lfp":
        inside = (inside + number("batteries", "lfp_electronics_resistance")) / number(
            "batteries", "give_spread_factor"
        )
    return float(rest / (inside + hot_resistance(design, fuse)))
