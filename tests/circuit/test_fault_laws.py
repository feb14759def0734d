"""Every law of a fault changes the numbers that it should, by what was worked out by hand, and no others."""

from __future__ import annotations

from math import inf, sqrt

import numpy as np
import pytest

from diagnose.circuit.faults import apply_fault, variant_of
from diagnose.circuit.parameters import Parameters
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.fault import FaultAt
from tests.circuit.vehicles import full_vehicle, numbers_for

VEHICLE = full_vehicle()
COUNT = 3
NONE = np.zeros(COUNT)
SPARE = np.array([0.1, 0.5, 0.9])


def changed(
    fault: FaultAt, law: str, size: np.ndarray = NONE, spare: np.ndarray = SPARE
) -> tuple[Wiring, Parameters, dict[tuple[str, int], np.ndarray]]:
    """Return the wiring, the numbers before, and the rows that differ after, by name and row."""
    variant = variant_of(VEHICLE, fault, law)
    wiring = build_wiring(VEHICLE, variant.extra, variant.swapped)
    before = numbers_for(wiring, 3, COUNT)
    after = {name: values.copy() for name, values in before.items()}
    apply_fault(wiring, after, fault, law, size, spare)
    rows = {
        (name, row): values[row]
        for name, values in after.items()
        for row in range(len(values))
        if not np.array_equal(values[row], before[name][row])
    }
    return wiring, before, rows


def edge_of(wiring: Wiring, part: str, role: str, at: str | None = None) -> tuple[str, int]:
    return "resistance", wiring.edge_index[(part, role, at)]


def one_of(kind: str) -> str:
    return next(name for name, part in VEHICLE.parts.items() if part.kind == kind)


def row_of(wiring: Wiring, kind: str, name: str) -> int:
    return wiring.device_parts(kind).index(name)


def test_a_leak_lies_evenly_in_its_logarithm_from_a_twentieth_to_two_amperes() -> None:
    part = next(p for p in VEHICLE.parts if ("leak" in {e.role for e in build_wiring(VEHICLE).edges if e.part == p}))
    wiring, _, rows = changed(FaultAt("leaking_diode", part), "leak", spare=np.array([0.0, 0.5, 1.0]))
    currents = [0.05, sqrt(0.05 * 2.0), 2.0]
    assert rows.keys() == {edge_of(wiring, part, "leak")}
    assert 12.6 / rows[edge_of(wiring, part, "leak")] == pytest.approx(currents, rel=1e-12)


def test_a_joint_that_comes_and_goes_is_sound_poor_or_open() -> None:
    cable = one_of("cable")
    end = VEHICLE.parts[cable].ends[0]  # type: ignore[union-attr]
    spare = np.array([0.32, 0.5, 0.67])
    wiring, before, rows = changed(FaultAt("intermittent", cable, end), "comes_and_goes", spare=spare)
    where = edge_of(wiring, cable, "termination", end)
    assert rows.keys() == {where}
    sound, poor, gone = rows[where] - before["resistance"][where[1]]
    assert (sound, gone) == (0.0, inf)
    assert poor == pytest.approx(0.05 * 100.0**1.5, rel=1e-9)


@pytest.mark.parametrize(("law", "added"), [("add_resistance", 0.2), ("open", inf)])
def test_a_joint_grows_by_the_size_or_opens(law: str, added: float) -> None:
    cable = one_of("cable")
    end = VEHICLE.parts[cable].ends[1]  # type: ignore[union-attr]
    for at, role in ((end, "termination"), (None, "wire")):
        wiring, before, rows = changed(FaultAt("x", cable, at), law, np.full(COUNT, 0.2))
        where = edge_of(wiring, cable, role, at)
        assert rows.keys() == {where}
        assert rows[where] == pytest.approx(before["resistance"][where[1]] + added)


def test_a_thin_cable_has_the_resistance_of_its_area_and_never_less() -> None:
    cable = one_of("cable")
    area = VEHICLE.parts[cable].area.mid  # type: ignore[union-attr]
    wiring, before, rows = changed(FaultAt("undersized", cable), "area", np.array([area / 4, area, 2 * area]))
    where = edge_of(wiring, cable, "wire")
    assert rows[where] == pytest.approx(before["resistance"][where[1]] * [4.0, 1.0, 1.0])


