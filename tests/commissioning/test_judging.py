"""Verdicts on single steps: what is right, what is not, and above all what cannot be told."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy.stats import norm

from diagnose.basics.quantities import QuantityError
from diagnose.commissioning.answers import answer_of, meter_error
from diagnose.commissioning.bands import band_of, family_z
from diagnose.commissioning.progress import StepEvent
from diagnose.model.commissioning import StepResult
from tests.commissioning.vehicles import base, begun, steps

LAYOUT = "crew_cab_tray"


def found(step: str, *told: tuple[str, str], layout: str = LAYOUT) -> StepResult:
    """Return the result of a step after some answers, the last of them being of that step unless it is worked out."""
    job = begun(layout)
    for name, text in told:
        job.feed(StepEvent("answer", name, text))
    return job.result(step)


def of(step: str, text: str, *before: tuple[str, str]) -> StepResult:
    return found(step, *before, (step, text))


FULL = (("input_current:charger", "36"), ("output_current:charger", "30.1"), ("output_volts:charger", "14.0"))


def test_a_drop_is_judged_twice_and_the_model_sees_what_the_limit_lets_pass() -> None:
    result = of("leg_drop:input_cable", "0.45", *FULL)
    assert result.by_limit is not None
    assert result.by_model is not None
    assert (result.by_limit.verdict, result.by_model.verdict, result.verdict) == ("PASS", "FAIL", "FAIL")
    assert " W at " in result.says
    assert of("leg_drop:input_cable", "0.24", *FULL).verdict == "PASS"


def test_a_drop_is_extrapolated_to_full_rating() -> None:
    """Half the current and half the drop are the same joint: Ohm's law."""
    full = of("leg_drop:input_cable", "0.24 at 36")
    half = of("leg_drop:input_cable", "0.12 at 18")
    assert full.by_limit is not None
    assert half.by_limit is not None
    assert float(full.by_limit.says.split()[0]) == pytest.approx(float(half.by_limit.says.split()[0]), abs=0.002)
    errors = [float(r.by_limit.says.split()[3]) for r in (full, half) if r.by_limit is not None]
    assert errors[1] > errors[0]


def test_too_little_current_is_invalid_with_how_to_make_it_valid_and_no_current_too() -> None:
    little = of("leg_drop:input_cable", "0.02", ("input_current:charger", "3.1"))
    for result in (little, of("leg_drop:input_cable", "0.2")):
        assert result.verdict == "INVALID"
        assert "1,200 rev/min" in result.makes_valid
    assert of("device_drop:engine_strap", "0.02", *FULL).verdict == "INVALID"  # it carries a current of its own
    assert of("device_drop:engine_strap", "0.020 at 18", *FULL).verdict == "PASS"


def test_a_full_battery_makes_the_output_invalid_and_a_hungry_one_makes_it_fail() -> None:
    assert of("output_current:charger", "5", ("output_volts:charger", "14.65")).verdict == "INVALID"
    assert of("output_current:charger", "5", ("output_volts:charger", "13.2")).verdict == "FAIL"
    assert of("output_current:charger", "29.8", ("output_volts:charger", "13.2")).verdict == "PASS"
    assert of("output_current:charger", "5").verdict == "INVALID"


def test_the_clamp_that_cannot_tell_is_invalid_and_a_better_one_tells() -> None:
    assert of("drain:house_battery", "0.03").verdict == "INVALID"
    assert "flip" in of("drain:house_battery", "0.03").makes_valid or "turn it round" in of(
        "drain:house_battery", "0.03").makes_valid  # fmt: skip
    assert of("drain:house_battery", "0.03 within 0.01").verdict == "PASS"
    assert of("drain:house_battery", "0.25 within 0.01").verdict == "FAIL"
    assert of("drain:house_battery", "-3.0").verdict == "FAIL"  # far beyond what the clamp may be off


def test_skipped_is_not_done_and_open_is_not_zero() -> None:
    assert of("bond_continuity:tray_strap", "skipped").verdict == "NOT DONE"
    assert of("bond_continuity:tray_strap", "OL").verdict == "FAIL"
    assert of("bond_continuity:tray_strap", "0.2").verdict == "PASS"
    assert of("leg_drop:input_cable", "OL", *FULL).verdict == "INVALID"
    assert found("drain:house_battery").verdict == "NOT DONE"


def test_words_and_what_comes_and_goes() -> None:
    assert of("battery_fixed:house_battery", "yes").verdict == "PASS"
    assert of("battery_fixed:house_battery", "no").verdict == "FAIL"
    assert of("terminations:input_cable@charger_in", "loose").verdict == "LOOK"
    assert of("fuse_looked_at:input_fuse", "blown").verdict in ("FAIL", "LOOK")
    assert of("charger_starts:charger", "off").verdict == "LOOK"  # one in a hundred is a slip
    assert of("input_volts:charger", "unsteady 11.6 to 13.2 V").verdict == "FAIL"


