"""The joints then and now: what has drifted comes first, what was not read again is said."""

from __future__ import annotations

import json

from diagnose.present.comparison import comparison_json, comparison_lines
from diagnose.store.installations import load_layout
from tests.present.commissioning_records import COMPARED

LAYOUT = load_layout("crew_cab_tray")


def test_lines_tell_then_and_now_and_the_drift_first() -> None:
    lines = comparison_lines(tuple(reversed(COMPARED)), LAYOUT, 76)
    assert lines[0] == "1 DRIFTED, 1 as it was, 1 not read again"
    text = " ".join(" ".join(lines).split())
    assert text.index("DRIFTED tray strap") < text.index("as it was engine strap") < text.index("not read again input")
    assert "then 0.250 ± 0.021 milliohm, now 1.420 ± 0.030 milliohm" in text
    assert max(map(len, lines)) <= 76


def test_nothing_to_compare_is_said() -> None:
    assert "nothing to compare" in comparison_lines((), LAYOUT)[0]


def test_json_has_every_joint_and_no_verdict_where_it_was_not_read_again() -> None:
    form = json.loads(json.dumps(comparison_json(COMPARED)))
    assert (form["schema"], form["drifted"]) == ("diagnose/comparison/1", 1)
    assert [joint["drifted"] for joint in form["joints"]] == [True, False, None]
    assert form["joints"][0]["now"] == {"ohms": 0.00142, "standard_uncertainty": 3e-05}
    assert form["joints"][2]["now"] is None
