"""The published limit that a reading is held against, where one applies; the model's own band is another matter."""

from __future__ import annotations

from diagnose.circuit.graph import lug
from diagnose.model.expected import Limit
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Cable, Charger, Fuse
from diagnose.model.reading import Take
from diagnose.model.terminals import ends_of

__all__ = ["limit_of"]

RUNNING = ("engine_running", "engine_running_loaded", "engine_and_sun")
JOINT_FIGURES = {
    "switch": "switch",
    "relay": "switch",
    "contact": "high_current_connection",
    "bond": "high_current_connection",
}


def limit_of(take: Take, installation: Installation, tables: Tables) -> Limit | None:
    """Return the published limit of a test, or None."""
    if take.quantity == "volts" and take.when != "isolated":
        return _drop(take, installation, tables) or _level(take, installation, tables)
    if take.quantity == "ripple":
        return _most(tables, "alternators", "ripple_diode_fault")
    if take.quantity == "amps" and take.when == "at_rest":
        part = installation.parts.get(take.where[0])
        if isinstance(part, Battery):
            most = tables.number("limits", "standby_fault")
            return Limit(-most, most, _why(tables, "limits", "standby_fault"))
    if take.quantity == "celsius" and isinstance(installation.parts.get(take.where[0]), Battery):
        return _most(tables, "batteries", "case_hot")
    return None


def _why(tables: Tables, table: str, name: str) -> str:
    figure = tables.figure(table, name)
    return f"{figure.note or name.replace('_', ' ')} ({figure.source.replace('_', ' ')})"


def _most(tables: Tables, table: str, name: str) -> Limit:
    return Limit(None, tables.number(table, name), _why(tables, table, name))


def _drop(take: Take, installation: Installation, tables: Tables) -> Limit | None:
    """Return the limit of a drop along one part or across one joint, either way round."""
    ends = set(take.where)
    for name, part in installation.parts.items():
        figure = None
        if isinstance(part, Cable | Fuse):
            joints = [{end, lug(name, end)} for end in part.ends]
            if ends in joints:
                figure = "high_current_connection"
            elif ends == set(part.ends):
                figure = "high_current_cable" if isinstance(part, Cable) else "high_current_connection"
        elif part.kind in JOINT_FIGURES and ends == set(ends_of(part)):
            figure = JOINT_FIGURES[part.kind]
        if figure is not None:
            most = tables.number("limits", figure)
            return Limit(-most, most, _why(tables, "limits", figure))
    return None


def _level(take: Take, installation: Installation, tables: Tables) -> Limit | None:
    """Return the limit of a voltage at a device: a charger's input or output, or a battery's posts while charging."""
    a, b = take.where
    for part in installation.parts.values():
        if isinstance(part, Charger) and b == part.negative and take.when in RUNNING:
            most = tables.number("limits", "charging_high")
            if a == part.input:
                with_lead = part.ignition is not None
                stop = part.stops_below_with_ignition if with_lead else part.stops_below
                figure = "stops_below_with_ignition" if with_lead else "stops_below"
                low = stop.mid if stop else tables.number("chargers", figure)
                return Limit(low, most, "below its stop voltage the charger switches off")
            if a == part.output:
                return Limit(
                    None,
                    max(p.voltage.high for p in part.profiles) + 0.1,
                    "its highest profile, with 0.1 V for the meter",
                )
        if isinstance(part, Battery) and (a, b) == (part.pos, part.neg) and take.when in RUNNING:
            most = tables.number("batteries", f"never_above_{part.chemistry}")
            return Limit(
                None, part.max_charge.high if part.max_charge else most, "the greatest charge voltage of this battery"
            )
    return None
