"""A vehicle whose readings ngspice answers: numbers, faults, instruments and laws written a second time.

From the description by code of its own: copper, joints, batteries, charger and meter have figures that are not those of
the tables, and a battery's voltage bends with its current. Only the structure (which node is where) and the netlist are
shared with the circuit tests.
"""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable
from typing import Any

import numpy as np

from diagnose.circuit.parameters import NAMES
from diagnose.circuit.wiring import build_wiring
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Read, Take
from diagnose.model.rules import RuleBase
from tests.circuit.netlist import Netlist
from tests.circuit.ngspice_oracle import Answer, answer_all, solve_with, unloaded
from tests.circuit.operating import Vehicle

__all__ = ["NgspiceVehicle", "bent_battery"]

#: ohm m at 20 degC of annealed copper, and its rise for a degree (handbook values, from memory)
COPPER, RISE = 1.7241e-8, 3.93e-3
#: role of a joint -> median [ohm] and spread (one standard deviation of the logarithm)
JOINTS = {
    "termination": (2.5e-4, 0.5), "holder_contact": (4.5e-4, 0.5), "contact": (7e-4, 0.5), "relay_contact": (8e-4, 0.5),
    "bond": (4.5e-4, 0.5),
}  # fmt: skip
#: chemistry -> rest voltage [V] at 0, 50 and 100 % of charge
REST = {
    "flooded": (11.85, 12.25, 12.70), "calcium": (11.9, 12.35, 12.80), "agm": (11.75, 12.30, 12.85),
    "gel": (11.8, 12.35, 12.85), "lfp": (12.6, 13.15, 13.45),
}  # fmt: skip
JUMP = 0.15


def bent_battery(net: Netlist, k: int) -> Callable[[Netlist, str, int, int], None] | None:
    """A battery whose voltage bends: beside its resistances it gives way by up to 30 mV either way at a few amperes."""
    n = net.vehicle.number
    if net.vehicle.state.isolated or n("battery.on", k) == 0:
        return None
    e, give, take = (n(f"battery.{x}", k) for x in ("rest", "give", "take"))

    def law(net: Netlist, tag: str, a: int, b: int) -> None:
        into = f"i(V{tag})"
        volts = f"{e!r}+max({into},0)*{take!r}+min({into},0)*{give!r}+0.03*tanh({into}/4)"
        net.lines += [f"V{tag} {net.node(a)} x{tag} 0", f"B{tag} x{tag} {net.node(b)} V={volts}"]

    return law


