"""What is not known of each device, drawn: batteries, sources, loads, panels, relays, chargers.

Each function gives the numbers of one part by the names of `circuit.parameters` without their kind; the ranges are
those of `rules/tables`, narrowed by what the description says.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from diagnose.basics.quantities import Span
from diagnose.circuit.elimination import Array
from diagnose.circuit.graph import Edge
from diagnose.circuit.panels import panel_numbers
from diagnose.circuit.profiles import profile_in_force
from diagnose.model.figures import Tables
from diagnose.prediction.streams import Streams

__all__ = ["DRAWS", "Subject"]


class Subject(NamedTuple):
    """One part to be drawn: its record (any kind), its surroundings [degC], whether it cranks the engine, and the
    edges.
    """

    name: str
    part: Any
    tables: Tables
    streams: Streams
    warmth: Array
    starts: bool
    edges: tuple[Edge, ...]

    def figure(self, table: str, name: str) -> float:
        """Return a figure of the tables."""
        return self.tables.number(table, name)

    def stated(self, key: str, default: float | None = None) -> Array:
        """Return what the description says of a key, over its range, or the default."""
        span = getattr(self.part, key)
        if span is None:
            assert default is not None
            span = Span(default, default)
        return self.streams.span(f"{self.name} {key}", span)

    def about(self, what: str, spread: float) -> Array:
        """Return even errors between -spread and spread."""
        return self.streams.even(f"{self.name} {what} error", -spread, spread)

    def constant(self, value: float) -> Array:
        """Return the same number for every vehicle."""
        return np.full(self.streams.count, value)


def _battery(s: Subject) -> dict[str, Array]:
    role, chemistry = "start" if s.starts else "other", s.part.chemistry
    charge = s.streams.even(
        f"{s.name} charge", s.figure("batteries", f"{role}_charge_low"), s.figure("batteries", f"{role}_charge_high")
    )
    rest = np.interp(charge, *s.tables.curve("batteries", f"rest_voltage_{chemistry}"))
    electronics = s.figure("batteries", "lfp_electronics_resistance") if chemistry == "lfp" else 0.0
    give = s.figure("batteries", f"give_resistance_{chemistry}") / s.part.capacity.mid + electronics
    take = np.interp(charge, *s.tables.curve("batteries", f"take_resistance_{chemistry}")) / s.part.capacity.mid
    return {
        "charge": charge,
        "rest": rest + s.about("rest", s.figure("batteries", "rest_voltage_spread")),
        "give": give * s.streams.factor(f"{s.name} give", s.figure("batteries", "give_spread_factor")),
        "take": take * s.streams.factor(f"{s.name} take", s.figure("batteries", "take_spread_factor")),
        "sign": s.constant(1.0),
        "on": s.constant(1.0),
    }


def _alternator(s: Subject) -> dict[str, Array]:
    """A variable one may be set anywhere in its range, and mostly rests near battery voltage."""
    if s.part.voltage is not None:
        spread = s.figure("alternators", "fixed_spread") if s.part.regulation == "fixed" else 0.0
        voltage = s.stated("voltage") + spread * s.streams.normal(f"{s.name} set")
    else:
        low, high, rest_low, rest_high, share = (
            s.figure("alternators", f"variable_{key}") for key in ("low", "high", "full_low", "full_high", "full_share")
        )
        anywhere = s.streams.even(f"{s.name} anywhere", low, high)
        resting = s.streams.even(f"{s.name} resting", rest_low, rest_high)
        voltage = np.where(s.streams.share(f"{s.name} mood") < share, resting, anywhere)
    return {
        "voltage": voltage,
        "resistance": s.constant(s.figure("alternators", "source_resistance")),
        "limit": s.stated("rating") * s.figure("alternators", "running_share"),
        "idle_limit": s.stated("rating") * s.figure("alternators", "idle_share"),
    }


def _supply(s: Subject) -> dict[str, Array]:
    return {
        "voltage": s.stated("voltage") + s.about("set", s.figure("alternators", "supply_spread")),
        "resistance": s.constant(s.figure("alternators", "source_resistance")),
        "limit": s.stated("rating"),
    }


def _load_factor(s: Subject) -> Array:
    spread = s.figure("loads", "spread")
    return s.streams.even(f"{s.name} load", 1.0 - spread, 1.0 + spread)


def _starter(s: Subject) -> dict[str, Array]:
    return {
        "current": s.stated("current") * _load_factor(s),
        "full_at": s.constant(s.figure("loads", "starter_full_current_above")),
    }


def _diode(s: Subject) -> dict[str, Array]:
    return {
        "drop": s.stated("drop", s.figure("joints", "diode_drop")),
        "resistance": s.constant(s.figure("joints", "diode_resistance")),
    }


def _relay(s: Subject) -> dict[str, Array]:
    spread = s.figure("chargers", "threshold_spread")
    return {
        "closes": s.stated("closes_above", s.figure("loads", "relay_closes_above")) + s.about("closing", spread),
        "opens": s.stated("opens_below", s.figure("loads", "relay_opens_below")) + s.about("opening", spread),
    }


def _power_load(s: Subject) -> dict[str, Array]:
    return {
        "power": s.stated("power") * _load_factor(s),
        "cut": s.stated("cuts_out_below", s.figure("loads", "cuts_out_below")),
    }


def _panel(s: Subject) -> dict[str, Array]:
    """All panels lie under one sun."""
    part, share = s.part, s.figure("panels", "peak_to_short_current")
    numbers = panel_numbers(part.power.mid, part.open_circuit.mid, part.peak_voltage.mid, share)
    cell = s.warmth + s.figure("panels", "cell_above_air")
    return {
        "photo": numbers.photo * s.streams.even("sun", s.figure("panels", "sun_low"), s.figure("panels", "sun_high")),
        "saturation": s.constant(numbers.saturation),
        "scale": numbers.scale * (1.0 + s.figure("panels", "voltage_temperature_coefficient") * (cell - 25.0)),
        "series": s.constant(numbers.series),
        "sign": s.constant(1.0),
    }


def _charger(s: Subject) -> dict[str, Array]:
    def stated(key: str) -> Array:
        return s.stated(key, s.figure("chargers", key))

    def threshold(key: str) -> Array:
        return stated(key) + s.about(key, s.figure("chargers", "threshold_spread"))

    profile = profile_in_force(s.part, s.edges).voltage
    efficiency = s.part.efficiency + s.about("efficiency", s.figure("chargers", "efficiency_spread"))
    case_low, case_high = (s.figure("chargers", f"case_above_zone_{end}") for end in ("low", "high"))
    floor_low, floor_high = (s.figure("chargers", f"derate_floor_{end}") for end in ("low", "high"))
    return {
        "start": threshold("starts_above"),
        "stop": threshold("stops_below"),
        "start_ignition": threshold("starts_above_with_ignition"),
        "stop_ignition": threshold("stops_below_with_ignition"),
        "ignition_live": s.constant(s.figure("chargers", "ignition_live_above")),
        "needs": s.stated("needs_at_output", 0.0),
        "voltage": s.streams.span(f"{s.name} profile", profile)
        + s.about("profile", s.figure("chargers", "profile_spread")),
        "rating": s.stated("rating"),
        "efficiency": np.minimum(efficiency, 0.99),
        "standing": s.constant(s.figure("chargers", "standing_power")),
        "regulation": s.constant(s.figure("chargers", "regulation_resistance")),
        "shares": s.constant(float(s.part.shares_solar)),
        "works": s.constant(1.0),
        "solar_from": s.constant(s.figure("chargers", "solar_starts_above")),
        "solar_limit": stated("solar_limit"),
        "tracking": s.constant(s.figure("chargers", "tracking_share")),
        "case": s.warmth + s.streams.even(f"{s.name} case", case_low, case_high),
        "full_power_to": stated("full_power_to"),
        "shuts_down_at": stated("shuts_down_at"),
        "derate_floor": s.streams.even(f"{s.name} derating", floor_low, floor_high),
    }


DRAWS: dict[str, Callable[[Subject], dict[str, Array]]] = {
    "battery": _battery,
    "alternator": _alternator,
    "supply": _supply,
    "starter": _starter,
    "diode": _diode,
    "relay": _relay,
    "power_load": _power_load,
    "panel": _panel,
    "charger": _charger,
}
