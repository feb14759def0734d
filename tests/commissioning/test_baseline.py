"""The baseline of a hand-over as evidence: it narrows what a sound vehicle reads, ages, and helps with small faults."""

from __future__ import annotations

import json
from math import log
from pathlib import Path

import pytest

from diagnose.basics.quantities import Span
from diagnose.circuit.graph import edges_of
from diagnose.cli.main import run
from diagnose.commissioning.record import baseline_of, known_of
from diagnose.inference.ranking import Engine, Question
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation, Known
from diagnose.model.reading import Reading, Take
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND, all_hypotheses
from diagnose.prediction.measured import measured_edges
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import load_layout
from diagnose.store.jobs import installation_of, load_job
from tests.commissioning.vehicles import base, played, vehicle_of

LAYOUT = "crew_cab_tray"
HANDED_OVER = "cases/examples/tray_handed_over.jsonl"
JOINT = Take("volts", ("input_cable@charger_in", "charger_in"), "engine_running")
LEG = Take("volts", ("start_pos", "charger_in"), "engine_running")
ACROSS = (
    LEG, Take("amps", ("input_cable",), "engine_running"), Take("amps", ("output_cable",), "engine_running"),
    Take("volts", ("charger_out", "house_pos"), "engine_running"),
    Take("volts", ("house_neg", "start_neg"), "engine_running"),
)  # fmt: skip


def known(ohms: float, uncertainty: float, days: float = 0.0) -> Known:
    one, other, age = (Span(value, value) for value in (ohms, uncertainty, days))
    return Known(resistance=one, uncertainty=other, age=age)


def own(seed: int, days: float = 365.0) -> Installation:
    """Return the layout with the baseline of one sound vehicle."""
    results = played(LAYOUT, vehicle_of(LAYOUT, "", seed)).results()
    return load_layout(LAYOUT).model_copy(update={"measured": known_of(baseline_of(results, base()[1]), days)})


def edges(measured: dict[str, Known]) -> dict[tuple[str, str, str | None], tuple[float, float]]:
    installation = load_layout(LAYOUT).model_copy(update={"measured": measured})
    return {key: tuple(read) for key, read in measured_edges(installation, base()[1], edges_of(installation)).items()}


def test_a_joint_is_known_as_it_was_read_and_less_the_longer_ago() -> None:
    place, key = "input_cable@charger_in", ("input_cable", "termination", "charger_in")
    fresh, old = (edges({place: known(0.0005, 0.0001, days)})[key] for days in (0.0, 800.0))
    assert fresh[0] == old[0] == 0.0005
    assert 1.2 < fresh[1] < old[1] < 1.7
    assert edges({place: known(0.0005, 0.0001, 30_000.0)}) == {}  # so long ago that the tables know as much
    assert edges({place: known(0.0005, 0.0006)}) == {}  # lost in its own error


def test_a_cable_is_what_is_left_without_its_joints() -> None:
    joints = {f"input_cable@{point}": known(0.001, 0.00005) for point in load_layout(LAYOUT).parts["input_cable"].ends}
    found = edges({**joints, "input_cable": known(0.008, 0.0001)})
    assert found[("input_cable", "wire", None)][0] == pytest.approx(0.006, rel=1e-9)
    bare = edges({"input_cable": known(0.008, 0.0001)})
    assert bare[("input_cable", "wire", None)][0] == pytest.approx(0.0074, rel=1e-9)  # each joint as the tables have it


def test_bands_narrow_and_still_hold_the_vehicle() -> None:
    rules, tables = base()
    for seed in (21, 22):
        wide = expected_readings(load_layout(LAYOUT), rules, tables, [JOINT, LEG], SOUND, 1)
        narrow = expected_readings(own(seed), rules, tables, [JOINT, LEG], SOUND, 1)
        assert narrow[0].high / narrow[0].low < 0.6 * wide[0].high / wide[0].low  # one joint
        assert narrow[1].high - narrow[1].low < wide[1].high - wide[1].low
        vehicle = vehicle_of(LAYOUT, "", seed)
        for expected, take in zip(narrow, (JOINT, LEG), strict=True):
            assert expected.low <= (vehicle.told(take).value or 0.0) <= expected.high


