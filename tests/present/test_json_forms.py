"""The JSON that others build on: every key as its form says, in its order, numbers of six significant digits."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take
from diagnose.present.json_forms import expected_json, ranking_json, rounded, take_json
from tests.present.records import DANGER, DROP, EXPECTED, FOUND, INPUT, LEAD, RANKING

ENTRY = {
    "fault", "part", "at", "probability", "evidence_db", "size", "convicted", "for", "against", "remedy", "proof",
    "causes",
}  # fmt: skip


def form() -> dict[str, Any]:
    return dict(json.loads(ranking_json(RANKING)))


def test_the_keys_of_a_ranking_are_those_of_the_form() -> None:
    assert list(form()) == [
        "schema", "readings_used", "faults", "no_fault", "no_fault_because", "unlisted", "doubtful_readings", "next",
        "stop",
    ]  # fmt: skip
    assert form()["schema"] == "diagnose/ranking/1"
    first, second, third = form()["faults"]
    assert set(first) == ENTRY | {"or"}
    assert set(second) == ENTRY | {"with", "to"}
    assert set(third) == ENTRY
    assert set(first["size"]) == {"value", "low", "high", "unit"}
    assert [set(r) for r in first["for"] + first["against"]] == [{"reading", "db", "says"}] * 2
    assert [set(s) for s in form()["no_fault_because"]] == [{"state", "probability", "says"}]
    assert [set(d) for d in form()["doubtful_readings"]] == [{"reading", "chance_wrong", "expected", "says"}]
    keys = {"take", "minutes", "information_bits", "expect", "why", "cautions"}
    assert [set(t) for t in form()["next"]] == [keys] * 3
    assert form()["next"][0]["expect"][0] == {"if": "high_resistance tray_strap", "read": "0.55 V to 0.75 V"}


def test_causes_of_a_fault_are_named_with_their_remedies() -> None:
    first, second, _ = form()["faults"]
    assert [list(c) for c in first["causes"]] == [["cause", "probability", "says", "remedy", "proof"]] * 3
    assert (first["causes"][0]["cause"], first["causes"][0]["probability"]) == ("corroded_joint", 0.621235)
    assert second["causes"] == []


def test_a_state_that_is_not_explained_has_no_words() -> None:
    bare = json.loads(ranking_json(RANKING._replace(no_fault_says=())))
    assert bare["no_fault_because"] == [{"state": "battery_full", "probability": 0.812346}]


def test_what_is_not_there_is_null_and_not_left_out() -> None:
    first, second, _ = form()["faults"]
    assert first["at"] is None
    assert second["size"] is None
    assert form()["stop"] is None
    assert form()["next"][1]["cautions"] == []


def test_two_faults_together_and_faults_not_told_apart_are_named() -> None:
    first, second, _ = form()["faults"]
    assert first["or"] == [{"fault": "high_resistance", "part": "engine_strap", "at": None}]
    assert second["with"] == [{"fault": "high_resistance", "part": "tray_strap", "at": None}]
    assert second["to"] == "house_pos"


def test_a_stop_says_why() -> None:
    for ranking, because in ((FOUND, "found"), (DANGER, "danger")):
        stop = json.loads(ranking_json(ranking))["stop"]
        assert set(stop) == {"because", "says"}
        assert stop["because"] == because


def numbers(value: Any) -> list[float]:
    if isinstance(value, dict):
        return [n for each in value.values() for n in numbers(each)]
    if isinstance(value, list):
        return [n for each in value for n in numbers(each)]
    return [value] if isinstance(value, float) else []


def test_numbers_have_six_significant_digits() -> None:
    first = form()["faults"][0]
    assert (first["probability"], first["evidence_db"]) == (0.912346, 21.4322)
    assert first["size"]["value"] == 0.0851235
    found = numbers(form()) + numbers(json.loads(expected_json(EXPECTED, None)))
    assert len(found) > 20
    assert all(n == float(f"{n:.6g}") for n in found)


@pytest.mark.parametrize(("value", "shown"), [
    (None, None), (math.inf, None), (math.nan, None), (0.0, 0.0), (1234567.0, 1234570.0), (-1.23456789e-9, -1.23457e-9),
])  # fmt: skip
def test_rounding(value: float | None, shown: float | None) -> None:
    assert rounded(value) == shown


def test_probabilities_still_sum_to_one_after_rounding() -> None:
    total = sum(f["probability"] for f in form()["faults"]) + form()["no_fault"] + form()["unlisted"]
    assert total == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(("take", "shown"), [
    (DROP, {"volts": ["tray", "chassis"], "when": "engine_running"}),
    (INPUT, {"jumper": ["tray", "chassis"], "volts": ["charger_in", "charger_neg"], "when": "engine_running"}),
    (Take("amps", ("input_cable",), "loaded", swap="input_fuse"),
     {"swap": "input_fuse", "amps": "input_cable", "when": "loaded"}),
    (DROP._replace(meter="test_lamp"), {"volts": ["tray", "chassis"], "when": "engine_running", "meter": "test_lamp"}),
    (Take("tug", ("input_cable@charger_in",), "at_rest"), {"tug": "input_cable@charger_in", "when": "at_rest"}),
])  # fmt: skip
def test_a_test_is_written_as_the_readings_form_has_it(take: Take, shown: dict[str, Any]) -> None:
    assert take_json(take) == shown
    assert list(take_json(take)) == list(shown)


def test_the_keys_of_expected_readings_are_those_of_the_form() -> None:
    found = json.loads(expected_json(EXPECTED, None))
    assert list(found) == ["schema", "fault", "expected"]
    assert (found["schema"], found["fault"]) == ("diagnose/expected/1", None)
    volts, lamp, ohms = found["expected"]
    assert list(volts) == ["take", "value", "low", "high", "unit", "limit", "chances"]
    assert volts["limit"] == {"low": 12.4, "high": 15.5, "why": "below its stop voltage the charger switches off"}
    assert (volts["value"], volts["chances"]) == (13.1235, {"unsteady": 0.0312346})
    assert (lamp["value"], lamp["limit"], lamp["chances"]) == (None, None, {"on": 0.98, "off": 0.02})
    assert "chances" not in ohms


def test_the_fault_that_is_assumed_is_named_with_its_size() -> None:
    named = json.loads(expected_json((), FaultAt("high_resistance", "tray_strap", size=0.09)))["fault"]
    assert named == {"fault": "high_resistance", "part": "tray_strap", "at": None, "size": 0.09}
    assert json.loads(expected_json((), LEAD))["fault"]["to"] == "house_pos"
