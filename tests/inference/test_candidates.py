"""Every test that may be proposed is one that a readings file takes back, with tools that allow it."""

from __future__ import annotations

import json

import pytest

from diagnose.inference.candidates import ALL_TOOLS, candidates, minutes_of
from diagnose.model.reading import QUANTITIES, Take
from diagnose.present.json_forms import take_json
from diagnose.store.installations import layout_ids, load_layout
from diagnose.store.readings import readings_from_document
from diagnose.store.yaml_text import yaml_document
from tests.inference.engines import rule_base

METER, CLAMP = ("volts", "ohms", "ripple"), ("amps",)
TOOL_OF = dict.fromkeys(METER, "multimeter") | dict.fromkeys(CLAMP, "clamp") | {"celsius": "thermometer"}


@pytest.mark.parametrize("layout", layout_ids())
def test_a_readings_file_takes_every_proposed_test_back(layout: str) -> None:
    installation = load_layout(layout)
    takes = candidates(installation, ALL_TOOLS)
    document = yaml_document(json.dumps({"readings": [take_json(t) for t in takes]}), "proposed")
    back = readings_from_document(document, installation, needs_read=False).readings
    assert tuple(r.take for r in back) == takes
    assert len(set(takes)) == len(takes) > 100


def test_tools_limit_what_is_proposed() -> None:
    installation = load_layout("crew_cab_tray")
    for tools in (("eyes",), ("multimeter",), ("clamp", "hands")):
        for take in candidates(installation, tools):
            assert TOOL_OF.get(take.quantity, "") in ("", *tools)
    assert not candidates(installation, ())
    assert {t.quantity for t in candidates(installation, ALL_TOOLS)} <= set(QUANTITIES)


def test_minutes_count_state_access_and_what_is_fitted() -> None:
    # the minutes of the readings form: volts 1, a change of state 1, a jumper 2, access once a zone
    installation, (rules, tables) = load_layout("crew_cab_tray"), rule_base()
    extra = tuple(tables.number("minutes", key) for key in ("change_of_state", "jumper_or_swap"))
    base = rules.tests["volts"].minutes
    plain = Take("volts", ("start_pos", "start_neg"), "engine_running")
    assert minutes_of(plain, base, installation, "engine_running", frozenset(), extra) == 1.0
    assert minutes_of(plain, base, installation, "at_rest", frozenset(), extra) == 2.0
    far = plain._replace(where=("charger_in", "charger_neg"))
    assert minutes_of(far, base, installation, "engine_running", frozenset(), extra) == 3.0
    assert minutes_of(far, base, installation, "engine_running", frozenset({"tray"}), extra) == 1.0
    fitted = plain._replace(jumper=("tray", "chassis"))
    assert minutes_of(fitted, base, installation, "engine_running", frozenset(), extra) == 3.0