@pytest.mark.slow
def test_small_faults_are_told_better_with_a_baseline() -> None:
    """The logarithmic score of the true cause, three small faults on eight vehicles, a year after the hand-over."""
    rules, tables = base()
    plain = load_layout(LAYOUT)
    scores: dict[bool, list[float]] = {False: [], True: []}
    for seed in range(21, 29):
        aged = own(seed)
        for part, at in (("input_cable", "charger_in"), ("tray_strap", None), ("output_cable", "charger_out")):
            fault = FaultAt("high_resistance", part, at, None, 0.006)
            where = (fault.fault, part, at)
            hidden = next(h for h in all_hypotheses(plain, rules) if h.fault is not None and h.fault[:3] == where)
            vehicle = SimulatedVehicle(plain, rules, tables, hidden._replace(fault=fault), seed)
            told = Question(tuple(Reading(take, vehicle.told(take)) for take in ACROSS), None, ("multimeter", "clamp"))
            for with_baseline, installation in ((False, plain), (True, aged)):
                ranking = Engine(installation, rules, tables, 1).rank(told)
                sure = sum(e.probability for e in ranking.faults if (e.fault.fault, e.fault.part) == where[:2])
                scores[with_baseline].append(log(max(sure, 1e-4)))
    without, held = (sum(found) / len(found) for found in (scores[False], scores[True]))
    print(f"mean logarithmic score of a small fault: {without:.2f} without, {held:.2f} with the baseline")
    assert held > without + 0.2


def test_a_walk_keeps_the_baseline_that_it_was_begun_with(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begin = ["walk", LAYOUT, "--baseline", HANDED_OVER, "--jobs", str(tmp_path), "--answers", _file(tmp_path)]
    assert run(begin) == 0
    (path,) = tmp_path.glob("*.jsonl")
    job = load_job(path)
    places = json.loads(path.read_text().splitlines()[0])["ev"]["measured"]
    assert len(places) > 20
    assert places.keys() == installation_of(job).measured.keys()
    assert installation_of(job).measured["tray_strap"].age.mid > 0
    assert run(["walk", "--resume", str(path), "--baseline", HANDED_OVER]) == 2
    assert "--baseline" in capsys.readouterr().err


def _file(folder: Path) -> str:
    (folder / "answers.txt").write_text("none\n")
    return str(folder / "answers.txt")


def test_expect_tells_a_narrower_band_and_another_installation_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["expect", LAYOUT, "input_cable@charger_in", "charger_in", "--when", "engine_running", "--json"]
    spans = []
    for more in ([], ["--baseline", HANDED_OVER]):
        assert run([*asked, *more]) == 0
        (found,) = json.loads(capsys.readouterr().out)["expected"]
        spans.append(found["high"] - found["low"])
    assert spans[1] < spans[0]
    assert run(["expect", "solar_only_van", "house_pos", "house_neg", "--baseline", HANDED_OVER]) == 2
    assert "another installation" in capsys.readouterr().err


def test_places_of_a_baseline_in_a_file_are_checked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text(
        "layout: crew_cab_tray\nmeasured:\n  tray_strop: {resistance: 0.5 milliohm, uncertainty: 0.1 milliohm}\n"
        "  input_cable@house_pos: {resistance: 0.5 milliohm, uncertainty: 0.1 milliohm, age: 1 year}\n"
        "  house_earth: {resistance: 5, uncertainty: 0.1 milliohm, age: -1 d}\n"
    )
    assert run(["expect", str(file), "tray", "chassis"]) == 2
    said = capsys.readouterr().err
    for told in (":3:15: no part `tray_strop`, did you mean tray_strap?", ":4:26: `input_cable` has no end `house_pos`",
                 ":5:29:", ":5:64:"):  # fmt: skip
        assert told in said, said
    file.write_text(
        "layout: crew_cab_tray\nmeasured:\n"
        "  tray_strap: {resistance: 0.5 milliohm, uncertainty: 0.1 milliohm, age: 1 year}\n"
    )
    assert run(["expect", str(file), "tray", "chassis", "--json"]) == 0
