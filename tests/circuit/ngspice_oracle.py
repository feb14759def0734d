"""What a vehicle does in an operating state, found a second time: own laws, own decisions, ngspice's numbers.

Everything starts at rest. After each settled solve it is decided what happens next, one kind of thing at a time:
relays close and chargers start; chargers hunt and relays chatter; a charger backs off from its panel; a load cuts out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from tests.circuit.netlist import Netlist
from tests.circuit.ngspice_batch import run_netlists, settle_netlists
from tests.circuit.operating import Charging, Doing, Vehicle, load_runs

__all__ = ["Answer", "Solved", "answer_all", "solve_with", "unloaded"]


class Solved(NamedTuple):
    """Volts by node number, the group of nodes each belongs to, amperes by tag, an edge's under its number.

    `tied`: a group of nodes hangs on a diode alone; `idle`: one hangs on a source alone, which then feeds nothing.
    """

    volts: tuple[float, ...]
    group: tuple[int, ...]
    amps: dict[str, float]
    tied: bool
    idle: bool


class Answer(NamedTuple):
    """What was found: the modes, the unloaded condition, the one at the stop threshold."""

    doing: Doing
    high: Solved
    low: Solved


def solve_with(jobs: Sequence[tuple[Vehicle, Doing]], loads: bool = True) -> list[Solved | None]:
    """Solve vehicles with their modes given; None where ngspice finds nothing."""
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
    return [None if numbers is None else _read(net, numbers) for net, numbers in zip(nets, found, strict=True)]


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
    return Solved(volts, net.firm.all(), amps, net.tied, net.idle)


def answer_all(vehicles: Sequence[Vehicle]) -> list[Answer | None]:
    """Find what every vehicle does, starting from rest; all take each step together; None where ngspice finds nothing.
    """
    doing = [Doing((Charging(),) * len(v.wiring.chargers)) for v in vehicles]
    at = solve_with(list(zip(vehicles, doing, strict=True)), loads=False)
    vehicles = [_hinted(v, s) if s else v for v, s in zip(vehicles, at, strict=True)]
    count = [range(len(v.wiring.devices["power_load"])) for v in vehicles]
    _solve_some(vehicles, doing, at, [k for k, v in enumerate(vehicles) if any(load_runs(v, j) for j in count[k])])
    moving = list(range(len(vehicles)))
    for _ in range(40):
        after = {k: _decide(vehicles[k], doing[k], solved) for k in moving if (solved := at[k]) is not None}
        moving = [k for k, then in after.items() if then != doing[k]]
        if not moving:
            break
        for k in moving:
            doing[k] = after[k]
        _solve_some(vehicles, doing, at, moving)
    assert not moving, "the oracle does not come to rest"
    high = list(at)
    swings = [k for k, d in enumerate(doing) if d.chatter or any(c.hunts for c in d.chargers)]
    _solve_some(vehicles, [unloaded(d) for d in doing], high, swings)
    return [Answer(d, h, low) if h and low else None for d, h, low in zip(doing, high, at, strict=True)]


def unloaded(doing: Doing) -> Doing:
    """Return the moment in which what hunts is off and what chatters is open."""
    chargers = tuple(replace(c, hunts=False) for c in doing.chargers)
    return replace(doing, closed=doing.closed - doing.chatter, chargers=chargers)


def _hinted(vehicle: Vehicle, solved: Solved) -> Vehicle:
    return replace(vehicle, hints=dict(enumerate(solved.volts)))


def _solve_some(
    vehicles: list[Vehicle], doing: Sequence[Doing], at: list[Solved | None], which: Sequence[int]
) -> None:
    """Solve some of the vehicles again, each starting from where it stands; one that was lost stays so."""
    jobs = {k: (_hinted(vehicles[k], solved), doing[k]) for k in which if (solved := at[k]) is not None}
    for k, solved in zip(jobs, solve_with(list(jobs.values())) if jobs else [], strict=True):
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
        if c.on or c.hunts or c.sun or n("charger.works", k) <= 0:
            continue
        if n("charger.case", k) >= n("charger.shuts_down_at", k):
            continue
        if 0 < n("charger.needs", k) > _port(vehicle, solved, k, "output") + 1e-9:
            continue
        on = _port(vehicle, solved, k, "input") > n(f"charger.start{_live(vehicle, solved, k)}", k)
        panel = _port(vehicle, solved, k, "solar")
        bright = n("charger.solar_from", k) < panel < n("charger.solar_limit", k)
        sun = bright and (n("charger.shares", k) > 0 or not on)
        stop = n(f"charger.stop{_live(vehicle, solved, k)}", k) if on else 0.0
        chargers[k] = replace(c, on=on, sun=sun, panel_open=panel if sun else 0.0, stop=stop)
    closing = {r for r, coil in enumerate(vehicle.wiring.relays) if _coil(coil, solved) > n("relay.closes", r)}
    return replace(doing, chargers=tuple(chargers), closed=doing.closed | closing)


def _coil(relay: object, solved: Solved) -> float:
    return solved.volts[relay.pos] - solved.volts[relay.neg]  # type: ignore[attr-defined]


def _hunt(vehicle: Vehicle, doing: Doing, solved: Solved) -> Doing:
    chargers = list(doing.chargers)
    for k, c in enumerate(doing.chargers):
        if c.on and _port(vehicle, solved, k, "input") < c.stop:
            chargers[k] = replace(c, on=False, hunts=True)
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
        if load_runs(vehicle, k) and volts < vehicle.number("power_load.cut", k):
            tripped.add(k)
    return replace(doing, tripped=frozenset(tripped))