def test_torque_is_judged_without_the_drag_of_the_nut() -> None:
    """IEC 60947-1, Table 4 (common practice): 6 N.m on an 8 mm brass stud."""
    assert of("torque:charger_in", "8 mm 9 Nm drag 3 Nm").verdict == "PASS"
    assert of("torque:charger_in", "8 mm 6 Nm drag 3 Nm").verdict == "FAIL"
    assert of("torque:charger_in", "8 mm 6 Nm").verdict == "PASS"
    assert of("torque:charger_in", "20 mm 6 Nm").verdict == "INVALID"
    with pytest.raises(QuantityError, match="drag"):
        of("torque:charger_in", "tight")


def test_absorption_waits_for_the_current_to_fall() -> None:
    told = ("output_current:charger", "28")
    assert of("absorption:house_battery", "14.65 within 0.03", told).verdict == "INVALID"
    assert of("absorption:house_battery", "14.65 at 3 within 0.03", told).verdict == "PASS"  # what was told with it
    low = ("output_current:charger", "3")
    assert of("absorption:house_battery", "14.65 within 0.03", low).verdict == "PASS"
    assert of("absorption:house_battery", "14.1 within 0.03", low).verdict == "FAIL"


def test_efficiency_above_one_is_a_wrong_reading_and_is_worked_out_from_the_four() -> None:
    """Power out over power in: 14.4 V 30 A from 12.8 V 37.5 A is exactly 0.9."""
    assert Fraction(144, 10) * 30 / (Fraction(128, 10) * Fraction(375, 10)) == Fraction(9, 10)
    told = [("input_volts:charger", "12.8"), ("input_current:charger", "37.5"), ("output_volts:charger", "14.4"),
            ("output_current:charger", "30")]  # fmt: skip
    good = found("efficiency:charger", *told)
    assert good.verdict == "PASS"
    assert good.says.startswith("0.90 share")
    assert found("efficiency:charger", *told[:3]).verdict == "NOT DONE"
    bad = found("efficiency:charger", *told[:1], ("input_current:charger", "26"), *told[2:])
    assert bad.verdict == "FAIL"


def test_what_does_not_arrive_is_seen() -> None:
    told = ("output_current:charger", "30")
    assert found("balance:house_battery", told, ("battery_current:house_battery", "29.8")).verdict == "PASS"
    assert found("balance:house_battery", told, ("battery_current:house_battery", "18")).verdict == "FAIL"


def test_the_family_of_steps_is_sidaks() -> None:
    """Sidak's inequality, against the normal distribution of scipy: all steps within together 95 %."""
    for count in (1, 20, 140):
        inside = 1.0 - 2.0 * norm.sf(family_z(count))
        assert inside**count == pytest.approx(0.95, abs=1e-9)


@pytest.mark.parametrize("spread", ["normal", "log"])
def test_the_fitted_tail_is_that_of_the_distribution(spread: str) -> None:
    draws = np.random.default_rng(7).standard_normal(200_000)
    values = draws if spread == "normal" else np.exp(0.5 * draws)
    z = family_z(140)
    band = band_of(np.sort(values)[200:-200], z)  # without the farthest draws, so that the fit itself is looked at
    exact = z if spread == "normal" else math.exp(0.5 * z)
    assert band.most == pytest.approx(exact, rel=0.03)
    assert band.high == pytest.approx(1.96 if spread == "normal" else math.exp(0.98), rel=0.02)


def test_answers_are_read_with_their_current_and_their_error() -> None:
    step = steps(LAYOUT)[1]
    drop = next(p.step for p in step if p.rule.id == "leg_drop")
    answer = answer_of("138 mV at 24.5 A", drop)
    assert (answer.read.value, answer.current, answer.within) == (0.138, 24.5, None)
    answer = answer_of("0.14 at 20 within 0.01", drop)
    assert (answer.read.value, answer.current, answer.within) == (0.14, 20.0, 0.01)
    for wrong in ("0.14 at noon", "lots", "0.14 at", ""):
        with pytest.raises(QuantityError):
            answer_of(wrong, drop)


def test_the_error_of_the_meter_is_that_of_its_table() -> None:
    tables = base()[1]
    assert meter_error("volts", 12.0, tables) == pytest.approx(2 * 0.003 * 12 + 2 * 0.01)
    assert meter_error("volts", 0.05, tables) == pytest.approx(2 * 0.003 * 0.05 + 2 * 0.0001)
    assert meter_error("amps", 0.0, tables) == pytest.approx(0.3)
