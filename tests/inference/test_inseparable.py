"""Faults that no test tells apart: known pairs, and what another tool changes."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.inseparable import groups_of, inseparable
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base

LAYOUT = "relay_pair"


def labels(*tools: str) -> list[set[str]]:
    return [{each.label for each in group} for group in inseparable(load_layout(LAYOUT), *rule_base(), tools)]


def test_eyes_tell_a_wrong_fuse_from_none_wrong() -> None:
    by_meter = labels("multimeter", "clamp")
    (group,) = [group for group in by_meter if "nothing wrong" in group]
    assert any(each.startswith("wrong_rating") for each in group)
    assert not any("nothing wrong" in group for group in labels("multimeter", "clamp", "eyes"))


def test_without_tools_all_faults_are_one_group() -> None:
    (group,) = labels()
    assert "nothing wrong" in group
    assert len(group) > 50


@pytest.mark.parametrize("seed", range(5))
def test_groups_hang_together(seed: int) -> None:
    chance = np.random.default_rng(seed)
    alike = chance.random((12, 12)) < 0.08
    alike |= alike.T | np.eye(12, dtype=bool)
    reach = np.linalg.matrix_power(alike.astype(int), 12) > 0
    expected = {tuple(np.flatnonzero(row).tolist()) for row in reach if row.sum() > 1}
    assert set(groups_of(alike)) == expected
