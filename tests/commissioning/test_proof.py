"""Commissioning on simulated vehicles: a sound one fails nothing, a fault that a step can see is caught."""

from __future__ import annotations

import pytest

from diagnose.commissioning.answers import meter_error
from diagnose.commissioning.bands import current_take
from diagnose.commissioning.progress import Commissioning
from diagnose.commissioning.sequence import Planned
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.installations import layout_ids, load_layout
from tests.commissioning.vehicles import base, begun, hypothesis, played, vehicle_of

QUICK = (("crew_cab_tray", 2), ("solar_only_van", 3))


def fails(job: Commissioning) -> list[str]:
    return [r.step.id for r in job.results() if r.verdict == "FAIL"]


@pytest.mark.parametrize(("layout", "count"), QUICK)
def test_sound_vehicles_fail_nothing(layout: str, count: int) -> None:
    for seed in range(count):
        assert fails(played(layout, vehicle_of(layout, "", 9000 + seed))) == []


@pytest.mark.slow
def test_false_failures_stay_below_the_family_rate() -> None:
    """The wider band is made for 95 of 100 whole sequences; measured over all layouts."""
    runs = wrong = 0
    for layout in sorted(layout_ids()):
        for seed in range(10):
            runs += 1
            wrong += bool(fails(played(layout, vehicle_of(layout, "", 9100 + seed))))
    print(f"sound vehicles with a false failure: {wrong} of {runs}")
    assert wrong <= 0.05 * runs


def _beyond(planned: Planned, job: Commissioning, sick: SimulatedVehicle) -> bool:
    """Return whether a step of a faulty vehicle reads beyond its failing band by twice the meter's error."""
    take = planned.step.take
    if take is None or planned.rule.judge not in ("value", "drop") or take.quantity not in ("volts", "amps"):
        return False
    shown = sick.truly(take)
    if shown.kind != "number" or shown.value is None:
        return False
    error = 2.0 * meter_error(take.quantity, shown.value, job.tables)
    if planned.rule.judge == "drop":
        current = sick.truly(current_take(planned)).value
        band = job.model.ratio(take, current_take(planned))
        if current is None or band is None or abs(current) < 0.35 * job.model.full_current(current_take(planned)):
            return False
        off = (error + abs(shown.value) * 2.0 * meter_error("amps", current, job.tables) / abs(current)) / abs(current)
        return not band.least - off <= shown.value / abs(current) <= band.most + off
    band = job.model.band(take)
    return band is not None and not band.least - error <= shown.value <= band.most + error


def _caught(layout: str, hidden: Hypothesis, seed: int) -> bool | None:
    """Return whether a fault fails a step; None where no step reads far enough out."""
    rules, tables = base()
    sick = SimulatedVehicle(load_layout(layout), rules, tables, hidden, seed)
    job = begun(layout)
    try:
        visible = any(_beyond(planned, job, sick) for planned in job.planned)
    except RuntimeError:  # a state in which this circuit has no solution
        return None
    return bool(fails(played(layout, sick))) if visible else None


@pytest.mark.parametrize(
    ("layout", "label"),
    [
        ("crew_cab_tray", "high_resistance tray_strap"), ("crew_cab_tray", "blown input_fuse"),
        pytest.param("crew_cab_tray", "open_circuit ignition_lead", marks=pytest.mark.slow),
        ("solar_only_van", "blown house_fuse"),
        pytest.param("crew_cab_tray", "excess_load house_battery", marks=pytest.mark.slow),
    ],
)  # fmt: skip
def test_a_fault_that_a_step_can_see_is_caught(layout: str, label: str) -> None:
    seen = [_caught(layout, hypothesis(layout, label), seed) for seed in range(2)]
    assert True in seen
    assert False not in seen


@pytest.mark.slow
def test_faults_that_a_step_can_see_are_caught() -> None:
    visible = caught = 0
    for layout in ("crew_cab_tray", "relay_pair", "solar_only_van"):
        found = all_hypotheses(load_layout(layout), base()[0])[1:]
        for number, hidden in enumerate(found[:: max(1, len(found) // 40)]):
            told = _caught(layout, hidden, 9500 + number)
            if told is not None:
                visible += 1
                caught += told
    print(f"caught {caught} of {visible} faults that some step reads beyond its failing band")
    assert visible >= 40
    assert caught >= 0.97 * visible
