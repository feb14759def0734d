"""Draws up the build sheet of an installation from its description, its design check and the cautions of the rule base.

The order of work is that of common practice: what is dead first, batteries last, their negatives last of all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from diagnose.basics.quantities import format_span
from diagnose.design_check.carrying import gauge_words
from diagnose.design_check.design import Design
from diagnose.model.build_sheet import BuildSheet, CableRow, FuseRow, PartRow, TorqueRow
from diagnose.model.checks import CheckLine
from diagnose.model.rules import Caution

__all__ = ["build_sheet"]

#: cautions that belong to fitting, whatever is fitted; those of what is fitted are added
FITTING = (
    "rules_first", "hold_vehicle", "isolate_first", "negative_first", "codes_and_locks", "eyes_and_rings", "no_sparks",
    "battery_lifting", "crimp_heat", "airbag_wiring", "orange_cables",
)  # fmt: skip
ORDER = (
    "Read every maker's instructions. Where they differ from this sheet, they hold.",
    "Switch off and isolate: engine, loads, mains, panels covered; negative leads off first at every battery.",
    "Fix charger, batteries, fuse holders and bars in place; look on both sides before drilling.",
    "Bare the metal at each earth to a bright ring, bolt it, then seal it from outside.",
    "Run the cables with a sleeve or a grommet at every edge, clamped, clear of heat and moving parts; cut them last.",
    "Crimp, shrink and label each lug; fuse holders stay empty.",
    "HOLD 1. Then join the negatives, the charger's own negative among them.",
    "Join the positives from the charger outward; the signal leads (ignition, profile) last.",
    "HOLD 2. Then set the charger's profile, and join the batteries: positive first, negative last.",
    "HOLD 3. Then put in the fuses: house side first, start side last; the panel after the battery.",
    "HOLD 4. Commission under load, and write the readings down.",
)
HOLDS = (
    "HOLD 1, no negative joined yet: tug every lug by hand. None may turn or slide.",
    "HOLD 2, batteries off: from each fuse's load side to the body no short, and each end of each cable where the list "
    "says. A beep proves the right wire, not a good joint.",
    "HOLD 3, fuses out: at each post the voltage and the polarity, before the first fuse goes in.",
    "HOLD 4, at full current: the volts lost along each leg against the design check, joints hand-warm at most after "
    "half an hour, torque again.",
)
CONSUMABLES = (
    "lugs and glue-lined shrink sleeve for every end, two sizes of spare", "grommets, conduit or braid, clamps each "
    "0.45 m (0.3 m between battery and isolator)", "star washers, petroleum jelly or contact sealant, paint for bared "
    "metal", "labels for both ends of each cable and for each fuse", "covers for every positive stud",
    "one spare fuse of each rating",
)  # fmt: skip


def build_sheet(design: Design, lines: Sequence[CheckLine], cautions: Mapping[str, Caution]) -> BuildSheet:
    """Return the build sheet.

    Parameters: `design`; `lines`, what the design check says of it; `cautions` of the rule base by id.
    """
    cables = tuple(_cable(design, n, p) for n, p in design.parts("cable").items())
    return BuildSheet(
        title=design.installation.title,
        cautions=_cautions(design, cautions),
        unfinished=tuple(f"{line.subject}: {line.says}" for line in lines if line.verdict == "FAIL"),
        parts=tuple(_part(design, n, p) for n, p in design.installation.parts.items() if p.kind in WHAT),
        cables=cables,
        totals=_totals(design),
        lugs=_lugs(design),
        fuses=tuple(_fuse(design, n, p) for n, p in design.parts("fuse").items()),
        torques=_torques(design),
        torque_note="Torque = the maker's figure, or the table's where there is none, plus the drag measured while a "
        "stiff nut runs on. Stiff nuts can eat the whole torque of a brass stud: measure the drag of each.",
        order=ORDER,
        hold_points=HOLDS,
        consumables=CONSUMABLES,
    )


def _cautions(design: Design, cautions: Mapping[str, Caution]) -> tuple[str, ...]:
    wanted = list(FITTING)
    if design.parts("panel"):
        wanted.append("panel_live")
    if any(part.chemistry == "lfp" for part in design.parts("battery").values()):
        wanted += ["lithium_cold", "lithium_alarm"]
    if design.parts("supply"):
        wanted.append("mains_closed")
    return tuple(cautions[name].says for name in wanted if name in cautions)


def _name(design: Design, point: str) -> str:
    known = design.installation.points.get(point)
    return known.name if known is not None and known.name else point.replace("_", " ")


def _words(span: Any, dimension: str) -> str:
    return format_span(span, dimension, 3)


WHAT: dict[str, Callable[[Any], str]] = {
    "battery": lambda p: f"{p.chemistry}, {_words(p.capacity, 'capacity')}" + (
        f", charge to {_words(p.max_charge, 'voltage')} at most" if p.max_charge else ""),
    "charger": lambda p: f"{_words(p.rating, 'current')}, profile {p.profile}",
    "supply": lambda p: f"{_words(p.voltage, 'voltage')}, {_words(p.rating, 'current')}",
    "panel": lambda p: f"{_words(p.power, 'power')}, {_words(p.open_circuit, 'voltage')} open",
    "relay": lambda p: f"closes above {_words(p.closes_above, 'voltage')}" if p.closes_above else "as described",
    "switch": lambda p: "rated above its fuse",
    "contact": lambda p: "one pole of the plug and socket, rated above its fuse",
    "bond": lambda p: "braided strap or bare-metal joint, measured",
    "shunt": lambda p: "rated above its fuse",
    "diode": lambda p: "rated above the current it carries, on a heat sink",
}  # fmt: skip


def _part(design: Design, name: str, part: Any) -> PartRow:
    return PartRow(name, part.kind, WHAT[part.kind](part), design.zone_name(design.zone(name)))


def _cable(design: Design, name: str, cable: Any) -> CableRow:
    runs = design.zone_name(cable.routed) if cable.routed else ""
    insulation = f", {_words(cable.insulation, 'temperature')}" if cable.insulation else ""
    ends = (_name(design, cable.ends[0]), _name(design, cable.ends[1]))
    return CableRow(name, gauge_words(design, cable.area.low) + insulation, _words(cable.length, "length"), ends, runs)


def _totals(design: Design) -> tuple[str, ...]:
    """Return the metres to buy of each size, a tenth more than is cut."""
    metres: Counter[float] = Counter()
    for cable in design.parts("cable").values():
        metres[cable.area.low] += cable.length.high
    return tuple(f"{gauge_words(design, area)}: {1.1 * metres[area]:.1f} m" for area in sorted(metres, reverse=True))


def _lugs(design: Design) -> tuple[str, ...]:
    """Return how many lugs of each size are crimped, two to a cable."""
    count = Counter(cable.area.low for cable in design.parts("cable").values())
    return tuple(f"{gauge_words(design, area)}: {2 * count[area]}" for area in sorted(count, reverse=True))


def _fuse(design: Design, name: str, fuse: Any) -> FuseRow:
    breaks = f"{fuse.breaks.low / 1000.0:g} kA" if fuse.breaks else "see the design check"
    return FuseRow(name, _words(fuse.rating, "current"), fuse.style, breaks, f"at {_name(design, fuse.ends[0])}")


def _torques(design: Design) -> tuple[TorqueRow, ...]:
    sizes, brass = design.tables.curve("torque", "brass_stud")
    drags = design.tables.values("torque", "locking_nut_drag_high")
    rows = zip(sizes, brass, drags, strict=True)
    return tuple(TorqueRow(f"M{size:.0f}", f"{torque:g} N.m", f"{drag:g} N.m") for size, torque, drag in rows)
