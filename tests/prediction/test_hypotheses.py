"""Every fault of the published table at every place where it can sit, and nowhere else."""

from __future__ import annotations

from typing import Any

import networkx as nx
import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.prediction.hypotheses import SOUND, all_hypotheses
from diagnose.store.installations import layout_ids, load_layout
from tests.inference.engines import rule_base

#: parts that carry current from end to end and can break, loosen or come and go as a whole
IN_LINE = ("cable", "switch", "contact", "bond", "relay", "diode", "shunt")
#: fault -> kinds of part that it sits at as a whole
AT_PARTS = {
    "open_circuit": IN_LINE, "high_resistance": IN_LINE, "intermittent": IN_LINE,
    "blown": ("fuse",), "wrong_rating": ("fuse",), "undersized": ("cable",),
    "short_to_negative": ("cable", "switch", "contact"),
    "reversed": ("panel", "battery", "load", "charger"), "wrong_setting": ("charger",),
    "discharged": ("battery",), "high_internal_resistance": ("battery",), "shorted_cell": ("battery",),
    "lost_capacity": ("battery",), "protection_open": ("battery",),
    "no_output": ("charger", "supply", "panel"), "low_output": ("charger", "supply", "panel"),
    "too_hot": ("charger", "supply", "panel"),
    "undercharging": ("alternator",), "overcharging": ("alternator",), "leaking_diode": ("alternator",),
    "excess_load": ("load", "battery"),
}  # fmt: skip
#: faults of a termination of a cable or fuse
AT_ENDS = ("open_circuit", "high_resistance", "intermittent")


def negative_points(installation: Installation) -> set[str]:
    """Return the points that conductors join to a negative pole, found by a search of our own."""
    graph = nx.Graph()
    for part in installation.parts.values():
        if part.kind in (*IN_LINE, "fuse") and part.kind != "diode":
            graph.add_edge(*part.ends)
    poles = {getattr(p, key) for p in installation.parts.values() for key in ("neg", "negative") if hasattr(p, key)}
    return set().union(*(nx.node_connected_component(graph, p) if p in graph else {p} for p in poles))


def sits(fault: str, part: Any, negative: set[str]) -> bool:
    """Return whether a fault of a whole part can sit at this one."""
    if part.kind not in AT_PARTS[fault] or getattr(part, "position", "closed") == "open":
        return False
    if fault == "short_to_negative":
        return not set(part.ends) & negative
    if fault == "protection_open":
        return bool(part.protection)
    if fault == "wrong_setting":
        return part.profile_lead is None and len(part.profiles) > 1
    return not (fault == "reversed" and part.kind == "charger" and part.input is None)


def expected_places(installation: Installation) -> set[tuple[str, str, str | None]]:
    negative = negative_points(installation)
    found: set[tuple[str, str, str | None]] = set()
    for name, part in installation.parts.items():
        found |= {(fault, name, None) for fault in AT_PARTS if sits(fault, part, negative)}
        if part.kind in ("cable", "fuse"):
            found |= {(fault, name, end) for fault in AT_ENDS for end in part.ends}
    return found


@pytest.mark.parametrize("layout", layout_ids())
def test_every_fault_sits_wherever_it_can_and_nowhere_else(layout: str) -> None:
    installation = load_layout(layout)
    hypotheses = all_hypotheses(installation, rule_base()[0])
    assert hypotheses[0] == SOUND
    faults = [h.fault for h in hypotheses[1:] if h.fault is not None]
    found = {tuple(f[:3]) for f in faults if f.fault != "wrong_connection"}
    assert found == expected_places(installation)
    assert len(set(faults)) == len(faults) == len(hypotheses) - 1
    assert all(h.weight > 0 for h in hypotheses[1:])
    assert len({h.label for h in hypotheses}) == len(hypotheses)


def test_every_fault_name_is_met_on_the_layouts_together() -> None:
    rules = rule_base()[0]
    met = {h.fault.fault for name in layout_ids() for h in all_hypotheses(load_layout(name), rules) if h.fault}
    assert met == {*AT_PARTS, "wrong_connection"} == set(rules.faults)


def misplaced(layout: str) -> set[FaultAt]:
    hypotheses = all_hypotheses(load_layout(layout), rule_base()[0])
    return {h.fault for h in hypotheses if h.fault is not None and h.fault.fault == "wrong_connection"}


def test_a_lead_can_be_put_on_another_place_an_installer_has_before_him() -> None:
    """The ends of ignition lead, charger negative and load feeds; never from one polarity to the other."""
    found = misplaced("crew_cab_tray")
    negative = negative_points(load_layout("crew_cab_tray"))
    assert ("ignition_lead", "ignition_out", "house_pos") in {(f.part, f.at, f.to) for f in found}
    assert ("fridge_cable", "fridge_fuse_load", "start_pos") in {(f.part, f.at, f.to) for f in found}
    assert ("charger_earth", "tray", "start_neg") in {(f.part, f.at, f.to) for f in found}
    for fault in found:
        ends = load_layout("crew_cab_tray").parts[fault.part].ends
        assert fault.at in ends
        assert fault.to not in ends
        assert (fault.to in negative) == (fault.at in negative) or fault.part == "ignition_lead"


def test_a_profile_lead_can_be_tied_to_the_place_of_another_profile() -> None:
    for layout in ("canopy", "camper_trailer"):
        installation = load_layout(layout)
        charger: Any = installation.parts["charger"]
        leads = {n for n, p in installation.parts.items() if p.kind == "cable" and charger.profile_lead in p.ends}
        assert leads
        assert {f.part for f in misplaced(layout)} & leads == leads


def test_protection_opens_only_where_it_is_fitted() -> None:
    installation = load_layout("van_lfp_seat")
    bare = installation.parts["house_battery"].model_copy(update={"protection": False})
    without = installation.model_copy(update={"parts": {**installation.parts, "house_battery": bare}})
    opened = [
        {h.fault.part for h in all_hypotheses(i, rule_base()[0]) if h.fault and h.fault.fault == "protection_open"}
        for i in (installation, without)
    ]
    assert opened == [{"house_battery"}, set()]


def test_an_open_switch_has_no_faults() -> None:
    installation = load_layout("crew_cab_tray")
    switch = installation.parts["ignition_switch"].model_copy(update={"position": "open"})
    opened = installation.model_copy(update={"parts": {**installation.parts, "ignition_switch": switch}})
    assert "ignition_switch" in {h.fault.part for h in all_hypotheses(installation, rule_base()[0]) if h.fault}
    assert "ignition_switch" not in {h.fault.part for h in all_hypotheses(opened, rule_base()[0]) if h.fault}


def test_a_name_and_a_place_tell_what_would_be_repaired() -> None:
    rule = rule_base()[0].faults["wrong_connection"]
    one = SOUND._replace(fault=FaultAt(rule.id, "ignition_lead", "ignition_out", "house_pos"), rule=rule)
    assert one.label == "wrong_connection ignition_lead ignition_out house_pos"
    assert one.place == "ignition_lead@ignition_out"
    assert (SOUND.label, SOUND.place) == ("nothing wrong", "")
