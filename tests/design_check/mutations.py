"""Random mistakes in sound layouts, each with the rule and the parts whose line must catch it.

What a mistake is is told here by plain arithmetic and by figures written out again, not by the program: ampacity of the
105 degC column of 33 CFR 183.425 Table 5, absorption voltages after IEEE 1361 (from memory), copper after IEC 60028.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any, NamedTuple

import networkx as nx

from diagnose.basics.quantities import Span
from diagnose.model.installation import Installation, Zone
from diagnose.model.parts import Fuse
from diagnose.store.installations import layout_ids, load_layout

AMPACITY = {1: 20, 1.5: 26, 2.5: 38, 4: 50, 6: 65, 10: 93, 16: 134, 25: 175, 35: 215, 50: 273}
BANDS = {
    "flooded": (14.4, 14.8), "calcium": (14.4, 15.0), "agm": (14.4, 14.7), "gel": (14.1, 14.4), "lfp": (14.2, 14.6),
}  # fmt: skip
COPPER = 0.017241
ENGINE_ZONES = ("engine_bay", "engine_space")


class Mutation(NamedTuple):
    """A mistake: what was done, the installation with it, the rule and the parts that must catch it, and the rules that
    rightly speak of the same thing.
    """

    says: str
    installation: Installation
    rule: str
    subjects: frozenset[str]
    also: frozenset[str] = frozenset()


def known(value: float) -> Span:
    return Span(value, value)


class Layout:
    """A layout with its parts, and new ones made from it."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.whole = load_layout(name)
        self.parts: dict[str, Any] = dict(self.whole.parts)

    def of(self, *kinds: str) -> dict[str, Any]:
        return {n: p for n, p in self.parts.items() if p.kind in kinds}

    def changed(self, zones: dict[str, Zone] | None = None, gone: tuple[str, ...] = (), **keys: Any) -> Installation:
        """Return the layout with keys of parts changed, as part=dict(key=value), and parts gone."""
        parts = {n: p for n, p in self.parts.items() if n not in gone}
        parts |= {n: parts[n].model_copy(update=update) for n, update in keys.items()}
        return self.whole.model_copy(update={"parts": parts, "zones": dict(self.whole.zones) | (zones or {})})

    def charger(self) -> tuple[str, Any]:
        return next(iter(self.of("charger").items()))

    def graph(self, gone: str | None = None) -> nx.Graph:
        graph = nx.Graph()
        graph.add_nodes_from(e for p in self.parts.values() for e in [getattr(p, "neg", None)] if e)
        graph.add_edges_from(p.ends for n, p in self.parts.items() if hasattr(p, "ends") and n != gone)
        return graph

    def house(self) -> tuple[str, Any]:
        return next((n, p) for n, p in self.of("battery").items() if n == "house_battery")


LAYOUTS = {name: Layout(name) for name in layout_ids()}
Maker = Callable[[Layout, random.Random], "Mutation | None"]
CARRY = frozenset({"cable_carries_load", "drop_along_leg", "drop_in_all", "drop_to_load", "charger_hunts",
                   "earth_carries_load", "cable_carries_fuse", "fuse_carries_load"})  # fmt: skip


def fused_cables(layout: Layout) -> dict[str, float]:
    """Return the cables that begin at a fuse, with its rating."""
    fuses = layout.of("fuse").values()
    found = {}
    for name, cable in layout.of("cable").items():
        ratings = [f.rating.high for f in fuses if set(f.ends) & set(cable.ends) and f.ends[1] in cable.ends]
        if ratings:
            found[name] = max(ratings)
    return found


def thinner_cable(layout: Layout, chance: random.Random) -> Mutation | None:
    large = {n: rating for n, rating in fused_cables(layout).items() if rating > 1.6 * min(AMPACITY.values())}
    if not large:
        return None
    name, rating = chance.choice(sorted(large.items()))
    area = max(area for area, amps in AMPACITY.items() if amps * 1.6 < rating)
    made = layout.changed(**{name: {"area": known(area)}})
    return Mutation(f"{name} of {area:g} mm2 behind {rating:g} A", made, "cable_carries_fuse", frozenset({name}), CARRY)


