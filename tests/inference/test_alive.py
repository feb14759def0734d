"""Which suspects still count for the next tests: nothing wrong first, then the fewest that hold nearly all belief."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.inference.next_tests import HELD, alive


@pytest.mark.parametrize(
    "posterior",
    [
        [0.1, 0.6, 0.2995, 0.0003, 0.0002], [0.0, 0.0001, 0.9995, 0.0004], [0.25, 0.25, 0.25, 0.25],
        [0.99, 0.0, 0.01, 0.0], [0.0, 0.2, 0.3, 0.1, 0.4],
    ],
    ids=str,
)  # fmt: skip
def test_the_fewest_that_hold_nearly_all_count_and_nothing_wrong_always_does(posterior: list[float]) -> None:
    found = alive(SimpleNamespace(posterior=np.array(posterior))).tolist()  # type: ignore[arg-type]
    assert found[0] == 0
    order = sorted(range(len(posterior)), key=lambda n: -posterior[n])
    fewest = next(k for k in range(1, len(order) + 1) if sum(posterior[n] for n in order[:k]) >= HELD - 1e-12)
    assert set(found) == {0, *order[: max(fewest, 2)]}
    assert len(found) == len(set(found))
