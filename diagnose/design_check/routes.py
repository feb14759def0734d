"""The routes that current takes through an installation: from battery to charger, from charger to battery, to loads.

A route is a row of parts with the volts that they lose together; it holds no verdicts.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from diagnose.design_check.carrying import hot_resistance, sized_resistance
from diagnose.design_check.design import Design
from diagnose.design_check.walks import reach

__all__ = ["Leg", "charging_legs", "least_area", "load_legs"]


class Leg(NamedTuple):
    """A row of conductors: a name, its parts, the volts [V] lost hot, and the greatest current [A] in it."""

    name: str
    parts: tuple[str, ...]
    drop: float
    amps: float

    def worst(self, design: Design) -> str:
        """Return the cable of the leg with the greatest resistance, or its first part where it has no cable."""
        cables = [n for n in self.parts if design.installation.parts[n].kind == "cable"]
        return max(cables, key=lambda n: hot_resistance(design, n), default=self.parts[0])


def _leg(design: Design, name: str, begin: str, end: str, currents: Mapping[str, float]) -> Leg | None:
    """Return the leg between two points by the shortest way, or None where there is none."""
    parts = reach(design.net, begin).get(end, ())
    if not parts:
        return None
    drop = sum(currents.get(n, 0.0) * hot_resistance(design, n) for n in parts)
    return Leg(name, parts, drop, max(currents.get(n, 0.0) for n in parts))


def charging_legs(design: Design, charger: Any) -> tuple[Leg, ...]:
    """Return the four legs of a charger at full load: supply, return, output, output return.

    A leg of no conductors (a charger that stands on the post itself) is left out.
    """
    currents = design.conditions.charging
    fed = design.charged_by(charger.input) if charger.input else ()
    charged = design.charged_by(charger.output)
    wanted: list[tuple[str, str, str]] = []
    source: Any = design.installation.parts[fed[0]] if fed else None
    if source is not None and source.neg in reach(design.net, charger.negative):
        wanted += [("supply", source.pos, charger.input), ("return", charger.negative, source.neg)]
    if charged:
        battery: Any = design.installation.parts[charged[0]]
        wanted += [("output", charger.output, battery.pos), ("output return", battery.neg, charger.negative)]
    legs = (_leg(design, *each, currents) for each in wanted)
    return tuple(leg for leg in legs if leg is not None)


def load_legs(design: Design, load: Any) -> tuple[Leg, ...]:
    """Return the two legs between a load and the battery that feeds it, with all loads on; none where it has no way
    home.
    """
    fed = design.charged_by(load.pos)
    if not fed:
        return ()
    battery: Any = design.installation.parts[fed[0]]
    if battery.neg not in reach(design.net, load.neg):
        return ()
    currents = design.conditions.loaded
    legs = (
        _leg(design, "feed", battery.pos, load.pos, currents), _leg(design, "return", load.neg, battery.neg, currents),
    )  # fmt: skip
    return tuple(leg for leg in legs if leg is not None)


def least_area(design: Design, leg: Leg, currents: Mapping[str, float], allowed: float) -> float | None:
    """Return the least area [mm2] sold that keeps a leg within the volts [V] allowed, were all its cables of that
    size or larger; None where no size does.
    """
    parts: Any = design.installation.parts
    for area in design.tables.values("conductors", "sold_areas"):
        lost = 0.0
        for name in leg.parts:
            cable = parts[name].kind == "cable"
            size = max(area, parts[name].area.low) if cable else 0.0
            ohms = sized_resistance(design, name, size) if cable else hot_resistance(design, name)
            lost += currents.get(name, 0.0) * ohms
        if lost <= allowed:
            return area
    return None
