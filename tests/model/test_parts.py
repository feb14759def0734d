"""Every kind of part takes its required keys, and no word passes for a flag."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from diagnose.model.installation import Installation

REQUIRED: dict[str, dict[str, Any]] = {
    "battery": {"pos": "a", "neg": "b", "chemistry": "agm", "capacity": "100 Ah"},
    "alternator": {"pos": "a", "neg": "b", "regulation": "variable", "rating": "90 A"},
    "charger": {
        "output": "a", "negative": "b", "rating": "30 A", "profiles": [{"name": "AGM", "voltage": "14.7 V"}],
        "profile": "AGM",
    },
    "cable": {"ends": ["a", "b"], "area": "16 mm2", "length": "4.8 m"},
    "fuse": {"ends": ["a", "b"], "rating": "50 A", "style": "bolted"},
    "switch": {"ends": ["a", "b"]},
    "contact": {"ends": ["a", "b"]},
    "bond": {"ends": ["a", "b"]},
    "relay": {"coil": ["a", "b"], "ends": ["c", "d"]},
    "diode": {"ends": ["a", "b"]},
    "shunt": {"ends": ["a", "b"]},
    "load": {"pos": "a", "neg": "b"},
    "starter": {"pos": "a", "neg": "b", "current": "180 A"},
    "supply": {"pos": "a", "neg": "b", "voltage": "14.4 V", "rating": "15 A"},
    "panel": {"pos": "a", "neg": "b", "power": "120 W", "open_circuit": "22 V", "peak_voltage": "18 V"},
}


def part(kind: str, keys: dict[str, Any]) -> Any:
    return Installation.model_validate({"title": "t", "parts": {"p": {"kind": kind, **keys}}}).parts["p"]


@pytest.mark.parametrize("kind", sorted(REQUIRED))
def test_required_keys_are_enough_and_each_is_required(kind: str) -> None:
    assert part(kind, REQUIRED[kind]).kind == kind
    for key in REQUIRED[kind]:
        with pytest.raises(ValidationError):
            part(kind, {name: value for name, value in REQUIRED[kind].items() if name != key})


@pytest.mark.parametrize(
    ("kind", "key", "value"),
    [
        ("battery", "protection", "on"), ("battery", "protection", 1), ("load", "always_on", "yes"),
        ("charger", "shares_solar", "true"), ("charger", "efficiency", "nan"), ("charger", "efficiency", True),
        ("charger", "efficiency", 0), ("charger", "efficiency", 90), ("cable", "bundled", True),
        ("cable", "bundled", 0), ("cable", "bundled", 2.5), ("switch", "position", "off"), ("fuse", "rating", "-5 A"),
    ],
)
def test_refused_values(kind: str, key: str, value: object) -> None:
    with pytest.raises(ValidationError):
        part(kind, {**REQUIRED[kind], key: value})
