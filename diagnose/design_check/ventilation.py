"""Ventilation: fresh air for a battery that gives gas, by the formula of IEC 62485-2.

The rule goes from a design to its lines. Local rules come first.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.basics.ventilation import vent_opening, ventilation_flow
from diagnose.design_check.design import Design
from diagnose.model.checks import CheckLine, Verdict

__all__ = ["battery_gets_air"]

CELLS = 6
VENTED = ("flooded", "calcium")


def battery_gets_air(design: Design) -> Iterator[CheckLine]:
    """A battery that gives gas stands in the open or in a space with openings enough."""
    rule = "battery_gets_air"
    engine = _engine_zones(design)
    for name, battery in design.parts("battery").items():
        zone = design.zone(name)
        known = design.installation.zones.get(zone) if zone else None
        enclosed = known.enclosed if known is not None else None
        vented = battery.chemistry in VENTED
        if battery.chemistry == "lfp" or zone in engine or (not vented and not enclosed):
            continue
        gas = design.limit(rule, "vented" if vented else "sealed")
        flow = ventilation_flow(CELLS, gas, battery.capacity.high)
        needed = 100.0 * vent_opening(flow)
        there = known.opening.low if known is not None and known.opening is not None else None
        verdict, says = _judged(design, zone, enclosed, there, needed, vented)
        says += f"; {battery.capacity.high:g} Ah asks for {flow:.2f} m3/h, "
        says += f"that is {needed:.0f} mm2 in and as much out"
        yield design.line(rule, verdict, name, there, needed, "mm2", says, cites="vented" if vented else "sealed")


def _judged(
    design: Design, zone: str | None, enclosed: bool | None, there: float | None, needed: float, vented: bool
) -> tuple[Verdict, str]:
    where = design.zone_name(zone)
    if enclosed is False:
        return "PASS", f"{where} is open"
    if there is not None:
        return ("PASS" if there >= needed else "FAIL" if vented else "LOOK"), f"{where} has openings of {there:.0f} mm2"
    if enclosed:
        return ("FAIL" if vented else "LOOK"), f"{where} is enclosed and no opening is described"
    return "LOOK", f"find out whether {where} is enclosed (zone key `enclosed`), and its openings (`opening`)"


def _engine_zones(design: Design) -> frozenset[str | None]:
    """Return the zones of the engine, which are open to the road or ventilated for it."""
    engine: Any = design.parts("alternator", "starter")
    return frozenset(design.zone(name) for name in engine)
