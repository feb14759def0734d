"""What has been reached is not lost again, on a sample small enough for every slow run.

The floors that are aimed at are higher; `diagnose evaluate` plays as many vehicles as wanted and tells which of them
are reached.
"""

from __future__ import annotations

import pytest

from diagnose.evaluation.population import Story
from diagnose.evaluation.run import Plan, run
from diagnose.evaluation.summary import summarize
from diagnose.store.installations import load_layout
from tests.inference.engines import TOOLS, rule_base

LAYOUTS = ("engine_bay_pair", "solar_only_van")
pytestmark = pytest.mark.slow


@pytest.mark.parametrize(("sound", "wrong", "least"), [(0.0, 0.0, 0.7), (0.15, 0.03, 0.55)])
def test_the_right_place_comes_first(sound: float, wrong: float, least: float) -> None:
    layouts = tuple((name, load_layout(name)) for name in LAYOUTS)
    told = Plan(layouts, *rule_base(), 16, 31, Story(sound, wrong, 1, TOOLS), ("engine",), False, False)
    (engine,) = (p for p in summarize(told, run(told, 2)).players if p.name == "engine")
    assert engine.first.value >= least
