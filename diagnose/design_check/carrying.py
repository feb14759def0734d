"""What a conductor may carry as it lies, and what it loses when hot.

Tables and derating come from the rule base; this file holds no verdicts.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

from diagnose.basics.batteries import interpolated
from diagnose.basics.conductors import cable_resistance
from diagnose.basics.fuses import fuse_resistance
from diagnose.design_check.design import Design

__all__ = ["Ampacity", "ampacity", "gauge_words", "hot_resistance", "least_size", "sized_resistance"]

#: insulation [degC] from which each table of ampacity holds
TABLES = ((105.0, "ampacity_105"), (90.0, "ampacity_90"), (75.0, "ampacity_75"), (70.0, "ampacity_metric_70"))


class Ampacity(NamedTuple):
    """Continuous current [A] of a cable as it lies; `table` [A] in free air, `heat` and `bundle` the factors on it,
    `around` [degC] its surroundings.
    """

    amps: float
    table: float
    heat: float
    bundle: float
    around: float


def ampacity(design: Design, name: str, area: float | None = None) -> Ampacity:
    """Return what a cable may carry as it lies, derated for its surroundings and for bundling.

    Parameters: `name` of the cable; `area` [mm2], another one than its own.
    Returns: the ampacity. Between the sizes of the table it is a straight line, below the smallest proportional to the
    area. The factor for heat is that of an engine space up to 60 degC, else sqrt((Ti - T) / (Ti - 30)).
    Source: 33 CFR 183.425 Table 5, ISO 10133 for 70 degC; ABYC E-11 for the factors.
    """
    cable: Any = design.installation.parts[name]
    conductors = design.tables
    default = conductors.number("conductors", "insulation_default")
    insulation = cable.insulation.low if cable.insulation is not None else default
    table = next((t for least, t in TABLES if insulation >= least), "ampacity_60")
    over, value = conductors.curve("conductors", table)
    size = cable.area.low if area is None else area
    free = interpolated(size, over, value) if size >= over[0] else value[0] * size / over[0]
    around = design.warmth(cable.routed or design.zone(name)).high
    heat = _heat_factor(design, insulation, around)
    bundle = next(
        f for n, f in reversed(list(zip(*conductors.curve("conductors", "bundling_factor"), strict=True)))
        if cable.bundled >= n
    )  # fmt: skip
    return Ampacity(free * heat * bundle, free, heat, bundle, around)


def _heat_factor(design: Design, insulation: float, around: float) -> float:
    """Return the factor on ampacity for warm surroundings, of the insulation [degC] and the surroundings [degC]."""
    ambient = design.tables.number("conductors", "ampacity_ambient")
    if insulation <= ambient:
        return 0.0
    left = math.sqrt(max(insulation - around, 0.0) / (insulation - ambient)) if around > ambient else 1.0
    engine = interpolated(insulation, *design.tables.curve("conductors", "engine_space_factor"))
    return max(left, engine) if around <= 60.0 else left


def hot_resistance(design: Design, name: str) -> float:
    """Return the resistance [ohm] of any conducting part when hot, with its sound joints."""
    part: Any = design.installation.parts[name]
    joints = design.tables
    if part.kind == "cable":
        return sized_resistance(design, name, part.area.low)
    if part.kind == "fuse":
        element = fuse_resistance(joints.number("joints", "fuse_element_drop_at_rating"), part.rating.mid)
        return element + 2.0 * joints.number("joints", "holder_contact_median")
    if part.kind == "shunt":
        return part.resistance.mid if part.resistance else joints.number("joints", "shunt_default_resistance")
    if part.kind == "diode":
        return joints.number("joints", "diode_resistance")
    names = {"bond": "bond_median", "relay": "relay_contact_median"}
    return joints.number("joints", names.get(part.kind, "contact_median"))


def sized_resistance(design: Design, name: str, area: float) -> float:
    """Return the resistance [ohm] of a cable of another area [mm2] when hot, with its two ends.

    Hot is as warm as its surroundings and the most that a loaded cable adds; the conductor is taken at the maximum of
    IEC 60228, class 5, which is some 12 % above resistivity over area.
    """
    cable: Any = design.installation.parts[name]
    number = design.tables.number
    warm = design.warmth(cable.routed or design.zone(name)).mid
    at = warm + number("conductors", "cable_warmer_than_zone_high")
    wire = cable_resistance(area, cable.length.high, at, number("conductors", "copper_resistivity"))
    ends = 2.0 * number("joints", "termination_median")
    return wire * (1.0 + number("conductors", "cable_resistance_high")) + ends


def least_size(design: Design, name: str, amps: float) -> float | None:
    """Return the least area [mm2] that is sold and carries a current [A] where a cable lies, or None."""
    sold = design.tables.values("conductors", "sold_areas")
    return next((area for area in sold if ampacity(design, name, area).amps >= amps), None)


def gauge_words(design: Design, area: float) -> str:
    """Return an area with the nearest gauge number that is not smaller."""
    numbers = ("18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0")
    areas = design.tables.values("conductors", "awg_areas")
    gauge = next((n for n, a in zip(numbers, areas, strict=True) if a >= area * 0.995), None)
    return f"{area:.3g} mm2" + (f" ({gauge} AWG)" if gauge else "")
