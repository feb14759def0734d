"""The layouts of the rule base: complete, buildable by a careful installer, and charging when they are sound.

Sources of the limits: ampacity from 33 CFR 183.425 Table 5, column of 105 degC insulation, and its factor 0.85 for an
engine space from ABYC E-11; resistance of cable from IEC 60228:2004 Table 3, class 5, plain; 3 % of voltage drop from
ISO 10133 and ABYC E-11; bands of charging voltage after IEEE 1361 (from memory). Both tables are written out here so
that a slip in `rules/tables` cannot hide one in a layout.
"""

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import networkx as nx
import pytest

from diagnose.circuit.graph import edges_of, graph_of, key_switches
from diagnose.circuit.modes import solve_state
from diagnose.circuit.wiring import build_wiring
from diagnose.model.installation import Installation
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import draw_vehicles, start_batteries
from diagnose.store.data_folder import cases_folder, rules_folder
from diagnose.store.installations import layout_ids, load_installation, load_layout
from diagnose.store.part_points import points_of
from diagnose.store.readings import load_readings
from diagnose.store.tables import load_tables
from diagnose.store.yaml_text import read_yaml

WANTED = (
    "boat_bus_bar", "camper_trailer", "canopy", "caravan_tow_plug", "crew_cab_tray", "engine_bay_pair",
    "motorhome_variable", "portable_panel", "relay_pair", "solar_only_van", "van_lfp_seat",
)  # fmt: skip
WITH_ENGINE = tuple(layout for layout in WANTED if layout != "solar_only_van")
KINDS = {
    "battery", "alternator", "charger", "cable", "fuse", "switch", "contact", "bond", "relay", "diode", "shunt", "load",
    "starter", "supply", "panel",
}  # fmt: skip
#: 33 CFR 183.425 Table 5, 105 degC column: area of the gauge [mm2] (ASTM B258) -> ampacity [A]
AMPACITY_105 = {
    0.823: 20, 1.309: 25, 2.081: 35, 3.309: 45, 5.261: 60, 8.366: 80, 13.30: 120, 21.15: 160, 26.67: 180, 33.63: 210,
    42.41: 245, 53.48: 285, 67.43: 330, 85.03: 385, 107.2: 445,
}  # fmt: skip
ENGINE_SPACE = 0.85  # ABYC E-11, 105 degC insulation
ENGINE_ZONES = ("engine_bay", "engine_space")
#: IEC 60228:2004 Table 3, class 5, plain: area [mm2] -> greatest resistance at 20 degC [milliohm/m]
CLASS_5 = {
    1: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554, 50: 0.386, 70: 0.272,
}  # fmt: skip
LARGEST_DROP = 0.03 * 12.0  # V
#: the least volts a variable alternator holds while it runs (from memory); a fixed one is written in the layout
RESTING_ALTERNATOR = 12.2
#: chemistry -> least absorption voltage and the voltage never to be passed [V] (IEEE 1361 and the like, from memory)
CHARGE_BAND = {
    "flooded": (14.4, 15.5), "calcium": (14.4, 16.0), "agm": (14.4, 15.0), "gel": (14.1, 14.4), "lfp": (14.2, 14.6),
}  # fmt: skip
CONDUCTS = ("cable", "fuse", "switch", "contact", "bond", "shunt")


def _parts(layout: str, *kinds: str) -> dict[str, Any]:
    return {name: part for name, part in _layout(layout).parts.items() if part.kind in kinds}


@lru_cache(maxsize=32)
def _layout(layout: str) -> Installation:
    return load_layout(layout)


def _conductors(layout: str, *kinds: str) -> nx.MultiGraph:
    """Return points joined by closed conductors; the weight of an edge is the resistance of its cable [milliohm]."""
    graph = nx.MultiGraph()
    for name, part in _parts(layout, *(kinds or CONDUCTS)).items():
        if getattr(part, "position", "closed") == "closed":
            ohms = CLASS_5[part.area.low] * part.length.high if part.kind == "cable" else 0.0
            graph.add_edge(*part.ends, key=name, weight=ohms)
    return graph