def larger_fuse(layout: Layout, chance: random.Random) -> Mutation | None:
    name = chance.choice(sorted(layout.of("fuse")))
    cables = [n for n, c in layout.of("cable").items() if layout.parts[name].ends[1] in c.ends]
    if not cables:
        return None
    cable = layout.parts[cables[0]]
    rating = 2.0 * AMPACITY[cable.area.low]
    made = layout.changed(**{name: {"rating": known(rating)}})
    upstream = any(set(f.ends) & {layout.parts[name].ends[0]} and n != name for n, f in layout.of("fuse").items())
    if upstream and layout.parts[name].ends[0] not in {b.pos for b in layout.of("battery").values()}:
        return None  # a fuse before it may still protect the cable
    return Mutation(f"{name} of {rating:g} A", made, "cable_carries_fuse", frozenset(cables),
                    frozenset({"cable_carries_fuse", "fuse_breaks"}))  # fmt: skip


def smaller_fuse(layout: Layout, chance: random.Random) -> Mutation | None:
    found = layout.of("charger")
    if not found or layout.name == "solar_only_van":
        return None
    charger = next(iter(found.values()))
    names = [n for n in ("input_fuse", "output_fuse") if n in layout.parts]
    names += ["house_fuse"] if "output_fuse" not in layout.parts else []
    name = chance.choice(names)
    made = layout.changed(**{name: {"rating": known(0.8 * charger.rating.low)}})
    also = frozenset({"drop_along_leg", "drop_in_all"})  # a small fuse has more resistance
    return Mutation(f"{name} of {0.8 * charger.rating.low:g} A", made, "fuse_carries_load", frozenset({name}), also)


def no_fuse(layout: Layout, chance: random.Random) -> Mutation | None:
    posts = {b.pos for b in layout.of("battery").values()}
    at_post = [n for n, f in layout.of("fuse").items() if f.ends[0] in posts]
    name = chance.choice(sorted(at_post))
    post, load = layout.parts[name].ends
    cables = [n for n, c in layout.of("cable").items() if load in c.ends]
    others = [n for n, p in layout.parts.items() if load in getattr(p, "ends", ()) and n not in (name, *cables)]
    if not cables or others:
        return None
    ends = {n: {"ends": tuple(post if e == load else e for e in layout.parts[n].ends)} for n in cables}
    made = layout.changed(gone=(name,), **ends)
    also = frozenset({"cable_carries_fuse"})
    return Mutation(f"no {name}", made, "fuse_at_battery", frozenset(cables), also)


def longer_cable(layout: Layout, chance: random.Random) -> Mutation | None:
    found = layout.of("charger")
    name = next((n for n in ("input_cable", "car_cable") if n in layout.parts), None)
    if not found or name is None or layout.name in ("solar_only_van", "relay_pair"):
        return None
    charger, cable = next(iter(found.values())), layout.parts[name]
    amps = charger.rating.low * 14.4 / 0.9 / 14.0
    length = chance.uniform(0.75, 1.1) / amps * cable.area.low / COPPER
    made = layout.changed(**{name: {"length": known(length)}})
    return Mutation(f"{name} of {length:.0f} m", made, "drop_along_leg", frozenset({name}), CARRY)


def longer_load_cable(layout: Layout, chance: random.Random) -> Mutation | None:
    loads = {n: p for n, p in layout.of("load").items() if f"{n}_cable" in layout.parts}
    name = chance.choice(sorted(loads))
    load, cable = loads[name], layout.parts[f"{name}_cable"]
    amps = load.power.mid / 12.0 if load.power else 12.0 / load.resistance.mid
    length = 2.2 / amps * cable.area.low / COPPER
    if length > 900:
        return None
    made = layout.changed(**{f"{name}_cable": {"length": known(length)}})
    sharing = frozenset(n for n, p in layout.of("load").items() if p.pos == load.pos)
    return Mutation(f"{name}_cable of {length:.0f} m", made, "drop_to_load", sharing)


