"""A rough belief allows for the gaps between few vehicles, and only for those."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.evidence import Evidence
from diagnose.inference.posterior import believe
from diagnose.inference.ruled_out import GAPS, roughly

PRIOR = np.array([0.3, 0.4, 0.28])


def few(spread: float, noise: float) -> Evidence:
    """Return one reading on eight vehicles, whose hypotheses lie a volt apart."""
    predicted = np.array([12.0, 13.0, 14.0])[:, None, None] + spread * np.linspace(-1.0, 1.0, 8)[:, None]
    shape = predicted.shape
    return Evidence(
        (0,), np.array([12.3]), predicted, np.full(shape, noise), np.array([16.0]), (), np.ones((3, 8, 0)),
        np.zeros((3, 8)),
    )  # fmt: skip


def test_without_a_spread_there_are_no_gaps() -> None:
    strata = np.zeros((3, 8), dtype=np.intp)
    plain = believe(PRIOR, few(0.0, 0.2), strata)
    assert roughly(PRIOR, few(0.0, 0.2), strata).posterior == pytest.approx(plain.posterior, rel=1e-12)
    assert plain.posterior.argmax() == 0


def test_the_noise_grows_by_a_share_of_the_spread_of_each_hypothesis() -> None:
    strata = np.zeros((3, 8), dtype=np.intp)
    own = float(np.linspace(-1.0, 1.0, 8).std())
    plain = believe(PRIOR, few(1.0, float(np.hypot(0.2, GAPS * own))), strata)
    assert roughly(PRIOR, few(1.0, 0.2), strata).posterior == pytest.approx(plain.posterior, rel=1e-9)


def test_vehicles_with_the_joint_open_do_not_blur_those_with_it_sound() -> None:
    coming_and_going = np.tile([0, 1], 4)
    strata = np.array([np.zeros(8), coming_and_going, np.zeros(8)]).astype(np.intp)
    evidence = few(0.0, 0.2)
    evidence.predicted[1, :, 0] = np.where(coming_and_going == 0, 12.3, 0.0)
    plain = believe(PRIOR, evidence, strata)
    assert roughly(PRIOR, evidence, strata).posterior == pytest.approx(plain.posterior, rel=1e-9)
    assert plain.posterior[1] > 0.2
