"""The engine against vehicles that ngspice answers, so that a mistake shared by predictions and vehicles cannot hide.

The vehicles are drawn, broken and read by `ngspice_vehicle`, which has laws and figures of its own.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from statistics import fmean

import numpy as np
import pytest

from diagnose.evaluation.game import Play, play
from diagnose.evaluation.scoring import score
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take
from diagnose.prediction.hypotheses import all_hypotheses
from diagnose.store.installations import load_layout
from tests.circuit import netlist
from tests.circuit.ngspice_batch import available
from tests.evaluation.ngspice_vehicle import NgspiceVehicle, bent_battery
from tests.inference.engines import TOOLS, engine, rule_base

LAYOUTS = ("crew_cab_tray", "engine_bay_pair", "van_lfp_seat", "solar_only_van")
EACH = 8
#: faults that the vehicles have laws of their own for, with sizes that a workshop would call a fault
SIZES = {
    "open_circuit": None, "blown": None, "no_output": None, "high_resistance": (0.06, 1.0), "discharged": (9.8, 11.2),
    "high_internal_resistance": (0.06, 0.2), "excess_load": (4.0, 9.0),
}  # fmt: skip
pytestmark = pytest.mark.skipif(not available(), reason="ngspice is not installed")


@pytest.fixture(autouse=True)
def _own_battery(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(netlist._MAKES, "battery", bent_battery)


def drawn(layout: str, number: int) -> FaultAt:
    """Return a fault of a layout: its kind first, by weight of the kind, then its place, then its size."""
    rules, _ = rule_base()
    chance = np.random.default_rng([17, number, len(layout)])
    pool = [h for h in all_hypotheses(load_layout(layout), rules) if h.fault is not None and h.fault.fault in SIZES]
    pool = [h for h in pool if h.fault is not None and not (h.fault.fault == "no_output" and h.fault.part != "charger")]
    # half an ohm in a lead that carries a milliampere is no fault that shows
    pool = [h for h in pool if h.fault is not None and not (h.fault.fault == "high_resistance" and _thin(h.fault))]
    weights = np.array([h.weight for h in pool])
    fault = pool[int(chance.choice(len(pool), p=weights / weights.sum()))].fault
    assert fault is not None
    size = SIZES[fault.fault]
    if size is None:
        return fault
    return fault._replace(size=float(np.exp(chance.uniform(*np.log(size)))))


def _thin(fault: FaultAt) -> bool:
    return fault.part.startswith(("ignition", "profile"))


def played(layout: str) -> list[tuple[float, str]]:
    """Play the vehicles of one layout; runs in a process of its own."""
    netlist._MAKES["battery"] = bent_battery
    rules, tables = rule_base()
    found = []
    for number in range(EACH):
        fault = drawn(layout, number)
        vehicle = NgspiceVehicle(load_layout(layout), rules, tables, fault, number)
        outcome = play(engine(layout), vehicle, None, Play(TOOLS))  # type: ignore[arg-type]
        result = score(outcome.ranking, [fault])
        told = f"{layout} {number}: {tuple(fault)} called {result.leader} {result.leading:.2f}, {outcome.end}"
        found.append((result.first, told))
    return found


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


@pytest.mark.slow
def test_the_engine_finds_the_place_on_vehicles_that_ngspice_answers() -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        found = [each for results in pool.map(played, LAYOUTS) for each in results]
    assert len(found) == EACH * len(LAYOUTS)
    right = fmean(first for first, _ in found)
    assert right >= FIRST, "\n".join(told for first, told in found if first < 1.0)


#: measured, less what chance allows for 40 vehicles
FIRST = 0.80