def test_batteries() -> None:
    name = one_of("battery")
    capacity = VEHICLE.parts[name].capacity.mid  # type: ignore[union-attr]
    eleven = np.full(COUNT, 11.0)
    for law, size, factors in (
        ("rest_voltage", eleven, {"battery.rest": None, "battery.give": 1.5}),
        ("lose_capacity", np.full(COUNT, capacity / 2), {"battery.give": 2.0, "battery.take": 2.0}),
        ("reverse", NONE, {"battery.sign": -1.0}),
        ("disconnect", NONE, {"battery.on": 0.0}),
    ):
        wiring, before, rows = changed(FaultAt("x", name), law, size)
        row = row_of(wiring, "battery", name)
        assert rows.keys() == {(each, row) for each in factors}, law
        for each, factor in factors.items():
            wanted = size if factor is None else before[each][row] * factor
            assert rows[each, row] == pytest.approx(wanted), (law, each)
    wiring, before, rows = changed(FaultAt("x", name), "lose_cell")
    row = row_of(wiring, "battery", name)
    assert before["battery.rest"][row] - rows["battery.rest", row] == pytest.approx(2.1)
    wiring, before, rows = changed(FaultAt("x", name), "own_resistance", np.array([1e-6, 0.05, 0.3]))
    give, take = before["battery.give"][row], before["battery.take"][row]
    assert rows["battery.give", row] == pytest.approx(np.maximum(give, [1e-6, 0.05, 0.3]))
    assert rows["battery.take", row] == pytest.approx(np.maximum(take, [2e-6, 0.1, 0.6]))


def test_chargers_and_alternators() -> None:
    charger, alternator = one_of("charger"), one_of("alternator")
    wiring, before, rows = changed(FaultAt("dead", charger), "dead")
    row = row_of(wiring, "charger", charger)
    assert {key: values.tolist() for key, values in rows.items()} == {
        ("charger.rating", row): [0.0] * COUNT, ("charger.works", row): [0.0] * COUNT
    }  # fmt: skip
    wiring, before, rows = changed(FaultAt("weak", charger), "fraction", np.full(COUNT, 0.3))
    assert rows["charger.rating", row] == pytest.approx(0.3 * before["charger.rating"][row])
    wiring, before, rows = changed(FaultAt("hot", charger), "heat", np.full(COUNT, 70.0))
    assert rows.keys() == {("charger.case", row)}
    assert rows["charger.case", row].tolist() == [70.0] * COUNT
    size = np.array([13.0, 1.2, 4.9])
    for fault, sign in (("overcharging", 1.0), ("undercharging", -1.0)):
        wiring, before, rows = changed(FaultAt(fault, alternator), "regulate", size)
        row = row_of(wiring, "alternator", alternator)
        volts = before["alternator.voltage"][row]
        assert rows["alternator.voltage", row] == pytest.approx([13.0, volts[1] + sign * 1.2, volts[2] + sign * 4.9])


def test_extra_current_is_drawn_within_the_part() -> None:
    battery = one_of("battery")
    wiring, _, rows = changed(FaultAt("drain", battery), "extra_current", np.array([0.5, 1.0, 2.0]))
    assert rows.keys() == {edge_of(wiring, battery, "drain")}
    assert 12.6 / rows[edge_of(wiring, battery, "drain")] == pytest.approx([0.5, 1.0, 2.0])


def test_a_reversed_load_of_constant_power_draws_nothing() -> None:
    wiring = build_wiring(VEHICLE)
    for name in wiring.device_parts("power_load"):
        there, _, rows = changed(FaultAt("reversed", name), "reverse")
        assert rows["power_load.power", row_of(there, "power_load", name)].tolist() == [0.0] * COUNT
    assert len(wiring.device_parts("power_load")) > 0


def test_an_end_that_was_moved_takes_its_joint_along() -> None:
    cable = one_of("cable")
    end = VEHICLE.parts[cable].ends[0]  # type: ignore[union-attr]
    wiring, before, rows = changed(FaultAt("wrong_connection", cable, end, "chassis"), "move_end")
    here, there = edge_of(wiring, cable, "termination", end), edge_of(wiring, cable, "moved", "chassis")
    assert rows[here].tolist() == [inf] * COUNT
    assert rows[there] == pytest.approx(before["resistance"][here[1]])


def test_a_short_to_the_negative_lies_behind_the_part_so_that_the_part_carries_it() -> None:
    """A cable named from the source on is shorted at its lug at the far end, a fuse behind its element."""
    for part, far in (("input_cable", "charger_in"), ("input_fuse", "input_fuse_load"), ("output_fuse", "house_pos")):
        (edge,) = variant_of(VEHICLE, FaultAt("short_to_negative", part), "join_negative").extra
        assert (edge.part, edge.a, edge.b) == (part, f"{part}@{far}", "start_neg")
