"""Every test a person with certain tools could take on an installation, in the states it can be put into."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.circuit.graph import edges_of, lug
from diagnose.circuit.topology import cranking_pairs, negative_side
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Cable, Charger, Fuse
from diagnose.model.reading import Reading, Take
from diagnose.model.rules import RuleBase
from diagnose.model.terminals import ends_of, pairs_of, poles_of

__all__ = ["ALL_TOOLS", "candidates", "lamps_of", "minutes_after", "minutes_of", "states_of"]

ALL_TOOLS = ("multimeter", "clamp", "eyes", "hands", "thermometer", "test_lamp", "load_tester", "hydrometer")
JOINTS = ("switch", "contact", "bond", "shunt", "relay", "diode")


def states_of(installation: Installation) -> tuple[str, ...]:
    """Return the live states worth measuring in, for what is fitted."""
    kinds = {p.kind for p in installation.parts.values()}
    states = ["at_rest"]
    if "alternator" in kinds:
        states.append("engine_running")
    if "load" in kinds:
        states += ["loaded"] + (["engine_running_loaded"] if "alternator" in kinds else [])
    if "supply" in kinds:
        states.append("mains_on")
    if "panel" in kinds:
        states.append("sun_only")
    return tuple(states)


def lamps_of(installation: Installation) -> dict[str, str]:
    """Return the name that the charging lamp of each charger has in a reading, by charger."""
    chargers = [n for n, p in installation.parts.items() if isinstance(p, Charger)]
    return {n: "charging" if len(chargers) == 1 else f"{n}.charging" for n in chargers}


def _drops(installation: Installation) -> Iterator[tuple[str, str]]:
    """Yield the two ends of every joint, cable, fuse and switch."""
    for name, part in installation.parts.items():
        if isinstance(part, Cable | Fuse):
            a, b = part.ends
            yield a, b
            yield a, lug(name, a)
            yield lug(name, b), b
        elif part.kind in JOINTS:
            a, b = ends_of(part)
            yield a, b


def _at_devices(installation: Installation) -> Iterator[tuple[str, str]]:
    """Yield the two poles of every device, and a charger's ports with its negative."""
    for part in installation.parts.values():
        yield from pairs_of(part).values()
        if isinstance(part, Charger) and part.ignition:
            yield part.ignition, part.negative


def _runs(installation: Installation) -> Iterator[tuple[str, str]]:
    """Yield battery posts with every point of the same side."""
    batteries = [p for p in installation.parts.values() if isinstance(p, Battery)]
    negative = negative_side(installation)
    points = dict.fromkeys(p for e in edges_of(installation) for p in (e.a, e.b) if "@" not in p)
    for point in points:
        for battery in batteries:
            yield (battery.neg, point) if point in negative else (battery.pos, point)


def _volts(installation: Installation, live: Sequence[str]) -> dict[Take, None]:
    """Return the tests of volts: drops and runs only where current flows; no pair of points both ways round."""
    at_devices = [pair for pair in _at_devices(installation) if pair[0] != pair[1]]
    along = [pair for pair in (*_drops(installation), *_runs(installation)) if pair[0] != pair[1]]
    asked = [(pair, state) for state in live for pair in at_devices]
    asked += [(pair, state) for state in live if state != "at_rest" for pair in along]
    if any(p.kind == "starter" for p in installation.parts.values()):
        asked += [(pair, "cranking") for pair in cranking_pairs(installation)]
    first: dict[tuple[frozenset[str], str], Take] = {}
    for pair, state in asked:
        first.setdefault((frozenset(pair), state), Take("volts", pair, state))
    return dict.fromkeys(first.values())


def candidates(installation: Installation, tools: Sequence[str]) -> tuple[Take, ...]:
    """Return the tests that the tools allow, without repeats, in a fixed order."""
    found: dict[Take, None] = {}
    parts = installation.parts
    live = states_of(installation)
    if "multimeter" in tools:
        found |= _volts(installation, live)
        found |= {Take("ohms", pair, "isolated"): None for pair in _drops(installation)}
        found |= {Take("ripple", poles_of(p), "engine_running"): None for p in parts.values() if p.kind == "alternator"}
    if "clamp" in tools:
        clamped = [
            n for n, p in parts.items() if p.kind in ("cable", "battery", "load", "charger", "alternator", "panel")
        ]
        found |= {Take("amps", (name,), state): None for name in clamped for state in live}
    if "thermometer" in tools:
        warm = [n for n, p in parts.items() if p.kind in ("fuse", "contact", "charger")]
        found |= {Take("celsius", (name,), "engine_running"): None for name in warm if "engine_running" in live}
    if "eyes" in tools:
        found |= {Take("lamp", (name,), state): None for name in lamps_of(installation).values() for state in live}
        found |= {Take("look", (name,), "at_rest"): None for name in (*parts, *_ends(installation))}
        loads = [n for n, p in parts.items() if p.kind == "load"]
        found |= {Take("works", (name,), state): None for name in loads for state in live if "loaded" in state}
    if "hands" in tools:
        found |= {Take(act, (end,), "at_rest"): None for end in _ends(installation) for act in ("tug", "wiggle")}
    for tool, quantity in (("load_tester", "load_test"), ("hydrometer", "gravity")):
        if tool in tools:
            wet = [
                n
                for n, p in parts.items()
                if isinstance(p, Battery) and (quantity != "gravity" or p.chemistry == "flooded")
            ]
            found |= {Take(quantity, (name,), "at_rest"): None for name in wet}
    return tuple(found)


def _ends(installation: Installation) -> tuple[str, ...]:
    return tuple(lug(n, end) for n, p in installation.parts.items() if isinstance(p, Cable | Fuse) for end in p.ends)


def minutes_of(
    take: Take,
    base: float,
    installation: Installation,
    state: str | None,
    zones: frozenset[str],
    extra: tuple[float, ...],
) -> float:
    """Return the minutes a test takes from where one stands.

    Parameters: `base` [min] of its kind; `state`, the one now; `zones`, those already open; `extra` [min], what a
    change of state and what a jumper or swap adds.
    Returns: minutes [min], access to a closed zone counted once.
    """
    minutes = base + (extra[0] if take.when != state else 0.0) + (extra[1] if take.jumper or take.swap else 0.0)
    opened: set[str] = set()
    for place in take.where:
        point = place.partition("@")[2] or place
        known = installation.points.get(point)
        if known is not None and known.access.mid > 0 and (known.zone or point) not in zones | opened:
            minutes += known.access.mid
            opened.add(known.zone or point)
    return minutes


def minutes_after(
    readings: Sequence[Reading], takes: Sequence[Take], installation: Installation, rules: RuleBase, tables: Tables
) -> list[float]:
    """Return the minutes [min] of tests from where one stands after some readings, by the figures of the rule base."""
    state = next((r.take.when for r in reversed(readings) if r.take is not None), None)
    touched = {place.partition("@")[2] or place for r in readings if r.take is not None for place in r.take.where}
    zones = frozenset(installation.points[n].zone or n for n in touched if n in installation.points)
    extra = tuple(tables.number("minutes", key) for key in ("change_of_state", "jumper_or_swap"))
    return [minutes_of(t, rules.tests[t.quantity].minutes, installation, state, zones, extra) for t in takes]
