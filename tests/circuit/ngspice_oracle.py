"""What a vehicle does in an operating state, found a second time: own laws, own decisions, ngspice for the numbers.

Reads the same records as the solver (`Wiring`, `Parameters`, `OperatingState`) and shares no other code with it. Small
resistors are written as impedances (a current unknown of their own), batteries as voltages that follow their current,
and each floating
island has its own ground, so that a 10 megohm meter beside a 0.3 milliohm crimp costs no digits.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from diagnose.circuit.parameters import Parameters
from diagnose.circuit.wiring import Wiring
from diagnose.model.states import OPERATING_STATES, OperatingState
from tests.circuit.ngspice_batch import run_netlists, settle_netlists

__all__ = ["Answer", "Charging", "Solved", "Vehicle", "answer_all", "solve_with"]

STIFF = 1000.0  # [S], with which a charger holds its input or its panel
TIE = 1e9  # [ohm], beside a one-way device that alone holds two groups of nodes together


@dataclass(frozen=True)
class Charging:
    """What one charger does."""

    on: bool = False
    hunts: bool = False
    sun: bool = False
    backed: bool = False
    panel_open: float = 0.0
    stop: float = 0.0


@dataclass(frozen=True)
class Doing:
    """What everything that decides does: chargers, relays that have closed, relays that chatter, loads that cut out."""

    chargers: tuple[Charging, ...]
    closed: frozenset[int] = frozenset()
    chatter: frozenset[int] = frozenset()
    tripped: frozenset[int] = frozenset()


class Solved(NamedTuple):
    """Volts by node number, the group of nodes each belongs to, amperes by tag, conductors joined by what really
    conducts.
    """

    volts: tuple[float, ...]
    group: tuple[int, ...]
    amps: dict[str, float]


class Answer(NamedTuple):
    """What was found: the modes, the unloaded condition, the one at the stop threshold."""

    doing: Doing
    high: Solved
    low: Solved


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
class Vehicle:
    """One vehicle in one operating state; `meters` are resistors (node, node, ohm), `feeds` sources (from, to,
    ampere).
    """

    wiring: Wiring
    numbers: dict[str, list[float]]
    state: OperatingState
    meters: tuple[tuple[int, int, float], ...] = ()
    feeds: tuple[tuple[int, int, float], ...] = ()
    hints: dict[int, float] = field(default_factory=dict)

    @classmethod
    def of(cls, wiring: Wiring, parameters: Parameters, state: str, column: int = 0) -> Vehicle:
        """Take one column of the parameters."""
        numbers = {name: [float(v) for v in values[:, column]] for name, values in parameters.items()}
        return cls(wiring, numbers, OPERATING_STATES[state])

    def number(self, name: str, row: int) -> float:
        """Return one number."""
        return self.numbers[name][row]

    def part(self, name: str) -> object:
        """Return the record of a part."""
        return self.wiring.installation.parts[name]

    def edges(self, doing: Doing) -> Iterable[tuple[int, int, int, float]]:
        """Yield number, nodes and resistance of every edge that conducts."""
        keyed = set(self.wiring.key_edges.tolist())
        contacts = {relay.edge: k for k, relay in enumerate(self.wiring.relays)}
        for k, edge in enumerate(self.wiring.edges):
            ohms = self.number("resistance", k)
            a, b = self.wiring.index[edge.a], self.wiring.index[edge.b]
            shut = (k in keyed and not self.state.key) or (k in contacts and contacts[k] not in doing.closed)
            if edge.role == "load_resistance" and not self.state.loads:
                shut = shut or self.state.isolated or not getattr(self.part(edge.part), "always_on", False)
            if a != b and not shut and ohms != float("inf"):
                yield k, a, b, ohms


@dataclass
class Netlist:
    """A netlist being written; nodes by number, `ground` those that are ground."""

    vehicle: Vehicle
    doing: Doing
    loads: bool
    in_time: bool = False
    lines: list[str] = field(default_factory=list)
    firm: Groups = field(init=False)
    loose: Groups = field(init=False)
    pairs: list[tuple[str, int, int]] = field(default_factory=list)
    ground: set[int] = field(default_factory=lambda: {0})

    def __post_init__(self) -> None:
        count = len(self.vehicle.wiring.nodes)
        self.firm, self.loose = Groups(count), Groups(count)

    def node(self, k: int) -> str:
        return "0" if k in self.ground else f"n{k}"

    def across(self, a: int, b: int) -> str:
        return f"(v({self.node(a)})-v({self.node(b)}))"

    def resistor(self, tag: str, a: int, b: int, ohms: float) -> None:
        """A small one as an impedance."""
        if ohms >= 1e3:
            self.lines += [f"R{tag} {self.node(a)} {self.node(b)} {ohms!r}"]
        else:
            self.lines += [f"V{tag} {self.node(a)} x{tag} 0", f"H{tag} x{tag} {self.node(b)} V{tag} {ohms!r}"]

    def draws(self, tag: str, a: int, b: int, law: str) -> None:
        """A device that draws a current from a to b; its current is that of the source V<tag>."""
        self.lines += [f"B{tag} {self.node(a)} x{tag} I={law}", f"V{tag} x{tag} {self.node(b)} 0"]

    def ties(self, laws: list[Placed]) -> list[tuple[int, int]]:
        """Return node pairs to tie: without them a group behind a diode that blocks would stand nowhere.

        The current of a tie flows back through its own device, so it shifts nothing else.
        """
        held = Groups(len(self.firm.parent))
        for node, root in enumerate(self.firm.all()):
            held.join(node, root)
        ties = []
        for _, a, b, _ in laws:
            if held.find(a) != held.find(b):
                held.join(a, b)
                ties.append((a, b))
        return ties

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
        for k, (a, b) in enumerate(ties):
            self.lines.append(f"Rt{k} {self.node(a)} {self.node(b)} {TIE!r}")
        for k, (a, b, amps) in enumerate(v.feeds):
            self.lines.append(f"If{k} {self.node(a)} {self.node(b)} {amps!r}")
        for tag, a, b, law in laws:
            law(self, tag, a, b)
            self.pairs.append((tag, a, b))
        used = {k for _, a, b, _ in edges for k in (a, b)} | {k for _, a, b, _ in laws for k in (a, b)}
        hints = [f"v(n{k})={volts!r}" for k, volts in v.hints.items() if k in used - self.ground]
        if hints:
            self.lines.append((".ic " if self.in_time else ".nodeset ") + " ".join(hints))
        if self.in_time:
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
        volts, ohms, most = net.vehicle.number(f"{kind}.voltage", k), net.vehicle.number(f"{kind}.resistance", k), limit(net, k)
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


def _load_runs(vehicle: Vehicle, k: int) -> bool:
    part = vehicle.part(vehicle.wiring.devices["power_load"][k].part)
    return not vehicle.state.isolated and (vehicle.state.loads or bool(getattr(part, "always_on", False)))


def _power_load(net: Netlist, k: int) -> Law | None:
    watts, cut = net.vehicle.number("power_load.power", k), net.vehicle.number("power_load.cut", k)
    if not net.loads or k in net.doing.tripped or not _load_runs(net.vehicle, k) or watts == 0:
        return None
    return _current(lambda v: f"{watts!r}/max({v},{cut!r})")


def _panel(net: Netlist, k: int) -> Law | None:
    """The diode sits behind the series resistance, at a node of its own."""
    n = net.vehicle.number
    photo, saturation, scale, series, sign = (n(f"panel.{x}", k) for x in ("photo", "saturation", "scale", "series", "sign"))
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
    """Return the running ports of a charger, each against its negative; {out}, {inp}, {sol} stand for their voltages.
    """
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


def solve_with(jobs: Sequence[tuple[Vehicle, Doing]], loads: bool = True) -> list[Solved]:
    """Solve vehicles with their modes given; raises AssertionError where ngspice finds nothing."""
    nets = [Netlist(vehicle, doing, loads) for vehicle, doing in jobs]
    found = run_netlists([net.write() for net in nets])
    left = [k for k, numbers in enumerate(found) if numbers is None]
    if left:  # Newton's method alone went astray: let time run until it stands still, and begin there
        slow = [Netlist(*jobs[k], loads, in_time=True) for k in left]
        ends = settle_netlists([net.write() for net in slow])
        for k, end in zip(left, ends, strict=True):
            near = {n: end[f"n{n}"] for n in range(len(jobs[k][0].wiring.nodes)) if f"n{n}" in end}
            nets[k] = Netlist(replace(jobs[k][0], hints=near), jobs[k][1], loads)
        for k, numbers in zip(left, run_netlists([nets[k].write() for k in left]), strict=True):
            found[k] = numbers
    failed = [k for k, numbers in enumerate(found) if numbers is None]
    assert not failed, f"ngspice finds no solution for {len(failed)} netlists, one of them\n" + "\n".join(nets[failed[0]].lines)
    return [_read(net, numbers or {}) for net, numbers in zip(nets, found, strict=True)]


def _read(net: Netlist, numbers: dict[str, float]) -> Solved:
    """Sort what ngspice printed, and find which nodes hang together by something that conducts."""
    count = len(net.vehicle.wiring.nodes)
    volts = tuple(0.0 if k in net.ground else numbers[f"n{k}"] for k in range(count))
    amps = {name[1:-7]: value for name, value in numbers.items() if name.startswith("v") and name.endswith("#branch")}
    for k, a, b, ohms in net.vehicle.edges(net.doing):
        amps.setdefault(f"e{k}", (volts[a] - volts[b]) / ohms)
    for tag, a, b in net.pairs:
        if abs(amps[tag]) > 1e-9:
            net.firm.join(a, b)
    return Solved(volts, net.firm.all(), amps)


def answer_all(vehicles: Sequence[Vehicle]) -> list[Answer]:
    """Find what every vehicle does, starting from rest; all vehicles take each step together."""
    doing = [Doing((Charging(),) * len(v.wiring.chargers)) for v in vehicles]
    at = solve_with(list(zip(vehicles, doing, strict=True)), loads=False)
    vehicles = [_hinted(v, s) for v, s in zip(vehicles, at, strict=True)]
    moving = [k for k, v in enumerate(vehicles) if any(_load_runs(v, j) for j in range(len(v.wiring.devices["power_load"])))]
    _solve_some(vehicles, doing, at, moving)
    moving = list(range(len(vehicles)))
    for _ in range(40):
        after = {k: _decide(vehicles[k], doing[k], at[k]) for k in moving}
        moving = [k for k in moving if after[k] != doing[k]]
        if not moving:
            break
        for k in moving:
            doing[k] = after[k]
        _solve_some(vehicles, doing, at, moving)
    assert not moving, "the oracle does not come to rest"
    high = list(at)
    swings = [k for k, d in enumerate(doing) if d.chatter or any(c.hunts for c in d.chargers)]
    idle = [replace(d, closed=d.closed - d.chatter, chargers=tuple(replace(c, hunts=False) for c in d.chargers)) for d in doing]
    _solve_some(vehicles, idle, high, swings)
    return [Answer(d, h, low) for d, h, low in zip(doing, high, at, strict=True)]


def _hinted(vehicle: Vehicle, solved: Solved) -> Vehicle:
    return replace(vehicle, hints=dict(enumerate(solved.volts)))


def _solve_some(vehicles: list[Vehicle], doing: Sequence[Doing], at: list[Solved], which: Sequence[int]) -> None:
    """Solve some of the vehicles again, each starting from where it stands."""
    jobs = [(_hinted(vehicles[k], at[k]), doing[k]) for k in which]
    for k, solved in zip(which, solve_with(jobs) if jobs else [], strict=True):
        at[k] = solved


def _decide(vehicle: Vehicle, doing: Doing, solved: Solved) -> Doing:
    """Return what happens next: the first kind of change that happens at all."""
    for step in (_start, _hunt, _back_off, _cut_out):
        after = step(vehicle, doing, solved)
        if after != doing:
            return after
    return doing


def _port(vehicle: Vehicle, solved: Solved, k: int, port: str) -> float:
    c = vehicle.wiring.chargers[k]
    return solved.volts[getattr(c, port)] - solved.volts[c.negative]


def _live(vehicle: Vehicle, solved: Solved, k: int) -> str:
    live = _port(vehicle, solved, k, "ignition") > vehicle.number("charger.ignition_live", k)
    return "_ignition" if live else ""


def _start(vehicle: Vehicle, doing: Doing, solved: Solved) -> Doing:
    n, chargers = vehicle.number, list(doing.chargers)
    for k, c in enumerate(doing.chargers):
        if c.on or c.hunts or c.sun or n("charger.works", k) <= 0 or n("charger.case", k) >= n("charger.shuts_down_at", k):
            continue
        if _port(vehicle, solved, k, "output") < n("charger.needs", k) - 1e-9:
            continue
        on = _port(vehicle, solved, k, "input") > n(f"charger.start{_live(vehicle, solved, k)}", k)
        panel = _port(vehicle, solved, k, "solar")
        bright = n("charger.solar_from", k) < panel < n("charger.solar_limit", k)
        sun = bright and (n("charger.shares", k) > 0 or not on)
        chargers[k] = replace(c, on=on, sun=sun, panel_open=panel if sun else 0.0)
    closing = {r for r, coil in enumerate(vehicle.wiring.relays) if _coil(coil, solved) > n("relay.closes", r)}
    return replace(doing, chargers=tuple(chargers), closed=doing.closed | closing)


def _coil(relay: object, solved: Solved) -> float:
    return solved.volts[relay.pos] - solved.volts[relay.neg]  # type: ignore[attr-defined]


def _hunt(vehicle: Vehicle, doing: Doing, solved: Solved) -> Doing:
    chargers = list(doing.chargers)
    for k, c in enumerate(doing.chargers):
        stop = vehicle.number(f"charger.stop{_live(vehicle, solved, k)}", k)
        if c.on and _port(vehicle, solved, k, "input") < stop:
            chargers[k] = replace(c, on=False, hunts=True, stop=stop)
    falling = {r for r in doing.closed if _coil(vehicle.wiring.relays[r], solved) < vehicle.number("relay.opens", r)}
    return replace(doing, chargers=tuple(chargers), chatter=doing.chatter | falling)


def _back_off(vehicle: Vehicle, doing: Doing, solved: Solved) -> Doing:
    chargers = list(doing.chargers)
    for k, c in enumerate(doing.chargers):
        if c.sun and not c.backed and not c.hunts:
            given = _port(vehicle, solved, k, "solar") * solved.amps.get(f"solar{k}", 0.0)
            amps = -solved.amps.get(f"output{k}", 0.0)
            need = _port(vehicle, solved, k, "output") * amps / vehicle.number("charger.efficiency", k)
            if given > need + vehicle.number("charger.standing", k) + 1e-6:
                chargers[k] = replace(c, backed=True)
    return replace(doing, chargers=tuple(chargers))


def _cut_out(vehicle: Vehicle, doing: Doing, solved: Solved) -> Doing:
    tripped = set(doing.tripped)
    for k, load in enumerate(vehicle.wiring.devices["power_load"]):
        volts = solved.volts[load.pos] - solved.volts[load.neg]
        if _load_runs(vehicle, k) and volts < vehicle.number("power_load.cut", k):
            tripped.add(k)
    return replace(doing, tripped=frozenset(tripped))
