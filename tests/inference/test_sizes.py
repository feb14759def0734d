"""How large a fault is before any reading: the middle of what was drawn, and nine in ten about it, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.inference.sizes import size_after
from diagnose.model.ranking import Size


def without_readings(sizes: np.ndarray, log: bool = False) -> Size | None:
    """Return the size of a fault of one stratum of which nothing was read."""
    evidence = SimpleNamespace(predicted=np.zeros((1, len(sizes), 0)), read=np.zeros(0))
    bank = SimpleNamespace(
        member=np.zeros((1, len(sizes)), dtype=np.intp), mean=np.zeros((1, 0)), covariance=np.zeros((1, 0, 0))
    )
    fit = SimpleNamespace(stratum=np.zeros(1), log_likelihood=np.zeros(1))
    belief = SimpleNamespace(evidence=evidence, bank=bank, fit=fit)
    return size_after(belief, 0, sizes, "ohm", log)  # type: ignore[arg-type]


def test_nine_in_ten_lie_within_the_range() -> None:
    # Source: normal table, 1.64 standard deviations; an even spread from a to b has (b - a) / sqrt(12)
    found = without_readings(np.linspace(1.0, 3.0, 1001))
    assert found is not None
    reach = 1.64 * 2.0 / np.sqrt(12)
    assert found[:3] == pytest.approx((2.0, 2.0 - reach, 2.0 + reach), rel=2e-3)


def test_a_size_spread_evenly_in_its_logarithm_has_its_middle_there() -> None:
    found = without_readings(np.geomspace(0.01, 1.0, 1001), log=True)
    assert found is not None
    assert found.value == pytest.approx(0.1, rel=1e-6)
    assert found.low * found.high == pytest.approx(found.value**2, rel=1e-6)


def test_all_of_one_size_need_no_range() -> None:
    assert without_readings(np.full(5, 0.2)) is None
