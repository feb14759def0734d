"""Ways of the current, and halving them."""

from __future__ import annotations

import pytest

from diagnose.circuit.topology import nodes_of, way
from diagnose.evaluation.ways import fault_on, halved, last_live, nearest_battery
from diagnose.model.fault import FaultAt
from diagnose.store.installations import load_layout

TRAY = load_layout("crew_cab_tray")
EDGES = way(TRAY, "start_pos", "charger_in")
NODES = nodes_of(EDGES, "start_pos")


def test_a_way_passes_every_joint_in_order() -> None:
    assert NODES == [
        "start_pos", "input_fuse@start_pos", "input_fuse@input_fuse_load", "input_fuse_load",
        "input_cable@input_fuse_load", "input_cable@charger_in", "charger_in",
    ]  # fmt: skip
    assert way(TRAY, "start_pos", "charger_out") == []
    assert way(TRAY, "start_pos", "start_pos") == []


@pytest.mark.parametrize("bad", range(len(EDGES)))
def test_halving_ends_at_the_joint_that_loses_most(bad: int) -> None:
    asked = []

    def drop(a: str, b: str) -> float:
        asked.append((a, b))
        first, last = NODES.index(a), NODES.index(b)
        return sum(1.0 if k == bad else 0.01 for k in range(first, last))

    assert halved(EDGES, "start_pos", 1.05, drop) == EDGES[bad]
    assert last_live(EDGES, "start_pos", lambda p: NODES.index(p) <= bad) == EDGES[bad]
    assert len(asked) <= 3


def test_what_is_left_is_named_by_what_it_is_and_how_much_it_loses() -> None:
    assert fault_on(EDGES[1], 12.0) == FaultAt("blown", "input_fuse")
    assert fault_on(EDGES[5], 12.0) == FaultAt("open_circuit", "input_cable", "charger_in")
    assert fault_on(EDGES[5], 0.4) == FaultAt("high_resistance", "input_cable", "charger_in")
    assert fault_on(EDGES[4], 0.4) == FaultAt("undersized", "input_cable")


def test_the_nearest_battery_is_that_with_fewest_joints_between() -> None:
    assert nearest_battery(TRAY, "charger_in", "pos") == "start_pos"
    assert nearest_battery(TRAY, "charger_out", "neg") == "house_neg"
    assert nearest_battery(TRAY, "fridge_neg", "pos") == "house_pos"
