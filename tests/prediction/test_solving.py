"""What is predicted is what the circuit itself gives, with a fault, a jumper, a known-good part or a test lamp."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from diagnose.circuit import readout
from diagnose.circuit.faults import apply_fault, variant_of
from diagnose.circuit.graph import Edge
from diagnose.circuit.modes import solve_state
from diagnose.circuit.parameters import columns
from diagnose.circuit.tangent import tangent_at
from diagnose.circuit.wiring import build_wiring
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.solving import sizes_of
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import draw_vehicles
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base

COUNT, SEED = 24, 5
#: kept in single precision: a tenth of a millivolt or milliampere would be seen by no meter
VOLTS, AMPS = 2e-5, 2e-4
FAULTS = (
    FaultAt("high_resistance", "tray_strap"),
    FaultAt("high_resistance", "tray_strap", size=0.09),
    FaultAt("open_circuit", "input_cable", "charger_in"),
    FaultAt("undersized", "input_cable"),
    FaultAt("short_to_negative", "lights_cable"),
    FaultAt("wrong_connection", "ignition_lead", "ignition_out", "house_pos"),
    FaultAt("reversed", "charger"),
    FaultAt("discharged", "house_battery"),
    FaultAt("excess_load", "house_battery"),
)


def hypothesis(fault: FaultAt) -> Hypothesis:
    return Hypothesis(fault, rule_base()[0].faults[fault.fault], 1.0)


@cache
def predictor(layout: str = "crew_cab_tray") -> Predictor:
    hypotheses = (SOUND, *map(hypothesis, FAULTS)) if layout == "crew_cab_tray" else (SOUND,)
    return Predictor(load_layout(layout), rule_base()[1], hypotheses, Streams(SEED, COUNT))


def predicted(take: Take) -> Predicted:
    return predictor().predict([take])[0]


@pytest.mark.parametrize("fault", [None, *FAULTS], ids=lambda f: "sound" if f is None else f"{f.fault} {f.part}")
@pytest.mark.parametrize("state", ["engine_running", "loaded"])
def test_prediction_is_the_exact_circuit(fault: FaultAt | None, state: str) -> None:
    """The same vehicles wired, changed and solved here by hand, to the exact solver's own tolerance."""
    tables, installation, streams = rule_base()[1], load_layout("crew_cab_tray"), Streams(SEED, COUNT)
    one = SOUND if fault is None else hypothesis(fault)
    law = one.rule.change if one.rule is not None else ""
    variant = variant_of(installation, fault, law) if fault is not None else None
    wiring = build_wiring(installation, *(variant or ()))
    numbers = columns(draw_vehicles(wiring, tables, streams).parameters, slice(None))
    if fault is not None:
        spare = streams.share(f"spare {fault.fault} {fault.part} {fault.at}")
        apply_fault(wiring, numbers, fault, law, sizes_of(one, installation, streams), spare)
    solution = solve_state(wiring, numbers, state)
    tangent = tangent_at(wiring, solution)
    row = (None, *FAULTS).index(fault)
    gain = 1.0 + 0.003 * streams.normal("meter gain")
    places = ("charger_in charger_neg", "tray chassis", "start_pos charger_in", "house_pos tray")
    for a, b in (pair.split() for pair in places):
        exact = readout.volts(wiring, solution, tangent, a, b, 1e7)
        found = predicted(Take("volts", (a, b), state))
        assert found.high[row] == pytest.approx(exact[0] * gain, abs=VOLTS)
        assert found.low[row] == pytest.approx(exact[1] * gain, abs=VOLTS)
    clamp = 1.0 + 0.02 * streams.normal("clamp gain"), 0.15 * streams.normal("clamp zero")
    for part in ("input_cable", "house_battery", "fridge"):
        exact = readout.amps(wiring, solution, part)
        found = predicted(Take("amps", (part,), state))
        assert found.high[row] == pytest.approx(exact[0] * clamp[0] + clamp[1], abs=AMPS)


def test_a_known_good_part_reads_as_the_sound_vehicle() -> None:
    """With the faulty part swapped for a good one only the other hypotheses still differ from nothing wrong."""
    plain = Take("volts", ("tray", "chassis"), "engine_running")
    found = predicted(plain._replace(swap="tray_strap"))
    strap = [n for n, f in enumerate(FAULTS, 1) if f.part == "tray_strap"]
    for n in strap:
        assert found.high[n] == pytest.approx(found.high[0], abs=1e-6)
        assert np.abs(predicted(plain).high[n] - predicted(plain).high[0]).max() > 0.1
    other = FAULTS.index(FaultAt("open_circuit", "input_cable", "charger_in")) + 1
    assert found.high[other] == pytest.approx(predicted(plain).high[other], abs=1e-6)


def test_a_known_good_charger_is_wired_the_right_way_round() -> None:
    """A charger with input and output exchanged has a wiring of its own, which must go with it."""
    plain = Take("volts", ("charger_out", "charger_neg"), "engine_running")
    reversed_one = FAULTS.index(FaultAt("reversed", "charger")) + 1
    found = predicted(plain._replace(swap="charger"))
    assert found.high[reversed_one] == pytest.approx(found.high[0], abs=1e-6)
    assert np.abs(predicted(plain).high[reversed_one] - predicted(plain).high[0]).max() > 0.5