def _reached(graph: nx.MultiGraph, start: str) -> set[str]:
    return nx.node_connected_component(graph, start) if start in graph else {start}


def _ampacity(part: Any) -> float:
    """Return the ampacity [A] of a cable: that of the next gauge that is not larger."""
    whole = AMPACITY_105[max(area for area in AMPACITY_105 if area <= part.area.low)]
    return whole * (ENGINE_SPACE if part.routed in ENGINE_ZONES else 1.0)


def _charger_legs() -> Iterator[tuple[str, Any]]:
    for layout in WITH_ENGINE:
        for charger in _parts(layout, "charger").values():
            yield layout, charger


def test_the_layouts_are_all_there():
    assert layout_ids() == WANTED


def test_every_kind_of_part_and_every_chemistry_occurs():
    parts = [part for layout in WANTED for part in _layout(layout).parts.values()]
    assert {part.kind for part in parts} == KINDS
    assert {part.chemistry for part in parts if part.kind == "battery"} == set(CHARGE_BAND)
    loads = [part for part in parts if part.kind == "load"]
    assert any(load.power for load in loads)
    assert any(load.resistance for load in loads)
    assert any(load.always_on for load in loads)
    assert any(part.protection for part in parts if part.kind == "battery")
    assert {part.regulation for part in parts if part.kind == "alternator"} == {"fixed", "variable"}


def test_the_ways_of_chargers_occur():
    chargers = [part for layout in WANTED for part in _parts(layout, "charger").values()]
    assert sum(charger.profile_lead is not None for charger in chargers) >= 2
    ties = {profile.tied_to for charger in chargers if charger.profile_lead for profile in charger.profiles}
    assert "nothing" in ties
    assert len(ties) > 1
    assert sum(charger.shares_solar for charger in chargers) == 1
    assert any(charger.lamps for charger in chargers)
    assert any(charger.input is None for charger in chargers)


@pytest.mark.parametrize("layout", WANTED)
def test_a_layout_is_told_in_full(layout):
    written = read_yaml(rules_folder() / "layouts" / f"{layout}.yaml").data
    installation = _layout(layout)
    assert 14 <= len(installation.parts) <= 45
    assert 2 <= installation.story.count(".") <= 4
    used = {point for part in installation.parts.values() for _, point in points_of(part)}
    assert used <= set(written["points"]), "a point that is used but not described"
    assert all({"name", "zone"} <= set(point) for point in written["points"].values())
    assert any("access" in point for point in written["points"].values())
    names = [point.name for point in installation.points.values()]
    assert len(set(names)) == len(names)
    assert 1 <= sum(not load.always_on for load in _parts(layout, "load").values()) <= 4
    assert all(part.insulation.low == 105 for part in _parts(layout, "cable").values())


@pytest.mark.parametrize("layout", WITH_ENGINE)
def test_an_engine_has_its_alternator_starter_and_battery(layout):
    assert len(_parts(layout, "alternator")) == len(_parts(layout, "starter")) == 1
    assert start_batteries(_layout(layout)) == {"start_battery"}
    for alternator in _parts(layout, "alternator").values():
        assert alternator.regulation == "variable" or 14.2 <= alternator.voltage.low <= alternator.voltage.high <= 14.4


def test_the_largest_is_the_motorhome():
    assert max(WANTED, key=lambda layout: len(_layout(layout).parts)) == "motorhome_variable"


def test_the_tray_is_as_the_form_shows_it():
    parts = _layout("crew_cab_tray").parts
    points = (
        "charger_in charger_out charger_neg charger_ign tray chassis engine start_pos start_neg house_pos house_neg"
        " fridge_pos fridge_neg alt_pos input_fuse_load"
    )
    assert set(points.split()) <= set(_layout("crew_cab_tray").points)
    assert parts["tray_strap"].kind == "bond"
    assert parts["tray_strap"].ends == ("tray", "chassis")
    graph = _conductors("crew_cab_tray")
    graph.remove_edge("tray", "chassis", key="tray_strap")
    assert not nx.has_path(graph, "charger_neg", "start_neg"), "the strap is the one way home"


