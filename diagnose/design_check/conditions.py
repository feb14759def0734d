"""The installation solved in the conditions that the rules ask about: every charger at full load, all loads on, sun.

Full load means that each charger gives its rating into a hungry battery whatever its thresholds are, with a variable
alternator at the lowest voltage at which the charger would still be running. It judges nothing.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from diagnose.circuit.modes import solve_state
from diagnose.circuit.parameters import Parameters, columns
from diagnose.circuit.readout import amps
from diagnose.circuit.topology import start_batteries
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.design_check.walks import Net, reach
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import draw_vehicles

__all__ = ["ChargerAtWork", "Conditions", "solve_conditions", "threshold", "with_live_ignition"]

VEHICLES, SEED, TOLERANCE = 24, 1, 1e-6
#: volts a hungry battery stands under the voltage of its profile, and what is left of them at full current;
#: no published figure: judgement
HUNGRY, LEFT = 0.6, 0.1


class ChargerAtWork(NamedTuple):
    """A charger at full load: volts at its input as low as in one vehicle of ten, in the middle, and its currents [A].
    """

    low: float
    volts: float
    amps: float
    output: float


class Conditions(NamedTuple):
    """Mean current [A] of every part, without sign, by condition, and the chargers at full load.

    `charging` is at full load, `loaded` with all loads on, `sun` in full sun, `mains` on a mains charger.
    """

    charging: dict[str, float]
    loaded: dict[str, float]
    sun: dict[str, float]
    mains: dict[str, float]
    chargers: dict[str, ChargerAtWork]

    def most(self, part: str) -> float:
        """Return the greatest of a part's currents [A]."""
        return max(condition.get(part, 0.0) for condition in self[:4])


def with_live_ignition(installation: Installation, net: Net, charger: Any) -> bool:
    """Return whether a charger's ignition-sense lead leads to a battery, so that it is live with the key on."""
    if charger.ignition is None:
        return False
    reached = reach(net, charger.ignition)
    return any(part.kind == "battery" and part.pos in reached for part in installation.parts.values())


def threshold(installation: Installation, tables: Tables, net: Net, charger: Any, key: str) -> float:
    """Return the `starts_above` or `stops_below` [V] that holds with the engine running."""
    name = f"{key}_with_ignition" if with_live_ignition(installation, net, charger) else key
    stated = getattr(charger, name)
    return float(stated.mid) if stated is not None else tables.number("chargers", name)


def solve_conditions(installation: Installation, tables: Tables, net: Net) -> Conditions:
    """Solve an installation in every condition that it can be in."""
    wiring = build_wiring(installation)
    drawn = draw_vehicles(wiring, tables, Streams(SEED, VEHICLES)).parameters
    full = _full_load(wiring, drawn, tables, net)
    kinds = {part.kind for part in installation.parts.values()}
    charging: dict[str, float] = {}
    at_work: dict[str, ChargerAtWork] = {}
    if "alternator" in kinds:
        charging, at_work = _engine_running(wiring, full)
    willing = drawn | {"power_load.cut": drawn["power_load.cut"] * 0.0 + 6.0}
    loaded = _currents(wiring, willing, "loaded") if "load" in kinds else {}
    still = full | {f"charger.{name}": full["charger.start"] + 100.0 for name in ("start", "start_ignition")}
    sun = _currents(wiring, _bright(still, tables), "sun_only") if "panel" in kinds else {}
    mains = _currents(wiring, still, "mains_on") if "supply" in kinds else {}
    return Conditions(charging, loaded, sun, mains, at_work)


def _currents(wiring: Wiring, parameters: Parameters, state: str) -> dict[str, float]:
    solution = solve_state(wiring, parameters, state, TOLERANCE)
    return {name: float(abs(amps(wiring, solution, name)[1]).mean()) for name in wiring.installation.parts}


