"""Each rule of the verdict on one reading."""

from __future__ import annotations

import pytest

from diagnose.commissioning.verdicts import at_full_current, by_band, by_limit, worst


def test_beyond_the_limit_by_less_than_the_meter_can_tell_is_no_fail() -> None:
    assert by_limit(0.255, 0.01, None, 0.25) == "LOOK"
    assert by_limit(0.261, 0.01, None, 0.25) == "FAIL"
    assert by_limit(12.3, 0.05, 12.4, 15.5) == "FAIL"
    assert by_limit(0.25, 0.01, None, 0.25) == "PASS"


def test_a_meter_as_coarse_as_the_limits_tells_nothing() -> None:
    assert by_limit(0.0, 0.1, -0.1, 0.1) == "INVALID"


def test_a_drop_within_the_limit_may_be_far_outside_the_model() -> None:
    assert by_limit(0.30, 0.004, None, 0.36) == "PASS"
    assert by_band(0.30, (0.09, 0.16), (0.07, 0.20)) == "FAIL"
    assert worst(by_limit(0.30, 0.004, None, 0.36), by_band(0.30, (0.09, 0.16), (0.07, 0.20))) == "FAIL"


def test_a_drop_at_part_of_the_current_is_carried_to_the_whole_with_its_error() -> None:
    value, error = at_full_current(0.06, 0.003, -25.0, 1.0, 50.0)
    assert value == pytest.approx(0.12)
    assert error == pytest.approx(((0.006) ** 2 + (0.12 * 0.04) ** 2) ** 0.5)


def test_a_drop_without_current_is_refused() -> None:
    with pytest.raises(ValueError, match="no current flowed"):
        at_full_current(0.0, 0.001, 0.0, 0.15, 50.0)


def test_not_done_is_never_a_pass() -> None:
    assert worst("NOT DONE", "PASS") == "NOT DONE"
    assert worst("LOOK", "INVALID") == "INVALID"
