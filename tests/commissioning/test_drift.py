"""A joint then and now."""

from __future__ import annotations

import pytest

from diagnose.commissioning.drift import drifted, paired, resistance
from diagnose.model.commissioning import Baseline

OLD = Baseline("tray_strap", ("tray", "chassis"), 0.0005, 0.0001)


def test_nine_watts_in_a_joint_that_passes_its_limit() -> None:
    ohms, uncertainty = resistance(-0.18, 0.001, 50.0, 1.0)
    assert ohms * 50.0**2 == pytest.approx(9.0)
    assert uncertainty == pytest.approx(((0.001 / 50) ** 2 + (0.0036 * 0.02) ** 2) ** 0.5)
    with pytest.raises(ValueError, match="no current"):
        resistance(0.1, 0.001, 0.0, 0.15)


def test_both_uncertainties_count() -> None:
    assert drifted(OLD, OLD._replace(ohms=0.00079))
    assert not drifted(OLD, OLD._replace(ohms=0.00079, uncertainty=0.0002))
    assert drifted(OLD, OLD._replace(ohms=0.0001))


def test_another_joint_is_no_comparison() -> None:
    assert not drifted(OLD, OLD._replace(between=("chassis", "tray")))
    with pytest.raises(ValueError, match="not the same joint"):
        drifted(OLD, OLD._replace(part="other"))


def test_pairs_are_of_the_same_joint_whichever_way_it_was_read() -> None:
    other = OLD._replace(part="engine_strap")
    now = [OLD._replace(between=("chassis", "tray"), ohms=0.0006), OLD._replace(part="new_strap"),
           OLD._replace(between=("chassis", "tray"), ohms=0.002)]  # fmt: skip
    assert paired([OLD, other], now) == ((OLD, now[2], True), (other, None, False))
    assert paired([OLD], [OLD]) == ((OLD, OLD, False),)
    assert paired([], now) == ()
