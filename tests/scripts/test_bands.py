"""Bins joined to bands: where they are cut, and what they keep."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.scripts.bands import MOST, best_cuts, held_back


def information(joint: np.ndarray) -> float:
    """Return the information between rows and columns of a table that sums to 1."""
    return float(held_back(joint).sum() - held_back(joint.sum(axis=0)[None])[0])


def test_a_clean_cut_is_found() -> None:
    joint = np.array([[0.1, 0.0, 0.0], [0.2, 0.0, 0.0], [0.0, 0.3, 0.0], [0.0, 0.0, 0.3], [0.0, 0.0, 0.1]])
    assert best_cuts(joint) == (2, 3)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3), min_size=2, max_size=9))
def test_bands_are_few_in_order_and_lose_no_more_than_other_cuts(rows: list[list[float]]) -> None:
    joint = np.array(rows) + 1e-9
    joint /= joint.sum()
    cuts = best_cuts(joint)
    assert list(cuts) == sorted(set(cuts))
    assert 1 <= len(cuts) < MOST
    kept = information(np.add.reduceat(joint, [0, *cuts], axis=0))
    assert kept <= information(joint) + 1e-9
    if len(cuts) == 1:
        every = [information(np.add.reduceat(joint, [0, k], axis=0)) for k in range(1, len(joint))]
        assert kept >= max(every) - 1e-9