def _engine_running(wiring: Wiring, full: Parameters) -> tuple[dict[str, float], dict[str, ChargerAtWork]]:
    """Return currents and chargers with the engine running and every charger at full load."""
    solution = solve_state(wiring, full, "engine_running", TOLERANCE)
    currents = {name: float(abs(amps(wiring, solution, name)[1]).mean()) for name in wiring.installation.parts}
    found = {}
    for ports in wiring.chargers:
        if ports.input == ports.negative:
            continue
        volts = sorted((solution.low_voltage[ports.input] - solution.low_voltage[ports.negative]).tolist())
        middle, output = volts[len(volts) // 2], currents[ports.part]
        row = wiring.device_parts("charger").index(ports.part)
        out = solution.low_voltage[ports.output] - solution.low_voltage[ports.negative]
        given = float((out * output / full["charger.efficiency"][row]).mean() + full["charger.standing"][row].mean())
        found[ports.part] = ChargerAtWork(volts[len(volts) // 10], middle, given / max(middle, 1.0), output)
    return currents, found


def _bright(full: Parameters, tables: Tables) -> Parameters:
    """Return the numbers in full sun."""
    middle = (tables.number("panels", "sun_low") + tables.number("panels", "sun_high")) / 2.0
    return full | {"panel.photo": full["panel.photo"] / middle}


def _full_load(wiring: Wiring, drawn: Parameters, tables: Tables, net: Net) -> Parameters:
    """Return the numbers of the vehicles with cool chargers that do not stop, and with hungry batteries."""
    full = columns(drawn, slice(None))
    installation, starters = wiring.installation, start_batteries(wiring.installation)
    for name in ("start", "stop", "start_ignition", "stop_ignition"):
        full[f"charger.{name}"] = full[f"charger.{name}"] * 0.0 + 4.0
    full["charger.needs"] = full["charger.needs"] * 0.0
    full["charger.case"] = full["charger.full_power_to"] - 20.0
    for row, name in enumerate(wiring.device_parts("battery")):
        if name not in starters:
            rest, take = _hungry(installation, tables, net, name)
            full["battery.rest"][row], full["battery.take"][row] = rest, take
    for row, name in enumerate(wiring.device_parts("alternator")):
        part: Any = installation.parts[name]
        if part.regulation == "variable":
            full["alternator.voltage"][row] = _lowest(installation, tables, net, part)
    return full


def _hungry(installation: Installation, tables: Tables, net: Net, name: str) -> tuple[float, float]:
    """Return rest volts [V] and charging resistance [ohm] of a battery that takes all its charger can give."""
    battery: Any = installation.parts[name]
    reached = reach(net, battery.pos)
    parts = installation.parts.values()
    sources: list[Any] = [p for p in parts if p.kind == "charger" and p.output in reached]
    sources += [p for p in parts if p.kind == "supply" and p.pos in reached]
    if not sources or any(p.kind == "alternator" and p.pos in reached for p in parts):
        at = tables.number("batteries", "other_charge_low")
        rest = _on_curve(tables, f"rest_voltage_{battery.chemistry}", at)
        return rest, _on_curve(tables, f"take_resistance_{battery.chemistry}", at) / battery.capacity.mid
    sharing = sum(1 for p in parts if p.kind == "battery" and p.pos in reached)
    volts = min(_voltage(p) for p in sources)
    current = max(p.rating.mid for p in sources) / sharing
    return volts - HUNGRY, (HUNGRY - LEFT) / current


def _voltage(source: Any) -> float:
    if source.kind == "supply":
        return float(source.voltage.mid)
    return float(min(p.voltage.mid for p in source.profiles))


def _on_curve(tables: Tables, name: str, at: float) -> float:
    from_table = tables.curve("batteries", name)
    return next(v for o, v in reversed(list(zip(*from_table, strict=True))) if o <= at)


def _lowest(installation: Installation, tables: Tables, net: Net, alternator: Any) -> float:
    """Return the lowest voltage [V] of a variable alternator at which every charger still starts."""
    low = alternator.voltage.low if alternator.voltage is not None else tables.number("alternators", "variable_low")
    starts = [
        threshold(installation, tables, net, p, "starts_above") + 0.05
        for p in installation.parts.values()
        if p.kind == "charger" and p.input is not None
    ]
    return float(max([low, *starts]))
