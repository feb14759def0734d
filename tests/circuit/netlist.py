"""A vehicle in an operating state as an ngspice netlist: every law of a device, written a second time.

Reads the same records as the solver (`Wiring`, `Parameters`, `OperatingState`) and shares no other code with it. Small
resistors are written as impedances (a current unknown of their own), batteries as voltages that follow their current,
and each floating
island has its own ground, so that a 10 megohm meter beside a 0.3 milliohm crimp costs no digits.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.circuit.operating import Doing, Vehicle, load_runs

__all__ = ["Netlist"]

STIFF = 1000.0  # [S], with which a charger holds its input or its panel
TIE = 1e12  # [ohm], from a group of nodes that only a diode joins to the rest, to ground


class Groups:
    """Sets of nodes that hang together."""

    def __init__(self, count: int) -> None:
        self.parent = list(range(count))

    def find(self, k: int) -> int:
        while self.parent[k] != k:
            k = self.parent[k]
        return k

    def join(self, a: int, b: int) -> None:
        low, high = sorted((self.find(a), self.find(b)))
        self.parent[high] = low

    def all(self) -> tuple[int, ...]:
        return tuple(self.find(k) for k in range(len(self.parent)))


@dataclass
class Netlist:
    """A netlist being written; nodes by number, `ground` those that are ground."""

    vehicle: Vehicle
    doing: Doing
    loads: bool
    in_time: bool = False
    plain: bool = False
    tied: bool = False
    idle: bool = False
    lines: list[str] = field(default_factory=list)
    firm: Groups = field(init=False)
    loose: Groups = field(init=False)
    pairs: list[tuple[str, int, int]] = field(default_factory=list)
    nudged: dict[int, float] = field(default_factory=dict)
    ground: set[int] = field(default_factory=lambda: {0})

    def __post_init__(self) -> None:
        self.firm, self.loose = (Groups(len(self.vehicle.wiring.nodes)) for _ in range(2))

    def node(self, k: int) -> str:
        return "0" if k in self.ground else f"n{k}"

    def across(self, a: int, b: int) -> str:
        return f"(v({self.node(a)})-v({self.node(b)}))"

    def resistor(self, tag: str, a: int, b: int, ohms: float) -> None:
        """A small one as an impedance, unless the netlist is plain."""
        if self.plain or ohms >= 1e3:
            self.lines += [f"R{tag} {self.node(a)} {self.node(b)} {ohms!r}"]
        else:
            self.lines += [f"V{tag} {self.node(a)} x{tag} 0", f"H{tag} x{tag} {self.node(b)} V{tag} {ohms!r}"]

    def draws(self, tag: str, a: int, b: int, law: str) -> None:
        """A device that draws a current from a to b; its current is that of the source V<tag>."""
        self.lines += [f"B{tag} {self.node(a)} x{tag} I={law}", f"V{tag} x{tag} {self.node(b)} 0"]

    def ties(self, laws: list[Placed]) -> list[tuple[int, int, float]]:
        """Return the ties of groups that only one-way devices join to the rest: without them they would stand nowhere.

        A source with nothing to feed gets one across itself, whose current shifts nothing else. A group behind a diode
        gets one to ground, and stands where a trickle of 10 picoamperes leaves it.
        """
        held = Groups(len(self.firm.parent))
        for node, root in enumerate(self.firm.all()):
            held.join(node, root)
        for node in self.ground:
            held.join(0, node)
        ties = []
        for tag, a, b, _ in laws:
            if tag.startswith(("alternator", "supply", "output")) and held.find(a) != held.find(b):
                held.join(a, b)
                ties.append((a, b, 1e9))
                self.hint_idle(tag, a, b)
        left = {held.find(k) for _, a, b, _ in laws for k in (a, b)} - {held.find(0)}
        self.tied, self.idle = bool(left), bool(ties)
        return ties + [(root, 0, TIE) for root in sorted(left)]

    def hint_idle(self, tag: str, a: int, b: int) -> None:
        """Begin with a source that has nothing to feed just inside its slope; outside, ngspice jumps to and fro."""
        kind, k = tag.rstrip("0123456789"), int(tag.lstrip("abcdefghijklmnopqrstuvwxyz"))
        name = "charger" if kind == "output" else kind
        ohms = self.vehicle.number("charger.regulation" if kind == "output" else f"{kind}.resistance", k)
        volts = self.vehicle.number(f"{name}.voltage", k) - 1e-2 * ohms
        hints = self.vehicle.hints
        if a in self.ground:
            self.nudged[b] = hints.get(a, 0.0) - volts
        else:
            self.nudged[a] = hints.get(b, 0.0) + volts

    def write(self) -> str:
        """Return the text."""
        v = self.vehicle
        edges = [(f"e{k}", a, b, ohms) for k, a, b, ohms in v.edges(self.doing)]
        edges += [(f"m{k}", a, b, ohms) for k, (a, b, ohms) in enumerate(v.meters)]
        laws = _devices(self)
        for _, a, b, _ in edges:
            self.firm.join(a, b)
            self.loose.join(a, b)
        for tag, a, b, _ in laws:
            self.loose.join(a, b)
            if tag.startswith(("battery", "panel")):
                self.firm.join(a, b)
        for node, root in enumerate(self.loose.all()):
            if node == root and node != self.loose.find(0):
                self.ground.add(node)
        ties = self.ties(laws)
        for tag, a, b, ohms in edges:
            self.resistor(tag, a, b, ohms)
        for k, (a, b, ohms) in enumerate(ties):
            self.lines.append(f"Rt{k} {self.node(a)} {self.node(b) if b else 0} {ohms!r}")
        for k, (a, b, amps) in enumerate(v.feeds):
            self.lines.append(f"If{k} {self.node(a)} {self.node(b)} {amps!r}")
        for tag, a, b, law in laws:
            law(self, tag, a, b)
            self.pairs.append((tag, a, b))
        used = {k for _, a, b, _ in edges for k in (a, b)} | {k for _, a, b, _ in laws for k in (a, b)}
        near = {
            k: volts for k, volts in (v.hints | self.nudged).items() if k in used - self.ground and abs(volts) < 100
        }
        hints = [f"v(n{k})={volts!r}" for k, volts in near.items()]
        if hints:
            self.lines.append((".ic " if self.in_time else ".nodeset ") + " ".join(hints))
        if self.in_time:
            self.lines.append(".save " + " ".join(f"v({self.node(k)})" for k in sorted(used - self.ground)))
            self.lines += [f"C{tag} {self.node(a)} {self.node(b)} 1m" for tag, a, b in self.pairs]
        return "\n".join(self.lines)


Law = Callable[[Netlist, str, int, int], None]
Placed = tuple[str, int, int, Law]


def _devices(net: Netlist) -> list[Placed]:
    """Return every device that can carry current in this state, with its law."""
    v, placed = net.vehicle, list[Placed]()
    for kind, makes in _MAKES.items():
        for k, device in enumerate(v.wiring.devices[kind]):
            law = makes(net, k)
            if law is not None and device.pos != device.neg:
                placed.append((f"{kind}{k}", device.pos, device.neg, law))
    for k in range(len(v.wiring.chargers)):
        placed += _charger(net, k)
    return placed


def _current(text: Callable[[str], str]) -> Law:
    """Return the law of a device whose current follows from the voltage across it."""
    return lambda net, tag, a, b: net.draws(tag, a, b, text(net.across(a, b)))


def _battery(net: Netlist, k: int) -> Law | None:
    n = net.vehicle.number
    if net.vehicle.state.isolated or n("battery.on", k) == 0:
        return None
    s, e, give, take = (n(f"battery.{x}", k) for x in ("sign", "rest", "give", "take"))

    def law(net: Netlist, tag: str, a: int, b: int) -> None:
        into = f"({s!r}*i(V{tag}))"
        volts = f"{s!r}*({e!r}+max({into},0)*{take!r}+min({into},0)*{give!r})"
        net.lines += [f"V{tag} {net.node(a)} x{tag} 0", f"B{tag} x{tag} {net.node(b)} V={volts}"]

    return law


def _source(kind: str, limit: Callable[[Netlist, int], float]) -> Callable[[Netlist, int], Law | None]:
    def makes(net: Netlist, k: int) -> Law | None:
        n, most = net.vehicle.number, limit(net, k)
        volts, ohms = n(f"{kind}.voltage", k), n(f"{kind}.resistance", k)
        if most <= 0:
            return None
        return _current(lambda v: f"-min(max(({volts!r}-{v})/{ohms!r},0),{most!r})")

    return makes


def _alternator_limit(net: Netlist, k: int) -> float:
    name = {"running": "alternator.limit", "idle": "alternator.idle_limit"}.get(net.vehicle.state.engine)
    return net.vehicle.number(name, k) if name else 0.0


def _supply_limit(net: Netlist, k: int) -> float:
    return net.vehicle.number("supply.limit", k) if net.vehicle.state.supplies else 0.0


def _starter(net: Netlist, k: int) -> Law | None:
    amps, full = net.vehicle.number("starter.current", k), net.vehicle.number("starter.full_at", k)
    if net.vehicle.state.engine != "cranking":
        return None
    return _current(lambda v: f"min(max({v}*{amps / full!r},0),{amps!r})")


def _diode(net: Netlist, k: int) -> Law | None:
    drop, ohms = net.vehicle.number("diode.drop", k), net.vehicle.number("diode.resistance", k)
    return None if ohms == float("inf") else _current(lambda v: f"max(({v}-{drop!r})/{ohms!r},0)")


def _power_load(net: Netlist, k: int) -> Law | None:
    watts, cut = net.vehicle.number("power_load.power", k), net.vehicle.number("power_load.cut", k)
    if not net.loads or k in net.doing.tripped or not load_runs(net.vehicle, k) or watts == 0:
        return None
    return _current(lambda v: f"{watts!r}/max({v},{cut!r})")


def _panel(net: Netlist, k: int) -> Law | None:
    """The diode sits behind the series resistance, at a node of its own."""
    n = net.vehicle.number
    names = ("photo", "saturation", "scale", "series", "sign")
    photo, saturation, scale, series, sign = (n(f"panel.{x}", k) for x in names)
    if not net.vehicle.state.sun or photo <= 0:
        return None

    def law(net: Netlist, tag: str, a: int, b: int) -> None:
        inner = f"({sign!r}*(v(y{tag})-v({net.node(b)}))/{scale!r})"
        top = math.log(photo / saturation) + 4.0  # beyond 50 times the photo current the curve goes on straight
        rise = f"exp(min({inner},{top!r}))*(1+max({inner}-{top!r},0))"
        net.lines += [
            f"V{tag} {net.node(a)} x{tag} 0",
            f"H{tag} x{tag} y{tag} V{tag} {series!r}",
            f"B{tag} y{tag} {net.node(b)} I={-sign!r}*({photo!r}-{saturation!r}*({rise}-1))",
        ]

    return law


_MAKES: dict[str, Callable[[Netlist, int], Law | None]] = {
    "battery": _battery,
    "alternator": _source("alternator", _alternator_limit),
    "supply": _source("supply", _supply_limit),
    "starter": _starter,
    "diode": _diode,
    "power_load": _power_load,
    "panel": _panel,
}


def _output_limit(vehicle: Vehicle, k: int) -> float:
    """Return the charger's output limit [A]: its rating, less what heat takes."""
    n = vehicle.number
    case, full, shut = (n(f"charger.{x}", k) for x in ("case", "full_power_to", "shuts_down_at"))
    if case >= shut:
        return 0.0
    share = 1.0 if case <= full else 1.0 + (n("charger.derate_floor", k) - 1.0) * (case - full) / (shut - full)
    return n("charger.rating", k) * share