@pytest.mark.parametrize("layout", WANTED)
def test_every_return_path_exists(layout):
    graph = _conductors(layout)
    batteries = _parts(layout, "battery")
    negatives = [battery.neg for battery in batteries.values()]
    home = "start_neg" if layout in WITH_ENGINE else negatives[0]
    assert all(nx.has_path(graph, negative, home) for negative in negatives)
    for part in _parts(layout, "charger", "load", "alternator", "starter", "supply").values():
        assert nx.has_path(graph, getattr(part, "negative", None) or part.neg, home)
    positives = {battery.pos for battery in batteries.values()}
    for name, part in _parts(layout, "charger", "load", "alternator", "starter", "supply").items():
        for point in {getattr(part, key, None) for key in ("pos", "input", "output", "ignition")} - {None}:
            assert _reached(graph, point) & positives, f"{point} of {name} is not fed"
    assert not any(_reached(graph, positive) & set(negatives) for positive in positives), "a short"


@pytest.mark.parametrize("layout", WANTED)
def test_a_panel_reaches_its_charger(layout):
    graph = _conductors(layout, *CONDUCTS, "diode")
    for panel in _parts(layout, "panel").values():
        (charger,) = _parts(layout, "charger").values()
        assert nx.has_path(graph, panel.pos, charger.solar)
        assert nx.has_path(graph, panel.neg, charger.negative)
        assert panel.open_circuit.high * 1.15 < charger.solar_limit.low, "a cold panel gives 15 % more"


@pytest.mark.parametrize("layout", WANTED)
def test_a_fuse_protects_every_cable_behind_it(layout):
    unfused = _conductors(layout, "cable", "switch", "contact", "bond", "shunt", "relay")
    for name, fuse in _parts(layout, "fuse").items():
        for _, _, behind in unfused.subgraph(_reached(unfused, fuse.ends[1])).edges(keys=True):
            part = _layout(layout).parts[behind]
            if part.kind == "cable":
                assert fuse.rating.high <= _ampacity(part), f"{name} is too large for {behind}"


@pytest.mark.parametrize("layout", WANTED)
def test_only_engine_cables_leave_a_battery_without_a_fuse(layout):
    unfused = _conductors(layout, "cable", "switch", "contact", "bond", "shunt", "relay")
    engine = {part.pos: part for part in _parts(layout, "alternator", "starter").values()}
    for battery in _parts(layout, "battery").values():
        for _, _, name in unfused.subgraph(_reached(unfused, battery.pos)).edges(keys=True):
            part = _layout(layout).parts[name]
            assert part.kind != "cable" or set(part.ends) & set(engine), f"{name} has no fuse"


@pytest.mark.parametrize("layout", WITH_ENGINE)
def test_the_alternator_cable_carries_the_alternator(layout):
    (alternator,) = _parts(layout, "alternator").values()
    cables = [part for part in _parts(layout, "cable").values() if alternator.pos in part.ends]
    assert cables
    assert all(alternator.rating.high <= _ampacity(cable) for cable in cables)


def test_the_input_leg_loses_under_three_per_cent():
    checked = set()
    for layout, charger in _charger_legs():
        (alternator,) = _parts(layout, "alternator").values()
        profile = max(p.voltage.high for p in charger.profiles if p.name == charger.profile)
        source = RESTING_ALTERNATOR if alternator.voltage is None else alternator.voltage.low
        amps = profile * charger.rating.high / charger.efficiency / (source - LARGEST_DROP)
        graph = _conductors(layout)
        loop = nx.dijkstra_path_length(graph, "start_pos", charger.input)
        loop += nx.dijkstra_path_length(graph, charger.negative, "start_neg")
        assert 0.05 < amps * loop / 1000 < LARGEST_DROP, layout
        fuse = next(f for f in _parts(layout, "fuse").values() if f.ends[1] == "input_fuse_load")
        assert amps < fuse.rating.low <= 1.6 * amps, f"{layout}: {amps:.1f} A through {fuse.rating.low:.0f} A"
        checked.add(layout)
    assert checked == set(WITH_ENGINE) - {"relay_pair"}