def _hanging(layout: Layout, name: str) -> frozenset[str]:
    """Return the parts whose negative loses its way home without a part."""
    home = layout.of("battery").get("start_battery", layout.house()[1]).neg
    graph = layout.graph(gone=name)
    joined = nx.node_connected_component(graph, home) if home in graph else {home}
    points = {n: getattr(p, "neg", None) or getattr(p, "negative", None) for n, p in layout.parts.items()}
    return frozenset(n for n, p in points.items() if p and p not in joined and layout.parts[n].kind != "panel")


def unbonded(layout: Layout, chance: random.Random) -> Mutation | None:
    names = [n for n, p in layout.of("bond", "cable", "contact").items() if _hanging(layout, n)]
    if not names:
        return None
    name = chance.choice(sorted(names))
    opened = layout.parts[name].kind != "cable" and chance.random() < 0.5
    made = layout.changed(**{name: {"position": "open"}}) if opened else layout.changed(gone=(name,))
    hanging = _hanging(layout, name)
    # a charger whose alternator has no way home lives from the start battery alone
    also = frozenset({"charger_hunts", "fuse_carries_load"}) if "alternator" in hanging else frozenset()
    return Mutation(f"{name} {'open' if opened else 'left out'}", made, "negatives_joined", hanging, also)


def wrong_profile(layout: Layout, chance: random.Random) -> Mutation | None:
    found = layout.of("charger")
    if not found or layout.charger()[1].profile_lead:
        return None
    name, charger = layout.charger()
    low, high = BANDS[layout.house()[1].chemistry]
    wrong = [p.name for p in charger.profiles if not low - 0.1 <= p.voltage.mid <= high + 0.1]
    if not wrong:
        return None
    profile = chance.choice(wrong)
    made = layout.changed(**{name: {"profile": profile}})
    return Mutation(f"profile {profile}", made, "profile_suits", frozenset({name}), frozenset({"charge_limit"}))


def lower_limit(layout: Layout, chance: random.Random) -> Mutation | None:
    if not layout.of("charger"):
        return None
    _, charger = layout.charger()
    volts = min(p.voltage.low for p in charger.profiles if p.name == charger.profile)
    name, _ = layout.house()
    made = layout.changed(**{name: {"max_charge": known(volts - chance.uniform(0.15, 0.4))}})
    return Mutation("a battery that may have less", made, "charge_limit", frozenset({name}))


def hotter_charger(layout: Layout, chance: random.Random) -> Mutation | None:
    if not layout.of("charger"):
        return None
    name, charger = layout.charger()
    zone = layout.whole.points[charger.output].zone
    old = layout.whole.zones[zone]
    hot = charger.shuts_down_at.mid - chance.uniform(2.0, 12.0)
    made = layout.changed(zones={zone: old.model_copy(update={"ambient": known(hot)})})
    also = frozenset({"charge_in_cold", "profile_suits_warmth"}) | CARRY
    return Mutation(f"{zone} at {hot:.0f} degC", made, "charger_cool", frozenset({name}), also)


def hotter_battery(layout: Layout, chance: random.Random) -> Mutation | None:
    name, battery = layout.house()
    if battery.chemistry == "lfp" or not layout.of("charger"):
        return None
    made = layout.changed(**{name: {"temperature": known(chance.uniform(53.0, 60.0))}})
    return Mutation("a battery above 52 degC", made, "profile_suits_warmth", frozenset({name}))


