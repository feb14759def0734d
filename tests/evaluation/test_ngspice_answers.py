"""Vehicles that ngspice answers, to be played by the engine, so that a mistake shared by both cannot hide.

The vehicles are drawn, broken and read by `ngspice_vehicle`, which has laws and figures of its own.
"""

from __future__ import annotations

import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take
from diagnose.store.installations import load_layout
from tests.circuit import netlist
from tests.circuit.ngspice_batch import available
from tests.evaluation.ngspice_vehicle import NgspiceVehicle, bent_battery
from tests.inference.engines import rule_base

pytestmark = pytest.mark.skipif(not available(), reason="ngspice is not installed")


@pytest.fixture(autouse=True)
def _own_battery(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(netlist._MAKES, "battery", bent_battery)


def test_a_sound_vehicle_reads_what_a_sound_vehicle_should() -> None:
    rules, tables = rule_base()
    vehicle = NgspiceVehicle(load_layout("crew_cab_tray"), rules, tables, None, 3)
    rest = vehicle.answer(Take("volts", ("house_pos", "house_neg"), "at_rest")).value
    running = vehicle.answer(Take("volts", ("start_pos", "start_neg"), "engine_running")).value
    assert rest is not None
    assert running is not None
    assert 11.7 < rest < 13.0
    assert 13.3 < running < 14.8
    assert vehicle.answer(Take("lamp", ("charging",), "engine_running")).word == "on"
    assert vehicle.answer(Take("works", ("fridge",), "loaded")).word == "yes"
    strap = vehicle.answer(Take("ohms", ("tray", "chassis"), "isolated")).value
    assert strap is not None
    assert strap < 0.5


def test_its_fault_shows() -> None:
    rules, tables = rule_base()
    broken = NgspiceVehicle(load_layout("crew_cab_tray"), rules, tables, FaultAt("open_circuit", "tray_strap"), 3)
    assert broken.answer(Take("ohms", ("tray", "chassis"), "isolated")).kind in ("over_range", "number")
    assert broken.answer(Take("lamp", ("charging",), "engine_running")).word == "off"
    drop = broken.answer(Take("volts", ("tray", "chassis"), "engine_running")).value
    assert drop is not None
    assert abs(drop) > 0.5
