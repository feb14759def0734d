"""Worked cases: closed cases with their readings; the place that was found must rank first, or nothing wrong lead.

A case is not changed to please the engine. One that the engine gets wrong stays here with the reason.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from diagnose.inference.causes import likely_causes
from diagnose.inference.complaints import match_complaint
from diagnose.inference.ranking import Engine, Question
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import layout_ids
from diagnose.store.worked_cases import LoadedCase, load_worked_case
from tests.inference.engines import TOOLS, engine, rule_base

FOLDER = rules_folder().parent / "cases" / "worked"
CASES = {path.stem: load_worked_case(path) for path in sorted(FOLDER.glob("*.yaml"))}
QUICK = {
    "tray_strap_hunting", "tray_mistaken_millivolts", "tray_eyes_and_hands", "pair_sound_full", "pair_slack_belt",
    "pair_intermittent_lug",
}  # fmt: skip
#: cases that the engine gets wrong, and why
WRONG: dict[str, str] = {}


def _marked(name: str) -> object:
    marks = [] if name in QUICK else [pytest.mark.slow]
    if name in WRONG:
        marks.append(pytest.mark.xfail(strict=True, reason=WRONG[name]))
    return pytest.param(CASES[name], id=name, marks=marks)


@cache
def _engine(name: str) -> Engine:
    case = CASES[name]
    if isinstance(case.case.installation, str):
        return engine(case.case.installation)
    return Engine(case.installation, *rule_base(), 1)


@pytest.mark.parametrize("case", [_marked(name) for name in CASES])
def test_what_was_found_ranks_first(case: LoadedCase) -> None:
    found = _engine(case.id)
    belief = found.believe(Question(case.readings.readings, case.readings.complaint, case.case.tools))
    order = sorted(range(len(found.hypotheses)), key=lambda n: -belief.posterior[n])
    leader = found.hypotheses[order[0]].fault
    says = f"{leader} leads with {belief.posterior[order[0]]:.3f}, unlisted {belief.unlisted:.3f}"
    assert belief.posterior[order[0]] > belief.unlisted, says
    if not case.case.expected:
        assert leader is None, says
        return
    assert leader is not None, says
    assert (leader.part, leader.at) in {(fault.part, fault.at) for fault in case.case.expected}, says
    if case.case.cause is not None:
        complaint = match_complaint(case.readings.complaint, found.rules)
        readings = case.readings.readings
        causes = likely_causes(leader, found.installation, found.rules, found.sights, readings, complaint)
        assert causes[0].cause == case.case.cause, causes


def test_cases_are_many_and_of_all_kinds() -> None:
    assert len(CASES) >= 40
    assert {str(case.case.installation) for case in CASES.values()} == set(layout_ids())
    faults = {fault.fault for case in CASES.values() for fault in case.case.expected}
    assert set(rule_base()[0].faults) - faults <= {"wrong_rating", "lost_capacity"}
    causes = {case.case.cause for case in CASES.values() if case.case.cause}
    assert len(causes) >= 20
    assert causes <= set(rule_base()[0].causes)
    assert sum(not case.case.expected for case in CASES.values()) >= 5
    tools = [set(case.case.tools) for case in CASES.values()]
    assert {"eyes"} in tools
    assert {"eyes", "hands"} in tools
    assert any("test_lamp" in each and "multimeter" not in each for each in tools)
    assert any(set(TOOLS) < each for each in tools)
    assert sum(case.case.story is not None for case in CASES.values()) >= 2


def test_a_reading_that_lies_is_named_as_doubtful() -> None:
    case = CASES["tray_mistaken_millivolts"]
    ranking = _engine(case.id).rank(Question(case.readings.readings, case.readings.complaint, case.case.tools))
    assert [doubt.reading for doubt in ranking.doubtful] == [4]


def test_every_case_says_where_it_comes_from() -> None:
    for case in CASES.values():
        assert case.case.source == "invented" or case.case.source.startswith("common practice: "), case.id


def test_what_is_listed_as_wrong_is_there() -> None:
    assert set(WRONG) <= set(CASES)
    assert set(CASES) >= QUICK


def test_a_found_fault_that_is_nowhere_is_refused(tmp_path: Path) -> None:
    text = (FOLDER / "tray_strap_hunting.yaml").read_text(encoding="utf-8")
    bad = tmp_path / "bad.yaml"
    bad.write_text(text.replace("part: tray_strap, at: null}", "part: tray_strip, at: null}"), encoding="utf-8")
    with pytest.raises(Exception, match="no part `tray_strip`"):
        load_worked_case(bad)
