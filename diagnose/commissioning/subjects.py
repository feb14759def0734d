"""What each rule of commissioning is asked of on one installation: parts, joints, zones, ways back.

Every subject is a mapping of names to texts, which fill the open places of a rule. What current flows where is handed
in; nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from diagnose.circuit.graph import lug
from diagnose.circuit.topology import start_batteries, way, zone_of
from diagnose.model.installation import Installation, name_of
from diagnose.model.parts import Battery, Charger, Fuse
from diagnose.model.terminals import ends_of, poles_of

__all__ = ["Flow", "Subject", "charging_state", "subjects"]

Subject = Mapping[str, str]


class Flow(NamedTuple):
    """A part that carries the charging current, with its ends in the direction in which the current flows."""

    part: str
    first: str
    last: str


def charging_state(installation: Installation) -> str:
    """Return the state in which the house battery is charged here: the engine running, else in the sun, else on mains.

    >>> from diagnose.store.installations import load_layout
    >>> charging_state(load_layout("crew_cab_tray")), charging_state(load_layout("solar_only_van"))
    ('engine_running', 'sun_only')
    """
    kinds = {part.kind for part in installation.parts.values()}
    return "engine_running" if "alternator" in kinds else "sun_only" if "panel" in kinds else "mains_on"


def subjects(each: str, installation: Installation, flows: Sequence[Flow] = ()) -> list[dict[str, str]]:
    """Return what a rule of one kind of subject is asked of.

    Parameters: `each`, a word of `model.commissioning_rules.EACH`; `flows`, the parts on the charging path.

    >>> from diagnose.store.installations import load_layout
    >>> [s["battery"] for s in subjects("charged_battery", load_layout("crew_cab_tray"))]
    ['house_battery']
    """
    at = _At(installation, tuple(flows))
    common = {"charging": charging_state(installation)}
    kinds = {part.kind for part in installation.parts.values()}
    common["sun"] = "some" if "panel" in kinds else "none"
    common["engine"] = "some" if kinds & {"alternator", "starter"} else "none"
    return [{**common, **found} for found in _MAKERS[each](at)]


class _At(NamedTuple):
    """Where subjects are looked for."""

    installation: Installation
    flows: tuple[Flow, ...]

    def name(self, identifier: str) -> str:
        """Return what people call a point or a part, with its article."""
        name = name_of(identifier, self.installation)
        return name if name.startswith(("the ", "its ")) else f"the {name}"

    def pair(self, a: str, b: str) -> dict[str, str]:
        """Return two places for probes with their names."""
        names = (" at the ".join(self.name(word) for word in place.split("@")) for place in (a, b))
        return {"a": a, "b": b, **dict(zip(("from_name", "to_name"), names, strict=True))}

    def batteries(self) -> dict[str, Battery]:
        return {n: p for n, p in self.installation.parts.items() if isinstance(p, Battery)}

    def chargers(self) -> dict[str, Charger]:
        return {n: p for n, p in self.installation.parts.items() if isinstance(p, Charger)}

    def quiet(self, battery: Battery) -> bool:
        """Return whether nothing is to flow at rest: no load that is always on, no other battery joined to this one."""
        others = [b.pos for b in self.batteries().values() if b is not battery]
        on = any(getattr(part, "always_on", False) for part in self.installation.parts.values())
        return not on and not any(way(self.installation, battery.pos, pos) for pos in others)

    def nearest_battery(self, point: str) -> str | None:
        """Return the battery whose positive post is the shortest way from a point."""
        ways = {n: len(way(self.installation, point, b.pos)) for n, b in self.batteries().items() if b.pos != point}
        at = [n for n, b in self.batteries().items() if b.pos == point]
        return at[0] if at else min((n for n, w in ways.items() if w), key=lambda n: (ways[n], n), default=None)


def _installation(at: _At) -> Iterator[dict[str, str]]:
    yield {"name": at.installation.title}


def _zone(at: _At) -> Iterator[dict[str, str]]:
    used = {zone_of(at.installation, name) for name in at.installation.parts}
    for zone, told in at.installation.zones.items():
        if zone in used:
            name = f"the {told.name or zone.replace('_', ' ')}"
            yield {"zone": name, "name": name, "key": zone}


def _part(at: _At) -> Iterator[dict[str, str]]:
    for name, part in at.installation.parts.items():
        found = {"part": name, "name": at.name(name), "key": name, "kind": part.kind}
        if len(ends := ends_of(part)) == 2 and getattr(part, "position", "closed") == "closed":
            found |= at.pair(*ends)
        elif ends:
            continue
        if poles := poles_of(part):
            found |= {"pos": poles[0], "neg": poles[1]}
        if isinstance(part, Fuse):
            found["rating"] = f"{part.rating.mid:g} A"
        if isinstance(part, Battery):
            found["quiet"] = "yes" if at.quiet(part) else "no"
        yield found


def _charger(at: _At) -> Iterator[dict[str, str]]:
    several = len(at.chargers()) > 1
    for name, part in at.chargers().items():
        lamp = next(iter(part.lamps or ("charging",)))
        volts = next((p.voltage.mid for p in part.profiles if p.name == part.profile), part.profiles[0].voltage.mid)
        yield {
            "part": name, "charger": name, "name": at.name(name), "key": name, "output": part.output, "kind": "charger",
            "negative": part.negative, "input": part.input or "", "ignition": part.ignition or "",
            "lamp": f"{name}.{lamp}" if several else lamp, "profile": part.profile, "volts": f"{volts:g}",
            "rating": f"{part.rating.mid:g}", "profile_lead": part.profile_lead or "none",
        }  # fmt: skip


def _fed_charger(at: _At) -> Iterator[dict[str, str]]:
    for found in _charger(at):
        parts = [n for n, p in at.installation.parts.items() if found["input"] and found["input"] in ends_of(p)]
        if parts:
            yield {**found, "input_part": parts[0], "input_part_name": at.name(parts[0])}


def _sensed_charger(at: _At) -> Iterator[dict[str, str]]:
    yield from (found for found in _charger(at) if found["ignition"])


def _profile_lead(at: _At) -> Iterator[dict[str, str]]:
    leads = {part.profile_lead for part in at.chargers().values() if part.profile_lead}
    yield from (found for found in _part(at) if leads & set(ends_of(at.installation.parts[found["part"]])))


def _source_fuse(at: _At) -> Iterator[dict[str, str]]:
    posts = {battery.pos for battery in at.batteries().values()}
    for found in _part(at):
        if found["kind"] == "fuse" and posts & {found.get("a"), found.get("b")}:
            yield found


def _termination(at: _At) -> Iterator[dict[str, str]]:
    for name, part in at.installation.parts.items():
        if part.kind in ("cable", "fuse"):
            for point in ends_of(part):
                yield {"part": name, "name": at.name(name), "point": point, "point_name": at.name(point),
                       "key": f"{name}@{point}"}  # fmt: skip


def _charger_stud(at: _At) -> Iterator[dict[str, str]]:
    for name, part in at.chargers().items():
        for point in (part.input, part.output, part.negative):
            if point:
                yield {"part": name, "point": point, "point_name": at.name(point), "key": point}


def _return(at: _At) -> Iterator[dict[str, str]]:
    posts = [battery.neg for battery in at.batteries().values()]
    ends = [charger.negative for charger in at.chargers().values()] or posts[:1]
    for a, b in dict.fromkeys((post, end) for post in posts for end in ends if post != end):
        yield {**at.pair(a, b), "key": f"{a}_{b}"}


def _charge_part(at: _At) -> Iterator[dict[str, str]]:
    for part, first, last in at.flows:
        kind = at.installation.parts[part].kind
        yield {"part": part, "name": at.name(part), "key": part, "kind": kind, **at.pair(first, last)}


def _charge_joint(at: _At) -> Iterator[dict[str, str]]:
    for part, first, last in at.flows:
        if at.installation.parts[part].kind in ("cable", "fuse"):
            joints = ((first, first, lug(part, first)), (last, lug(part, last), last))
            for point, a, b in joints:
                yield {"part": part, "name": at.name(part), "point": point, "point_name": at.name(point),
                       "key": f"{part}@{point}", **at.pair(a, b)}  # fmt: skip


def _charge_fuse(at: _At) -> Iterator[dict[str, str]]:
    for part, first, last in at.flows:
        if at.installation.parts[part].kind == "fuse":
            beside = [f.part for f in at.flows if {f.first, f.last} & {first, last}]
            cables = [name for name in beside if at.installation.parts[name].kind == "cable"]
            if cables:
                shared = next(f for f in at.flows if f.part == cables[-1])
                point = shared.first if shared.first in (first, last) else shared.last
                yield {"part": part, "name": at.name(part), "key": part, "cable": cables[-1], "point": point,
                       "cable_name": at.name(cables[-1]), "point_name": at.name(point)}  # fmt: skip


def _battery(at: _At, name: str) -> dict[str, str]:
    battery = at.batteries()[name]
    return {"part": name, "battery": name, "name": at.name(name), "key": name, "pos": battery.pos, "neg": battery.neg}


def _start_battery(at: _At) -> Iterator[dict[str, str]]:
    sets = [p for p in at.installation.parts.values() if p.kind == "alternator"]
    for name in sorted(start_batteries(at.installation)) if sets else ():
        yield {**_battery(at, name), "regulation": getattr(sets[0], "regulation", "fixed")}


def _charged_battery(at: _At) -> Iterator[dict[str, str]]:
    for found in _charger(at):
        name = at.nearest_battery(found["output"])
        if name is not None:
            yield {**_battery(at, name), **{key: found[key] for key in ("charger", "volts", "rating", "profile")}}


def _load(at: _At) -> Iterator[dict[str, str]]:
    for found in _part(at):
        if found["kind"] == "load":
            name = at.nearest_battery(found["pos"])
            pair = at.pair(at.batteries()[name].pos, found["pos"]) if name is not None else {}
            yield {**found, **pair, "key": found["part"]}


_MAKERS: dict[str, Callable[[_At], Iterator[dict[str, str]]]] = {
    "installation": _installation, "zone": _zone, "part": _part, "charger": _charger, "fed_charger": _fed_charger,
    "sensed_charger": _sensed_charger, "profile_lead": _profile_lead, "source_fuse": _source_fuse,
    "termination": _termination, "charger_stud": _charger_stud, "return": _return, "charge_part": _charge_part,
    "charge_joint": _charge_joint, "charge_fuse": _charge_fuse, "start_battery": _start_battery,
    "charged_battery": _charged_battery, "load": _load,
}  # fmt: skip
