"""Vehicles moved by the readings keep the spread that is left, as the law of Gaussians has it."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.evidence import Evidence
from diagnose.inference.updating import Updating

VEHICLES = 240


@pytest.mark.parametrize("readings", [1, 2, 4])
def test_the_spread_left_after_readings_of_one_source_is_that_of_the_law(readings: int) -> None:
    """1 / var = 1 / before + readings / noise^2 where each reading has a noise of its own."""
    source = 14.0 + 0.3 * np.linspace(-1.0, 1.0, VEHICLES)
    noise = 0.1
    predicted = np.repeat(source[None, :, None], readings, axis=2)
    evidence = Evidence(
        tuple(range(readings)), np.full(readings, 14.05), predicted, np.full(predicted.shape, noise),
        np.full(readings, 16.0), (), np.ones((1, VEHICLES, 0)), np.zeros((1, VEHICLES)),
    )  # fmt: skip
    used = np.repeat(source[None], readings, axis=0)
    updating = Updating(evidence, np.array([0]), VEHICLES, range(readings), used)
    known = updating.known(source[None])
    left = 1.0 / np.sqrt(1.0 / source.var() + readings / noise**2)
    assert known.spread[0] == pytest.approx(left, rel=1e-3)
    # never wider: what one reading errs by is not what the next errs by (drawn evenly, they err apart, not at random)
    moved = float(updating.moved(source[None], known.cross[0]).std())
    assert moved <= 1.1 * left
    if readings == 1:
        assert moved == pytest.approx(left, rel=0.1)
