"""What is not known of a vehicle: 2,000 draws of each unknown keep to its promised range and fill it.

The ranges are written out here, so that a slip in `rules/tables` or in the drawing cannot hide in the other.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest

from diagnose.basics.quantities import Span
from diagnose.circuit.graph import Edge
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.installation import Installation
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import Vehicles, draw_vehicles
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base

COUNT, SEED = 2000, 41
#: role of a joint -> median [ohm]; one standard deviation is a factor of 1.7
MEDIANS = {"termination": 0.0003, "holder_contact": 0.0004, "contact": 0.0007, "bond": 0.0005}
#: annealed copper at 20 degC [ohm.mm2/m] and its coefficient [1/K], IEC 60028
COPPER, PER_KELVIN = 0.017241, 0.00393


def drawn(installation: Installation, *extra: Edge) -> tuple[Wiring, Vehicles]:
    wiring = build_wiring(installation, extra)
    return wiring, draw_vehicles(wiring, rule_base()[1], Streams(SEED, COUNT))


@cache
def vehicles(layout: str) -> tuple[Wiring, Vehicles]:
    return drawn(load_layout(layout))


def row(layout: str, kind: str, part: str, name: str) -> np.ndarray:
    wiring, found = vehicles(layout)
    return found.parameters[f"{kind}.{name}"][wiring.device_parts(kind).index(part)]


def fills(values: np.ndarray, low: float, high: float) -> None:
    """Hold draws of one even unknown against both ends of its range."""
    margin = 0.01 * (high - low)
    assert low - 1e-9 <= values.min() <= low + margin
    assert high - margin <= values.max() <= high + 1e-9


def within(values: np.ndarray, low: float, high: float) -> None:
    """Hold draws made of several even unknowns against the range of their sum; both tenths at its ends are met."""
    assert low - 1e-9 <= values.min() <= low + 0.1 * (high - low)
    assert high - 0.1 * (high - low) <= values.max() <= high + 1e-9


def test_charge_is_even_from_65_percent_for_the_start_battery_and_from_20_for_others() -> None:
    charge = vehicles("motorhome_variable")[1].charge
    fills(charge["start_battery"], 65.0, 100.0)
    for name in ("house_battery", "second_battery"):
        fills(charge[name], 20.0, 95.0)


@pytest.mark.parametrize(
    ("layout", "part"),
    [("crew_cab_tray", "start_battery"), ("canopy", "house_battery"), ("van_lfp_seat", "house_battery")],
)
def test_rest_voltage_is_that_of_the_charge_by_a_twentieth_of_a_volt(layout: str, part: str) -> None:
    chemistry = load_layout(layout).parts[part].chemistry
    curve = rule_base()[1].curve("batteries", f"rest_voltage_{chemistry}")
    fills(row(layout, "battery", part, "rest") - np.interp(vehicles(layout)[1].charge[part], *curve), -0.05, 0.05)


@pytest.mark.parametrize(
    ("layout", "part"), [("crew_cab_tray", "start_battery"), ("van_lfp_seat", "house_battery")]
)
def test_battery_resistance_spreads_by_its_factor_giving_and_taking(layout: str, part: str) -> None:
    battery: Any = load_layout(layout).parts[part]
    tables = rule_base()[1]
    give = tables.number("batteries", f"give_resistance_{battery.chemistry}") / battery.capacity.mid
    give += 0.002 if battery.chemistry == "lfp" else 0.0
    fills(np.log(row(layout, "battery", part, "give") / give), -math.log(1.5), math.log(1.5))
    curve = tables.curve("batteries", f"take_resistance_{battery.chemistry}")
    take = np.interp(vehicles(layout)[1].charge[part], *curve) / battery.capacity.mid
    fills(np.log(row(layout, "battery", part, "take") / take), -math.log(2.0), math.log(2.0))


def test_a_fixed_alternator_is_set_as_stated_and_a_variable_one_mostly_rests() -> None:
    fixed = row("crew_cab_tray", "alternator", "alternator", "voltage")
    assert fixed.mean() == pytest.approx(14.2, abs=5 * 0.15 / math.sqrt(COUNT))
    assert fixed.std() == pytest.approx(0.15, rel=0.08)
    variable = row("van_lfp_seat", "alternator", "alternator", "voltage")
    fills(variable, 12.2, 15.0)
    assert 0.6 < ((variable >= 12.3) & (variable <= 13.0)).mean() < 0.9


def test_a_cable_has_its_resistance_at_its_temperature() -> None:
    """From -5 to +12 % of that of copper, 0 to 20 K above a zone that is itself known to 10 K."""
    wiring, found = vehicles("crew_cab_tray")
    for name, around in (("input_cable", 60.0), ("engine_earth", 60.0), ("house_earth", 28.0)):
        cable: Any = load_layout("crew_cab_tray").parts[name]
        cold = COPPER * cable.length.mid / cable.area.mid
        share = found.parameters["resistance"][wiring.edge_index[(name, "wire", None)]] / cold
        fills(found.warmth[name], around - 10.0, around + 10.0)
        ends = ((0.95, around - 10.0), (1.12, around + 30.0))
        low, high = (factor * (1.0 + PER_KELVIN * (warm - 20.0)) for factor, warm in ends)
        within(share, low, high)
        middle = 1.035 * (1.0 + PER_KELVIN * (around + 10.0 - 20.0))
        assert share.mean() == pytest.approx(middle, rel=0.01)


def test_a_length_known_as_a_range_is_drawn_over_it() -> None:
    installation = load_layout("crew_cab_tray")
    cable = installation.parts["input_cable"].model_copy(update={"length": Span(3.0, 6.0)})
    wiring, found = drawn(installation.model_copy(update={"parts": {**installation.parts, "input_cable": cable}}))
    ohms = found.parameters["resistance"][wiring.edge_index[("input_cable", "wire", None)]]
    least = COPPER * 3.0 / 16.0 * 0.95 * (1.0 + PER_KELVIN * 30.0)
    most = COPPER * 6.0 / 16.0 * 1.12 * (1.0 + PER_KELVIN * 70.0)
    assert least <= ohms.min() < 1.2 * least
    assert 0.8 * most < ohms.max() <= most


@pytest.mark.parametrize("layout", ["crew_cab_tray", "caravan_tow_plug"])
def test_sound_joints_are_log_normal_with_their_medians(layout: str) -> None:
    wiring, found = vehicles(layout)
    by_role: dict[str, list[np.ndarray]] = {}
    for k, edge in enumerate(wiring.edges):
        if edge.role in MEDIANS:
            by_role.setdefault(edge.role, []).append(np.log(found.parameters["resistance"][k]))
    assert set(by_role) == set(MEDIANS)
    for role, rows in by_role.items():
        joints = np.concatenate(rows)
        error = 1.2533 * math.log(1.7) / math.sqrt(len(joints))
        assert np.median(joints) == pytest.approx(math.log(MEDIANS[role]), abs=5 * error)
        assert joints.std() == pytest.approx(math.log(1.7), rel=0.08)
        assert abs(np.corrcoef(rows[0], rows[-1])[0, 1]) < 0.12 or len(rows) == 1


def test_a_fuse_element_loses_60_millivolts_at_its_rating_give_or_take_30_percent() -> None:
    wiring, found = vehicles("crew_cab_tray")
    for name, rating in (("input_fuse", 50.0), ("lights_fuse", 7.5)):
        element = found.parameters["resistance"][wiring.edge_index[(name, "element", None)]]
        fills(element * rating, 0.7 * 0.060, 1.3 * 0.060)


def test_charger_thresholds_profile_efficiency_and_case() -> None:
    stated = {"start": 12.9, "stop": 12.4, "start_ignition": 12.2, "stop_ignition": 11.7, "voltage": 14.7}
    for name, middle in stated.items():
        fills(row("crew_cab_tray", "charger", "charger", name), middle - 0.05, middle + 0.05)
    fills(row("crew_cab_tray", "charger", "charger", "efficiency"), 0.87, 0.93)
    case = row("crew_cab_tray", "charger", "charger", "case")
    fills(case - vehicles("crew_cab_tray")[1].warmth["charger"], 5.0, 18.0)


def test_loads_and_the_starter_vary_by_15_percent() -> None:
    fills(row("crew_cab_tray", "power_load", "fridge", "power"), 0.85 * 55.0, 1.15 * 55.0)
    fills(row("crew_cab_tray", "starter", "starter", "current"), 0.85 * 180.0, 1.15 * 180.0)
    wiring, found = vehicles("crew_cab_tray")
    lights = found.parameters["resistance"][wiring.edge_index[("lights", "load_resistance", None)]]
    fills(4.0 / lights, 0.85, 1.15)


def test_the_sun_gives_60_to_100_percent_to_every_panel_alike() -> None:
    photo = row("portable_panel", "panel", next(iter(vehicles("portable_panel")[0].device_parts("panel"))), "photo")
    assert photo.min() / photo.max() == pytest.approx(0.6, abs=0.005)
    fills(photo / photo.max(), 0.6, 1.0)


def test_an_open_switch_is_open() -> None:
    installation = load_layout("crew_cab_tray")
    switch = installation.parts["ignition_switch"].model_copy(update={"position": "open"})
    wiring, found = drawn(installation.model_copy(update={"parts": {**installation.parts, "ignition_switch": switch}}))
    ohms = found.parameters["resistance"][wiring.edge_index[("ignition_switch", "contact", None)]]
    assert np.all(np.isinf(ohms))


def test_another_wiring_of_the_same_description_is_of_the_same_vehicles() -> None:
    """A fault or a jumper that needs an edge of its own must not change what is drawn for all the others."""
    wiring, found = vehicles("crew_cab_tray")
    other, again = drawn(wiring.installation, Edge("jumper", "jumper", None, "tray", "chassis"))
    assert len(other.edges) == len(wiring.edges) + 1
    for key, k in wiring.edge_index.items():
        ours, theirs = found.parameters["resistance"][k], again.parameters["resistance"][other.edge_index[key]]
        assert np.array_equal(ours, theirs), key
    for name in set(found.parameters) - {"resistance"}:
        assert np.array_equal(found.parameters[name], again.parameters[name]), name


def test_a_part_more_leaves_the_other_draws_as_they_were() -> None:
    installation = load_layout("crew_cab_tray")
    second = installation.parts["fridge"]
    more = installation.model_copy(update={"parts": {"second_fridge": second, **installation.parts}})
    wiring, found = drawn(more)
    before = row("crew_cab_tray", "power_load", "fridge", "power")
    assert np.array_equal(
        found.parameters["power_load.power"][wiring.device_parts("power_load").index("fridge")], before
    )
    assert np.array_equal(found.charge["house_battery"], vehicles("crew_cab_tray")[1].charge["house_battery"])