@pytest.mark.parametrize("layout", WANTED)
def test_voltages_suit_the_batteries(layout):
    houses = [b for name, b in _parts(layout, "battery").items() if name != "start_battery"]
    sources = [p.voltage for c in _parts(layout, "charger").values() for p in c.profiles if p.name == c.profile]
    sources += [supply.voltage for supply in _parts(layout, "supply").values()]
    for battery in houses:
        least, most = CHARGE_BAND[battery.chemistry]
        assert battery.max_charge.high <= most
        assert all(least <= volts.low <= volts.high <= battery.max_charge.low for volts in sources)
    for charger in _parts(layout, "charger").values():
        assert {p.name.casefold() for p in charger.profiles} <= set(CHARGE_BAND)
        assert charger.profile.casefold() in {battery.chemistry for battery in houses}


def test_thresholds_lie_in_the_usual_bands():
    for layout, charger in _charger_legs():
        (alternator,) = _parts(layout, "alternator").values()
        assert 12.9 <= charger.starts_above.low <= 13.3
        assert 12.3 <= charger.stops_below.low <= 12.8
        assert (charger.ignition is not None) == (charger.starts_above_with_ignition is not None)
        assert charger.ignition is not None or alternator.regulation == "fixed", "it would never start"
        if charger.ignition is not None:
            assert 11.8 <= charger.starts_above_with_ignition.low <= 12.2
            assert 11.3 <= charger.stops_below_with_ignition.low <= 11.8
            assert key_switches(_layout(layout)) == ("ignition_switch",)


def test_a_profile_lead_picks_the_profile_meant():
    for layout in WANTED:
        for charger in _parts(layout, "charger").values():
            if charger.profile_lead:
                meant = next(p.tied_to for p in charger.profiles if p.name == charger.profile)
                near = _reached(graph_of(edges_of(_layout(layout))), charger.profile_lead)
                assert (meant in near) == (meant != "nothing")
                assert meant != "nothing" or not near & {p.tied_to for p in charger.profiles}


@pytest.mark.parametrize("layout", WANTED)
def test_a_sound_vehicle_charges(layout):
    wiring = build_wiring(_layout(layout))
    vehicles = draw_vehicles(wiring, load_tables(rules_folder()), Streams(7, 40))
    solution = solve_state(wiring, vehicles.parameters, "engine_running" if layout in WITH_ENGINE else "sun_only")
    assert solution.settled.all()
    modes = solution.modes
    assert not modes.held.any()
    assert not modes.chatter.any()
    working = modes.closed if layout == "relay_pair" else modes.on if layout in WITH_ENGINE else modes.sun
    assert working.shape[0] == 1
    assert working.all()


@pytest.mark.parametrize("name", ["crew_cab_tray_readings", "full_battery_readings"])
def test_the_example_readings_fit_the_tray(name):
    file = load_readings(cases_folder() / "examples" / f"{name}.yaml", _layout("crew_cab_tray"))
    assert file.complaint
    assert len(file.readings) >= 4


def test_a_starter_on_the_post_of_its_battery_has_that_battery(tmp_path):
    file = tmp_path / "van.yaml"
    file.write_text(
        "layout: solar_only_van\n"
        "points: {s_pos: {name: cranking battery positive}, s_neg: {name: cranking battery negative}}\n"
        "parts:\n"
        "  cranking: {kind: battery, pos: s_pos, neg: s_neg, chemistry: flooded, capacity: 70 Ah}\n"
        "  starter: {kind: starter, pos: s_pos, neg: s_neg, current: 180 A}\n", encoding="utf-8",
    )  # fmt: skip
    assert start_batteries(load_installation(file)) == {"cranking"}
