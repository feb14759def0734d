"""The course of a commissioning: what is open, what a repair asks again, what the record says."""

from __future__ import annotations

from diagnose.commissioning.progress import Commissioning, StepEvent, disturbed
from diagnose.commissioning.record import Signed, baseline_of, record_of
from tests.commissioning.vehicles import base, begun, played, steps, vehicle_of

LAYOUT = "crew_cab_tray"
SIGNED = Signed("R. Sample", "2026-03-02", ("meter",), "0", "rules", "installation")


def test_answers_close_steps_back_opens_them_and_events_are_all_that_counts() -> None:
    job = begun(LAYOUT)
    first, second = job.open_steps()[:2]
    job.feed(StepEvent("answer", first, "yes"))
    job.feed(StepEvent("answer", second, "no"))
    assert job.result(second).verdict == "FAIL"
    job.feed(StepEvent("back"))
    assert job.open_steps()[0] == second
    installation, planned, model = steps(LAYOUT)
    again = Commissioning(installation, base()[1], planned, model, job.events)
    assert again.results() == job.results()


def test_a_repair_asks_that_row_again_and_those_it_could_have_disturbed() -> None:
    job = played(LAYOUT, vehicle_of(LAYOUT, "", 707))
    assert not job.open_steps()
    job.feed(StepEvent("repaired", text="tray_strap"))
    again = set(job.open_steps())
    assert {"bond_continuity:tray_strap", "device_drop:tray_strap", "earth_continuity:house_neg_charger_neg"} & again
    assert "device_drop:tray_strap" in again
    assert "leg_drop:house_earth" in again  # it shares the tray floor
    assert "drain:start_battery" not in again
    assert job.result("device_drop:tray_strap").verdict == "NOT DONE"
    assert disturbed("no such part", job.planned, job.installation) == ()


def test_what_is_worked_out_from_a_disturbed_step_is_open_too() -> None:
    job = begun(LAYOUT)
    assert "efficiency:charger" in disturbed("input_cable", job.planned, job.installation)


def test_the_record_keeps_everything_and_skipped_is_an_open_point() -> None:
    job = played(LAYOUT, vehicle_of(LAYOUT, "", 707))
    name = "drain:house_battery"
    job.feed(StepEvent("answer", name, "skipped"))
    record = record_of(job.installation, job.results(), job.tables, base()[0], SIGNED)
    assert len(record.rows) == len(job.planned)
    assert any("Not done (1 of" in line for line in record.open_points)
    assert any("Tug" in line for line in record.recheck)
    assert any("under load" in line for line in record.recheck)
    assert record.cautions
    assert record.rules_hash == "rules"


def test_the_baseline_is_the_resistance_of_each_joint() -> None:
    """Ohm's law: 45 mV at 30 A is 1.5 mohm."""
    job = begun(LAYOUT)
    job.feed(StepEvent("answer", "leg_drop:output_cable", "0.045 at 30"))
    job.feed(StepEvent("answer", "leg_drop:input_cable", "0.001 at 1"))  # too little current: no baseline
    found = baseline_of(job.results(), job.tables)
    assert [one.part for one in found] == ["output_cable"]
    assert abs(found[0].ohms - 0.0015) < 1e-12
    assert 0 < found[0].uncertainty < 0.0001


def test_danger_is_seen_in_the_readings() -> None:
    job = begun(LAYOUT)
    assert job.danger() == ()
    job.feed(StepEvent("answer", "polarity:house_battery", "-12.6"))
    assert "reversed" in " ".join(job.danger()).casefold() or job.danger()