class NgspiceVehicle:
    """Answers tests like a `SimulatedVehicle`."""

    def __init__(
        self, installation: Installation, rules: RuleBase, tables: Tables, fault: FaultAt | None, seed: int
    ) -> None:
        """Draw a vehicle with a fault; nothing is solved yet."""
        self.installation, self.rules, self.tables, self.fault, self.seed = installation, rules, tables, fault, seed
        self._random = np.random.default_rng(seed)
        self.wiring = build_wiring(installation)
        self._house = self._even(25, 85)
        self.numbers = self._numbers()
        if fault is not None:
            self._break(fault)
        self._gain, self._zero = 1.0 + self._random.normal(0, 0.003), self._random.normal(0, 0.15)
        self._leads = self._random.uniform(0.1, 0.3)
        self._solved: dict[str, tuple[Vehicle, Answer]] = {}

    # --- numbers

    def _numbers(self) -> dict[str, np.ndarray]:
        """Return all numbers of the circuit, one column."""
        numbers = {name: np.zeros((len(self._rows(rows)), 1)) for name, (rows, _, _) in NAMES.items()}
        numbers["resistance"] = np.array([[self._edge(e.part, e.role)] for e in self.wiring.edges])
        for kind, makes in (
            ("battery", self._battery), ("alternator", self._alternator), ("supply", self._supply),
            ("starter", self._starter), ("power_load", self._load), ("panel", self._panel),
            ("charger", self._charger), ("relay", lambda _: {"closes": 8.5, "opens": 4.5}),
            ("diode", lambda _: {"drop": 0.5, "resistance": 0.01}),
        ):  # fmt: skip
            for row, name in enumerate(self.wiring.device_parts(kind)):
                for key, value in makes(self.installation.parts[name]).items():
                    numbers[f"{kind}.{key}"][row] = value
        return numbers

    def _rows(self, kind: str) -> tuple[Any, ...]:
        return self.wiring.edges if kind == "edge" else self.wiring.device_parts(kind)

    def _even(self, low: float, high: float) -> float:
        return float(self._random.uniform(low, high))

    def _span(self, span: Any) -> float:
        return self._even(span.low, span.high)

    def _edge(self, name: str, role: str) -> float:
        part: Any = self.installation.parts.get(name)
        if role in JOINTS:
            median, spread = JOINTS[role]
            shut = getattr(part, "position", "closed") == "closed"
            return float(median * math.exp(self._random.normal(0, spread))) if shut else math.inf
        if role == "wire":
            warm = 1.0 + RISE * (self._even(20, 55) - 20.0)
            return COPPER * self._span(part.length) / (self._span(part.area) * 1e-6) * warm * self._even(0.97, 1.10)
        if role == "element":
            return 0.055 * self._even(0.75, 1.25) / part.rating.mid
        if role == "shunt":
            return float(part.resistance.mid) if part.resistance else 5e-4
        if role == "load_resistance":
            return self._span(part.resistance) / self._even(0.88, 1.12)
        return {"coil": 80.0, "standby": 4000.0, "ignition_input": 11e3, "solar_input": 9e3}.get(role, math.inf)

    def _battery(self, part: Any) -> dict[str, float]:
        starts = part.capacity.mid > 0 and part.pos == next(
            (p.pos for p in self.installation.parts.values() if p.kind == "battery"), None
        )
        # batteries side by side have found the same charge
        charge = self._even(70, 98) if starts else self._house + self._even(-4, 4)
        rest = float(np.interp(charge, (0, 50, 100), REST[part.chemistry])) + self._even(-0.04, 0.04)
        give = {"lfp": 0.5, "agm": 0.45}.get(part.chemistry, 0.7) / part.capacity.mid
        take = (2.2 + 9.0 * (charge / 100.0) ** 4) / part.capacity.mid * (0.3 if part.chemistry == "lfp" else 1.0)
        return {"rest": rest, "give": give * self._even(0.8, 1.25), "take": take * self._even(0.7, 1.4), "sign": 1.0,
                "on": 1.0}  # fmt: skip

    def _alternator(self, part: Any) -> dict[str, float]:
        volts = self._span(part.voltage) + self._random.normal(0, 0.12) if part.voltage else self._even(12.4, 14.6)
        amps = self._span(part.rating)
        return {"voltage": volts, "resistance": 0.006, "limit": 0.8 * amps, "idle_limit": 0.35 * amps}

    def _supply(self, part: Any) -> dict[str, float]:
        return {"voltage": self._span(part.voltage), "resistance": 0.006, "limit": self._span(part.rating)}

    def _starter(self, part: Any) -> dict[str, float]:
        return {"current": self._span(part.current) * self._even(0.9, 1.1), "full_at": 7.0}

    def _load(self, part: Any) -> dict[str, float]:
        cut = part.cuts_out_below.mid if part.cuts_out_below else 9.0
        return {"power": self._span(part.power) * self._even(0.88, 1.12), "cut": cut}

    def _panel(self, part: Any) -> dict[str, float]:
        top, peak, power = part.open_circuit.mid, part.peak_voltage.mid, part.power.mid
        amps, scale = power / peak * 1.06 * self._even(0.65, 0.98), top / 16.5
        return {"photo": amps, "saturation": amps / math.expm1(top / scale), "scale": scale, "series": 0.2, "sign": 1.0}

    def _charger(self, part: Any) -> dict[str, float]:
        wanted = next(p for p in part.profiles if p.name == part.profile)
        stated = {
            "start": (part.starts_above, 12.9), "stop": (part.stops_below, 12.4),
            "start_ignition": (part.starts_above_with_ignition, 12.2),
            "stop_ignition": (part.stops_below_with_ignition, 11.7),
            "needs": (part.needs_at_output, 0.0), "full_power_to": (part.full_power_to, 50.0),
            "shuts_down_at": (part.shuts_down_at, 72.0), "solar_limit": (part.solar_limit, 28.0),
        }  # fmt: skip
        found = {key: span.mid if span is not None else default for key, (span, default) in stated.items()}
        shift = self._even(-0.04, 0.04)
        for key in ("start", "stop", "start_ignition", "stop_ignition"):
            found[key] += shift
        efficiency = 0.9 if part.efficiency is None else float(getattr(part.efficiency, "mid", part.efficiency))
        return found | {
            "ignition_live": 7.0, "voltage": wanted.voltage.mid + self._even(-0.04, 0.04), "rating": part.rating.mid,
            "efficiency": efficiency + self._even(-0.02, 0.02), "standing": 1.2, "regulation": 0.008,
            "shares": float(part.shares_solar), "works": 1.0, "solar_from": 15.0, "tracking": 0.8,
            "case": self._even(32, 48), "derate_floor": 0.5,
        }  # fmt: skip

    def _break(self, fault: FaultAt) -> None:
        """Put a fault in, by laws of its own."""
        n, size = self.numbers, fault.size or 0.0
        part = self.installation.parts[fault.part]
        rows = {kind: self.wiring.device_parts(kind) for kind in ("battery", "charger", "alternator", "panel")}
        bodies = ("wire", "element", "contact", "bond", "shunt", "relay_contact")
        edges = [k for k, e in enumerate(self.wiring.edges) if e.part == fault.part
                 and (e.at == fault.at if fault.at else e.role in bodies)]  # fmt: skip
        if fault.fault in ("open_circuit", "blown"):
            n["resistance"][edges[0]] = math.inf
        elif fault.fault == "high_resistance":
            n["resistance"][edges[0]] += size
        elif fault.fault == "discharged":
            n["battery.rest"][rows["battery"].index(fault.part)] = size
        elif fault.fault == "high_internal_resistance":
            n["battery.give"][rows["battery"].index(fault.part)] += size
            n["battery.take"][rows["battery"].index(fault.part)] += 1.5 * size
        elif fault.fault == "no_output" and part.kind == "charger":
            n["charger.works"][rows["charger"].index(fault.part)] = 0.0
        elif fault.fault == "excess_load":
            role = "drain" if part.kind == "battery" else "excess"
            n["resistance"][self.wiring.edge_index[(fault.part, role, None)]] = 12.3 / size
        else:
            raise KeyError(fault.fault)

    # --- instruments

    def answer(self, take: Take) -> Read:
        """Return what a person would read.

        Raises: RuntimeError where ngspice finds nothing, or for an instrument that is not written here.
        """
        chance = np.random.default_rng([self.seed, zlib.crc32(repr(take).encode())])
        if take.quantity in ("look", "tug", "wiggle"):
            return self._seen(take, chance)
        vehicle, answer = self._state(take.when)
        high, low = (s for s in (answer.high, answer.low))
        if take.quantity == "lamp":
            return self._lamp(take, answer)
        if take.quantity == "works":
            return self._works(take, answer)
        if take.quantity == "ohms":
            return self._ohms(take, vehicle, answer, chance)
        if take.quantity == "amps":
            return self._shown(self._amps(take.where[0], high.amps) + self._zero,
                               self._amps(take.where[0], low.amps) + self._zero, 0.02, chance)  # fmt: skip
        if take.quantity == "volts":
            ends = [self._gain * self._volts(take, vehicle, answer, which) for which in (True, False)]
            step = 1e-4 if abs(ends[0]) < 0.6 else 1e-3 if abs(ends[0]) < 6.0 else 1e-2
            return self._shown(*ends, step, chance)
        if take.quantity == "ripple":
            return Read("number", "0.03", 0.03)
        raise RuntimeError(f"no {take.quantity} here")

    def _state(self, state: str) -> tuple[Vehicle, Answer]:
        if state not in self._solved:
            vehicle = Vehicle.of(self.wiring, self.numbers, state)
            answer = answer_all([vehicle])[0]
            if answer is None:
                raise RuntimeError(f"ngspice finds nothing in {state}")
            self._solved[state] = (vehicle, answer)
        return self._solved[state]

    def _shown(self, high: float, low: float, step: float, chance: np.random.Generator) -> Read:
        jump = abs(high - low)
        if jump > 1e-6 and chance.random() < jump**2 / (jump**2 + JUMP**2):
            low, high = sorted((low, high))
            return Read("unsteady", f"unsteady {low:.2f} to {high:.2f}", low, high)
        value = round((high + chance.random() * (low - high)) / step + chance.integers(-2, 3)) * step
        return Read("number", f"{value:.4g}", float(f"{value:.6g}"))

    def _volts(self, take: Take, vehicle: Vehicle, answer: Answer, high: bool) -> float:
        solved = answer.high if high else answer.low
        a, b = (self.wiring.index[p] for p in take.where)
        if solved.group[a] == solved.group[b] and not solved.idle:
            return solved.volts[a] - solved.volts[b]
        metered = Vehicle(self.wiring, vehicle.numbers, vehicle.state, meters=((a, b, 1e7),),
                          hints=dict(enumerate(solved.volts)))  # fmt: skip
        found = solve_with([(metered, unloaded(answer.doing) if high else answer.doing)])[0]
        if found is None:
            raise RuntimeError("ngspice finds nothing with the meter in circuit")
        return found.volts[a] - found.volts[b]

    def _amps(self, part: str, amps: dict[str, float]) -> float:
        """Positive as the readings form says: batteries taking charge, sources giving, loads drawing."""
        for kind, tag, sign in (("battery", "battery", 1), ("alternator", "alternator", -1), ("supply", "supply", -1),
                                ("panel", "panel", -1), ("charger", "output", -1), ("starter", "starter", 1),
                                ("power_load", "power_load", 1)):  # fmt: skip
            names = self.wiring.device_parts(kind)
            if part in names:
                return sign * amps.get(f"{tag}{names.index(part)}", 0.0) + self._beside(part, amps)
        for k, edge in enumerate(self.wiring.edges):
            if edge.part == part and edge.role in ("wire", "element", "contact", "bond", "shunt", "relay_contact"):
                return amps.get(f"e{k}", 0.0)
        return self._beside(part, amps)

    def _beside(self, part: str, amps: dict[str, float]) -> float:
        return sum(amps.get(f"e{k}", 0.0) for k, e in enumerate(self.wiring.edges)
                   if e.part == part and e.role in ("load_resistance", "excess"))  # fmt: skip

    def _ohms(self, take: Take, vehicle: Vehicle, answer: Answer, chance: np.random.Generator) -> Read:
        a, b = (self.wiring.index[p] for p in take.where)
        if answer.high.group[a] != answer.high.group[b]:
            return Read("over_range", "OL")
        fed = Vehicle(self.wiring, vehicle.numbers, vehicle.state, feeds=((b, a, 1e-3),))
        found = solve_with([(fed, answer.doing)])[0]
        if found is None:
            raise RuntimeError("ngspice finds nothing with the ohmmeter in circuit")
        value = (found.volts[a] - found.volts[b]) / 1e-3 + self._leads + 0.1 * float(chance.integers(-1, 2)) * 0.5
        return Read("number", f"{max(value, 0.0):.1f} ohm", round(max(value, 0.0), 1))

    def _lamp(self, take: Take, answer: Answer) -> Read:
        names = self.wiring.device_parts("charger")
        part = take.where[0].partition(".")[0]
        does = answer.doing.chargers[names.index(part) if part in names else 0]
        word = "cycling" if does.hunts else "on" if does.on or does.sun else "off"
        return Read("word", word, word=word)

    def _works(self, take: Take, answer: Answer) -> Read:
        part: Any = self.installation.parts[take.where[0]]
        volts = answer.low.volts[self.wiring.index[part.pos]] - answer.low.volts[self.wiring.index[part.neg]]
        loads = self.wiring.device_parts("power_load")
        if take.where[0] in loads:
            runs = loads.index(take.where[0]) not in answer.doing.tripped
            word = "yes" if runs and volts > (part.cuts_out_below.mid if part.cuts_out_below else 9.0) else "no"
        else:
            word = "yes" if volts > 11.0 else "weak" if volts > 6.0 else "no"
        return Read("word", word, word=word)

    def _seen(self, take: Take, chance: np.random.Generator) -> Read:
        """What the rule of the fault says is seen at its place; elsewhere nothing, but now and then some corrosion."""
        sound = {"look": "good", "tug": "good", "wiggle": "steady"}[take.quantity]
        part, _, at = take.where[0].partition("@")
        odd = {"look": "corroded", "tug": "loose", "wiggle": "changes"}[take.quantity]
        words = {odd: 0.03}
        if self.fault is not None and (part, at or None) == (self.fault.part, self.fault.at):
            sights = self.rules.faults[self.fault.fault].sights
            words |= {s.word: s.chance for s in sights if s.quantity == take.quantity}
        draw = chance.random()
        for word, share in words.items():
            draw -= share
            if draw < 0:
                return Read("word", word, word=word)
        return Read("word", sound, word=sound)

