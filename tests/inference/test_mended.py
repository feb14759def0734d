"""Which hypothesis a repair mended, and how large the fault was: no wider than what was believed, by half a step."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.inference import two_faults
from diagnose.inference.after_repairs import mended_numbers
from diagnose.inference.two_faults import ROUNDED, TwoFaults
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Reading
from diagnose.prediction.hypotheses import SOUND, Hypothesis

LUGS = [FaultAt("wrong_connection", "feed", at, to) for at in ("a", "b") for to in ("c", "d")]
HYPOTHESES = [SOUND, *(Hypothesis(fault, None, 1.0) for fault in LUGS)]


@pytest.mark.parametrize(
    ("mended", "number"),
    [
        (FaultAt("wrong_connection", "feed", "b", "d"), 4), (FaultAt("wrong_connection", "feed", "b"), 3),
        (FaultAt("wrong_connection", "feed", "e"), None), (FaultAt("open_circuit", "feed", "b"), None),
        (FaultAt("wrong_connection", "other", "b"), None),
    ],
)  # fmt: skip
def test_a_repair_is_of_the_fault_at_that_end_wherever_the_end_had_gone(mended: FaultAt, number: int | None) -> None:
    assert mended_numbers([Reading(None, None, mended)], HYPOTHESES) == (number,)


def sizes_after(monkeypatch: pytest.MonkeyPatch, sizes: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Return the sizes given to a mended fault where vehicles of these sizes are believed by these weights."""
    monkeypatch.setattr(two_faults, "sizes_of", lambda *_: sizes)
    monkeypatch.setattr(two_faults, "vehicle_weights", lambda _: weights[None])
    even = (np.arange(len(sizes)) + 0.5) / len(sizes)
    place = SimpleNamespace(hypotheses=HYPOTHESES[1:], installation=None)
    place._streams = SimpleNamespace(share=lambda name: even)
    return TwoFaults._size(place, 0, None)  # type: ignore[arg-type]


@pytest.mark.parametrize("middle", [-5.3, -3.1, -0.6])
def test_a_size_lies_where_it_is_believed_to_within_half_a_step(monkeypatch: pytest.MonkeyPatch, middle: float) -> None:
    logs = np.linspace(-7.0, 1.0, 401)
    believed = (np.abs(logs - middle) < 0.4).astype(float)
    found = np.log(sizes_after(monkeypatch, np.exp(logs), believed / believed.sum()))
    # the ends are the 10 % points, 0.32 to either side, rounded outwards
    assert middle - 0.4 - ROUNDED < found.min() < middle - 0.25
    assert middle + 0.25 < found.max() < middle + 0.4 + ROUNDED
    assert np.diff(found) == pytest.approx(np.full(400, np.ptp(found) / 400), rel=1e-6)


def test_a_fault_of_one_size_keeps_it(monkeypatch: pytest.MonkeyPatch) -> None:
    sizes = np.full(20, 0.05)
    assert sizes_after(monkeypatch, sizes, np.full(20, 0.05)).tolist() == sizes.tolist()
