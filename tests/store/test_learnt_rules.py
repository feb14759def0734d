"""Learnt frequencies as a folder over the rules: what is read back, and what is never written over."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.inference.learning import Lesson, learn, weights_by_fault
from diagnose.store.installations import load_layout
from diagnose.store.learnt_rules import MARK, weight_words, write_learnt
from diagnose.store.rule_folders import rule_folders
from diagnose.store.rules import load_rules


def lessons(*faults: str) -> tuple[Lesson, ...]:
    rules = load_rules()
    tray = weights_by_fault(load_layout("crew_cab_tray"), rules)
    return learn(rules, [(tray, fault) for fault in faults])[0]


def refusals(into: Path, force: bool = False) -> list[str]:
    with pytest.raises(BadInput) as refused:
        write_learnt(str(into), lessons("wrong_rating"), force)
    return [problem.text().replace(str(into), "DIR") for problem in refused.value.problems]


def test_what_is_written_is_read_back_over_the_rules(tmp_path: Path) -> None:
    found = lessons("wrong_setting", "wrong_setting", "blown")
    into = tmp_path / "ours"
    written = write_learnt(str(into), found, False)
    assert sorted(written) == sorted(str(file) for file in into.rglob("*.yaml"))
    ours, ships = load_rules(rule_folders(str(into))), load_rules()
    for each in found:
        frequency = ours.faults[each.fault].frequency
        assert frequency.weight == float(weight_words(each.weight_after))
        if frequency.weight != ships.faults[each.fault].frequency.weight:
            assert (frequency.source, frequency.confidence) == ("own_jobs", "computed")
        same = {"frequency": ships.faults[each.fault].frequency}
        assert ours.faults[each.fault].model_copy(update=same) == ships.faults[each.fault]
    assert ours.faults["wrong_setting"].frequency.weight > ships.faults["wrong_setting"].frequency.weight
    assert "faults/blown (frequency)" in (rule_folders(str(into)).told() or "")


def test_only_what_differs_is_written(tmp_path: Path) -> None:
    few = [each for each in lessons("blown") if each.fault in ("blown", "discharged")]
    few[1] = few[1]._replace(weight_after=few[1].weight_before * 1.00001)
    assert write_learnt(str(tmp_path), few, False) == (f"{tmp_path}/sources.yaml", f"{tmp_path}/faults/blown.yaml")


def test_what_was_learnt_before_is_written_over_only_if_asked(tmp_path: Path) -> None:
    write_learnt(str(tmp_path), lessons("blown"), False)
    before = (tmp_path / "faults" / "wrong_rating.yaml").read_text(encoding="utf-8")
    assert all("nothing was written" in line and "--force" in line for line in refusals(tmp_path))
    assert (tmp_path / "faults" / "wrong_rating.yaml").read_text(encoding="utf-8") == before
    write_learnt(str(tmp_path), lessons("wrong_rating"), True)
    assert (tmp_path / "faults" / "wrong_rating.yaml").read_text(encoding="utf-8") != before


def test_what_another_hand_wrote_is_never_written_over(tmp_path: Path) -> None:
    (tmp_path / "faults").mkdir()
    (tmp_path / "faults" / "blown.yaml").write_text("remedy: ours\n", encoding="utf-8")
    for force in (False, True):
        (line,) = refusals(tmp_path, force)
        assert line.startswith("DIR/faults/blown.yaml: it exists already and was not learnt")
    assert [file.name for file in tmp_path.rglob("*.yaml")] == ["blown.yaml"]


def test_a_whole_rule_base_and_what_is_no_folder_are_refused(tmp_path: Path) -> None:
    (tmp_path / "MARKER.yaml").write_text("", encoding="utf-8")
    assert "whole rule base" in refusals(tmp_path)[0]
    (tmp_path / "file").write_text(MARK, encoding="utf-8")
    assert refusals(tmp_path / "file") == ["DIR: this is no folder, give the name of a folder"]
    assert "the folder cannot be made" in refusals(tmp_path / "file" / "below")[0]
