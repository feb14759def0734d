"""Practice cases: the library loads and is as it was worked out; defects are all named with their places."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.installations import layout_ids
from diagnose.store.practice_cases import LoadedPractice, case_paths, load_practice_case, load_practice_rules
from diagnose.store.practice_figures import load_figures
from diagnose.store.practice_results import load_result, write_result
from tests.inference.engines import rule_base


@cache
def library() -> tuple[LoadedPractice, ...]:
    return tuple(load_practice_case(path, rule_base()[0], load_practice_rules()) for path in case_paths())


def test_the_library_is_wide_enough() -> None:
    cases = [one.case for one in library()]
    rules, _ = rule_base()
    assert len(cases) >= 60
    assert {str(case.installation) for case in cases} >= set(layout_ids())
    families = Counter(rules.faults[f.fault].family for case in cases for f in case.faults)
    assert set(families) == {rule.family for rule in rules.faults.values()}
    assert min(families.values()) >= 2
    assert sum(not case.faults for case in cases) >= 6
    assert sum(len(case.faults) > 1 or bool(case.misread) for case in cases) >= 10
    assert {case.level for case in cases} == {1, 2, 3, 4, 5}
    taught = {skill for case in cases for skill in case.teaches}
    assert taught == set(load_practice_rules().skills)


def test_ids_titles_and_stories_are_each_their_own() -> None:
    cases = [one.case for one in library()]
    assert [case.id for case in cases] == [path.stem for path in case_paths()]
    for key in ("title", "story"):
        assert len({getattr(case, key) for case in cases}) == len(cases)


def test_no_case_was_edited_since_its_figures_were_worked_out() -> None:
    known = load_figures()
    for one in library():
        if one.case.id in known:
            assert known[one.case.id].digest == one.digest, f"{one.case.id}: replace a case, never edit it"
            assert known[one.case.id].level == one.case.level, one.case.id


def test_the_answer_of_an_examination_is_not_readable() -> None:
    for path in case_paths():
        text = path.read_text(encoding="utf-8")
        if "exam: true" in text:
            assert "faults" not in text
            assert not any(fault in text for fault in rule_base()[0].faults)


BAD = """\
id: bad-01
title: A bad one
story: nothing fits
installation: crew_cab_tray
faults: [{fault: blown, part: charger}, {fault: high_resistance, part: input_cable, at: tray}]
level: 9
teaches: [earth_path]
tools: [multimetre]
misread: [{volts: [nowhere, chassis], read: 1 V}]
"""


def test_every_defect_is_named_with_its_place(tmp_path: Path) -> None:
    file = tmp_path / "bad.yaml"
    file.write_text(BAD, encoding="utf-8")
    with pytest.raises(BadInput) as first:
        load_practice_case(file, rule_base()[0], load_practice_rules())
    assert [p.line for p in first.value.problems] == [6]
    file.write_text(BAD.replace("9", "2"), encoding="utf-8")
    with pytest.raises(BadInput) as error:
        load_practice_case(file, rule_base()[0], load_practice_rules())
    said = [p.text().removeprefix(f"{file}:") for p in error.value.problems]
    assert [line.split(":")[0] for line in said] == ["5", "5", "7", "8", "9"]
    assert "did you mean earth_paths?" in said[2]
    assert "did you mean multimeter?" in said[3]


def test_a_broken_seal_is_told(tmp_path: Path) -> None:
    path = next(p for p in case_paths() if p.stem.startswith("exam"))
    file = tmp_path / "exam.yaml"
    file.write_text(path.read_text(encoding="utf-8").replace("sealed: ", "sealed: AAAA"), encoding="utf-8")
    with pytest.raises(BadInput, match="the seal of this case is broken"):
        load_practice_case(file, rule_base()[0], load_practice_rules())


def test_a_result_shows_that_it_was_changed(tmp_path: Path) -> None:
    file = str(tmp_path / "result.json")
    form = {"case": "exam-a-03", "score": {"passed": False, "points": 0}}
    write_result(file, form, "Kim", "digest", "owl", False)
    assert load_result(file, "owl").sound
    assert not load_result(file, "cat").sound
    text = Path(file).read_text(encoding="utf-8")
    Path(file).write_text(text.replace('"points": 0', '"points": 90'), encoding="utf-8")
    assert not load_result(file, "owl").sound
    Path(file).write_text("{}", encoding="utf-8")
    with pytest.raises(BadInput, match="no result"):
        load_result(file, "owl")