def _charger(net: Netlist, k: int) -> list[Placed]:
    """Return the running ports of a charger; {out}, {inp}, {sol} stand for their voltages against its negative."""
    c, does, n = net.vehicle.wiring.chargers[k], net.doing.chargers[k], net.vehicle.number
    if not (does.on or does.hunts or does.sun):
        return []
    volts, slope, eff, standing = (n(f"charger.{x}", k) for x in ("voltage", "regulation", "efficiency", "standing"))
    best = n("charger.tracking", k) * does.panel_open
    tracks = does.sun and not does.backed
    need = f"({{out}}*(-i(Voutput{k}))/{eff!r}+{standing!r})"
    gain = f"{{sol}}*i(Vsolar{k})" if tracks and c.solar != c.negative else "0"
    held = f"{{inp}}*i(Vinput{k})" if does.hunts and c.input != c.negative else "0"
    most = f"{_output_limit(net.vehicle, k)!r}"
    if does.hunts or (tracks and not does.on):
        most = f"min({most},max({eff!r}*({gain}+{held}-{standing!r}),0)/max({{out}},1))"
    texts = {"output": (c.output, f"-min(max(({volts!r}-{{out}})/{slope!r},0),{most})")}
    if does.hunts:
        texts["input"] = (c.input, f"max({STIFF}*({{inp}}-{does.stop!r}),0)")
    elif does.on and not does.backed:
        least = min(n("charger.stop", k), n("charger.stop_ignition", k))
        texts["input"] = (c.input, f"max({need}-{gain},0)/max({{inp}},{least!r})")
    if tracks:
        texts["solar"] = (c.solar, f"max({STIFF}*({{sol}}-{best!r}),0)")
    elif does.backed:
        texts["solar"] = (c.solar, f"{need}/max(max({{sol}},{best!r}),1)")

    def law(text: str) -> Law:
        def write(net: Netlist, tag: str, a: int, b: int) -> None:
            ports = {"out": c.output, "inp": c.input, "sol": c.solar}
            net.draws(tag, a, b, text.format(**{name: net.across(p, c.negative) for name, p in ports.items()}))

        return write

    return [(f"{port}{k}", at, c.negative, law(text)) for port, (at, text) in texts.items() if at != c.negative]