def frozen_lithium(layout: Layout, chance: random.Random) -> Mutation | None:
    name, battery = layout.house()
    if battery.chemistry != "lfp":
        return None
    cold = chance.uniform(-20.0, -1.0)
    made = layout.changed(**{name: {"temperature": known(cold), "protection": False}})
    return Mutation(f"lithium at {cold:.0f} degC", made, "charge_in_cold", frozenset({name}))


def lithium_on_relay(layout: Layout, chance: random.Random) -> Mutation | None:
    name, _ = layout.house()
    if not layout.of("relay"):
        return None
    made = layout.changed(**{name: {"chemistry": "lfp", "protection": True, "max_charge": known(14.6),
                                    "capacity": known(chance.choice([100.0, 120.0]))}})  # fmt: skip
    also = frozenset({"fuse_breaks", "fuse_carries_load", "charger_size_battery"})
    return Mutation("lithium behind a relay", made, "lfp_needs_charger", frozenset({name}), also)


def common_fuse_at_lithium(layout: Layout, chance: random.Random) -> Mutation | None:
    name, battery = layout.house()
    if battery.chemistry != "lfp":
        return None
    fuse = chance.choice([n for n, f in layout.of("fuse").items() if battery.pos in f.ends])
    made = layout.changed(**{fuse: {"breaks": known(chance.choice([1000.0, 2000.0]))}})
    return Mutation(f"{fuse} breaks too little", made, "fuse_breaks", frozenset({name}))


def no_ignition_lead(layout: Layout, chance: random.Random) -> Mutation | None:
    variable = any(a.regulation == "variable" for a in layout.of("alternator").values())
    if not variable:
        return None
    name, _ = layout.charger()
    gone = chance.choice(["ignition_lead", "ignition_feed", "ignition_fuse"])
    made = layout.changed(gone=(gone,))
    return Mutation(f"no {gone}", made, "ignition_needed", frozenset({name}),
                    frozenset({"ignition_dies_with_key", "charger_hunts"}))  # fmt: skip


def ignition_always_live(layout: Layout, chance: random.Random) -> Mutation | None:
    if "ignition_lead" not in layout.parts:
        return None
    name, charger = layout.charger()
    point = chance.choice(["ignition_in", "ignition_fuse_load"])
    made = layout.changed(ignition_lead={"ends": (point, charger.ignition)})
    return Mutation(f"ignition lead from {point}", made, "ignition_dies_with_key", frozenset({name}))


def panel_too_high(layout: Layout, chance: random.Random) -> Mutation | None:
    if not layout.of("panel"):
        return None
    name, _ = layout.charger()
    volts = chance.uniform(26.0, 40.0)
    made = layout.changed(panel={"open_circuit": known(volts), "peak_voltage": known(0.82 * volts)})
    return Mutation("a panel of more volts", made, "panel_volts_in_cold", frozenset({name}))


def charger_far(layout: Layout, chance: random.Random) -> Mutation | None:
    if not layout.of("charger"):
        return None
    name, _ = layout.charger()
    length = chance.uniform(2.5, 8.0)
    made = layout.changed(output_cable={"length": known(length)})
    return Mutation(f"charger {length:.1f} m off", made, "charger_near", frozenset({name}), CARRY)


def shut_tight(layout: Layout, chance: random.Random) -> Mutation | None:
    flooded = {n: b for n, b in layout.of("battery").items() if b.chemistry in ("flooded", "calcium")}
    zones = {n: layout.whole.points[b.pos].zone for n, b in flooded.items()}
    names = sorted(n for n, zone in zones.items() if zone not in ENGINE_ZONES)
    if not names:
        return None
    name = chance.choice(names)
    old = layout.whole.zones[zones[name]]
    opening = chance.choice([None, known(300.0)])
    made = layout.changed(zones={zones[name]: old.model_copy(update={"enclosed": True, "opening": opening})})
    subjects = frozenset(n for n in names if zones[n] == zones[name])
    return Mutation(f"{zones[name]} shut tight", made, "battery_gets_air", subjects)


