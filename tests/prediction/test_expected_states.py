"""The expected band is honest also in the states that are seldom measured in.

Beside `test_expected`, which goes through the tests that are proposed: idle, key on, cranking, engine and sun, and the
volts of an isolated battery.
"""

from __future__ import annotations

import pytest

from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.terminals import poles_of
from diagnose.store.installations import layout_ids, load_layout
from tests.prediction.test_expected import check, coverage


def states(installation: Installation) -> list[str]:
    kinds = {part.kind for part in installation.parts.values()}
    needed = {"key_on": "alternator", "engine_idle": "alternator", "cranking": "starter", "engine_and_sun": "panel"}
    return [state for state, kind in needed.items() if kind in kinds and ("alternator" in kinds or kind != "panel")]


def takes(layout: str) -> list[Take]:
    installation = load_layout(layout)
    parts = installation.parts
    posts = {name: poles_of(part) for name, part in parts.items() if part.kind == "battery"}
    points = [pair for part in parts.values() if (pair := poles_of(part))]
    points += [(p.input, p.negative) for p in parts.values() if p.kind == "charger" and p.input]
    found = [Take("volts", (a, b), state) for state in states(installation) for a, b in dict.fromkeys(points)]
    found += [Take("amps", (name,), state) for state in states(installation) for name in posts]
    return found + [Take("volts", (a, b), "isolated") for a, b in posts.values()]


def test_band_is_honest_while_cranking_at_idle_and_isolated() -> None:
    asked = takes("engine_bay_pair")
    assert {t.when for t in asked} == {"key_on", "engine_idle", "cranking", "isolated"}
    check(coverage("engine_bay_pair", asked))


@pytest.mark.slow
@pytest.mark.parametrize("layout", layout_ids())
def test_band_is_honest_in_every_seldom_state(layout: str) -> None:
    check(coverage(layout, takes(layout)))