def test_a_jumper_takes_over_from_an_open_bond() -> None:
    fault = FaultAt("open_circuit", "tray_strap")
    maker = Predictor(load_layout("crew_cab_tray"), rule_base()[1], (SOUND, hypothesis(fault)), Streams(SEED, COUNT))
    drop = Take("volts", ("charger_in", "charger_neg"), "engine_running")
    without, fitted = maker.predict([drop, drop._replace(jumper=("tray", "chassis"))])
    assert np.all(np.abs(without.high[1]) < 1.0)
    # 10 milliohm of jumper lead beside some 30 A
    assert fitted.high[1] == pytest.approx(without.high[0], abs=0.5)
    assert np.all(fitted.high[1] > 12.0)


def test_a_test_lamp_removes_a_ghost_voltage() -> None:
    """A leakage of a megohm shows a meter most of the battery and a lamp nothing."""
    installation = load_layout("crew_cab_tray")
    fault = FaultAt("open_circuit", "fridge_cable", "fridge_pos")
    maker = Predictor(installation, rule_base()[1], (SOUND, hypothesis(fault)), Streams(SEED, COUNT))
    take = Take("volts", ("fridge_pos", "fridge_neg"), "at_rest", "test_lamp")
    found = maker.predict([take])[0]
    assert found.words is not None
    assert np.all(found.words["on"][0] > 0.9)
    assert np.all(found.words["off"][1] > 0.9)
    assert np.all(np.abs(found.high[1]) < 0.01)
    # the lamp is part of the circuit: about 12 V over 6.9 ohm through cable and battery loses some volts
    meter = maker.predict([take._replace(meter="multimeter")])[0]
    assert np.all(found.high[0] < meter.high[0] - 0.005)


def test_a_size_is_drawn_over_its_rule_and_kept_where_it_is_stated() -> None:
    installation, many = load_layout("crew_cab_tray"), Streams(SEED, 2000)
    rules = rule_base()[0]
    size = rules.faults["high_resistance"].size
    assert size is not None
    drawn = np.log(sizes_of(hypothesis(FAULTS[0]), installation, many))
    for end, drawn_to in ((size.low, drawn.min()), (size.high, drawn.max())):
        assert drawn_to == pytest.approx(np.log(end), abs=0.01)
    assert drawn.mean() == pytest.approx(0.5 * (np.log(size.low) + np.log(size.high)), abs=0.01)
    assert np.all(sizes_of(hypothesis(FAULTS[1]), installation, many) == 0.09)
    # shares of what is fitted: 16 mm2 of input cable
    area = sizes_of(hypothesis(FAULTS[3]), installation, many)
    share = rules.faults["undersized"].size
    assert share is not None
    assert (area.min() / 16.0, area.max() / 16.0) == (
        pytest.approx(share.low, abs=0.01), pytest.approx(share.high, abs=0.01),
    )  # fmt: skip
    # the other profile of the charger
    wrong = sizes_of(hypothesis(FaultAt("wrong_setting", "charger")), installation, many)
    assert set(wrong) == {14.1}


def test_the_same_test_is_predicted_once_and_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    take = Take("volts", ("charger_in", "charger_neg"), "engine_running")
    first = predicted(take)
    with monkeypatch.context() as patched:
        patched.setattr(Predictor, "read", None)
        again = predicted(take)
    assert np.array_equal(first.high, again.high)
    alone = Predictor(load_layout("crew_cab_tray"), rule_base()[1], (SOUND,), Streams(SEED, COUNT)).predict([take])[0]
    assert alone.high[0] == pytest.approx(first.high[0], abs=1e-6)


def test_an_isolated_battery_reads_its_rest_voltage_and_ohms_see_a_bond() -> None:
    vehicles = predictor().sound_vehicles()
    wiring = build_wiring(load_layout("crew_cab_tray"), ())
    rest = vehicles.parameters["battery.rest"][wiring.device_parts("battery").index("house_battery")]
    gain = 1.0 + 0.003 * Streams(SEED, COUNT).normal("meter gain")
    volts = predicted(Take("volts", ("house_pos", "house_neg"), "isolated")).high[0]
    assert volts == pytest.approx(rest * gain, abs=VOLTS)
    ohms = 10.0 ** predicted(Take("ohms", ("tray", "chassis"), "isolated")).high
    leads = Streams(SEED, COUNT).even("ohm leads", 0.1, 0.3)
    strap = vehicles.parameters["resistance"][wiring.edge_index[("tray_strap", "bond", None)]]
    assert ohms[0] == pytest.approx(leads + strap, abs=1e-4)
    assert ohms[2] == pytest.approx(leads + strap + 0.09, abs=1e-4)


def test_an_edge_of_a_jumper_is_not_left_behind() -> None:
    plain = Take("volts", ("tray", "chassis"), "engine_running")
    before = predicted(plain).high.copy()
    predictor().predict([plain._replace(jumper=("tray", "chassis"))])
    assert np.array_equal(predicted(plain).high, before)
    assert Edge("jumper", "jumper", None, "tray", "chassis") not in build_wiring(load_layout("crew_cab_tray"), ()).edges