def small_battery(layout: Layout, chance: random.Random) -> Mutation | None:
    batteries = [n for n in layout.of("battery") if n != "start_battery"]
    if not layout.of("charger"):
        return None
    name, charger = layout.charger()
    each = charger.rating.low / chance.uniform(1.1, 1.6) / len(batteries)
    made = layout.changed(**{n: {"capacity": known(each)} for n in batteries})
    return Mutation(f"{each:.0f} Ah", made, "charger_size_battery", frozenset({name}))


def small_alternator(layout: Layout, chance: random.Random) -> Mutation | None:
    if not layout.of("alternator") or not layout.of("charger"):
        return None
    name, charger = layout.charger()
    rating = chance.uniform(0.6, 1.0) * charger.rating.low
    made = layout.changed(alternator={"rating": known(rating)})
    return Mutation(f"an alternator of {rating:.0f} A", made, "charger_size_alternator", frozenset({name}),
                    frozenset({"charger_hunts", "fuse_carries_load"}))  # fmt: skip


def high_stop(layout: Layout, chance: random.Random) -> Mutation | None:
    fixed = [a.voltage.mid for a in layout.of("alternator").values() if a.regulation == "fixed"]
    if not fixed or not layout.of("charger"):
        return None
    name, charger = layout.charger()
    end = "_with_ignition" if charger.ignition else ""
    stop = fixed[0] - 0.05
    made = layout.changed(**{name: {f"stops_below{end}": known(stop), f"starts_above{end}": known(stop + 0.02)}})
    return Mutation(f"stops below {stop:.2f} V", made, "charger_hunts", frozenset({name}))


def thin_earth(layout: Layout, chance: random.Random) -> Mutation | None:
    found = layout.of("charger")
    names = [n for n in ("house_earth", "house_return") if n in layout.parts]
    if not found or not names or next(iter(found.values())).rating.low < 25.0:
        return None
    area = 0.5
    house = layout.house()[1]
    name = next((n for n in names if house.neg in layout.parts[n].ends), names[0])
    made = layout.changed(**{name: {"area": known(area)}})
    return Mutation(f"{name} of {area} mm2", made, "earth_carries_load", frozenset({name}), CARRY)


def push_in_fuse(layout: Layout, chance: random.Random) -> Mutation | None:
    name = chance.choice(sorted(n for n in ("input_fuse", "output_fuse") if n in layout.parts) or [""])
    if not name or not isinstance(layout.parts[name], Fuse):
        return None
    made = layout.changed(**{name: {"style": chance.choice(["blade", "cartridge"])}})
    return Mutation(f"{name} pushed in", made, "fuse_style", frozenset({name}))


MAKERS: tuple[Maker, ...] = (
    thinner_cable, larger_fuse, smaller_fuse, no_fuse, longer_cable, longer_load_cable, unbonded, wrong_profile,
    lower_limit, hotter_charger, hotter_battery, frozen_lithium, lithium_on_relay, common_fuse_at_lithium,
    no_ignition_lead, ignition_always_live, panel_too_high, charger_far, shut_tight, small_battery, small_alternator,
    high_stop, thin_earth, push_in_fuse,
)  # fmt: skip


def random_mutations(seed: int, count: int) -> list[tuple[str, Mutation]]:
    """Return mutations with the name of their layout, kinds in turn, layouts by chance."""
    chance = random.Random(seed)
    found: list[tuple[str, Mutation]] = []
    turn = 0
    while len(found) < count:
        maker = MAKERS[turn % len(MAKERS)]
        turn += 1
        name = chance.choice(sorted(LAYOUTS))
        mutation = maker(LAYOUTS[name], chance)
        for other in chance.sample(sorted(LAYOUTS), len(LAYOUTS)) if mutation is None else ():
            name, mutation = other, maker(LAYOUTS[other], chance)
            if mutation is not None:
                break
        assert mutation is not None, maker
        found.append((name, mutation))
    return found


