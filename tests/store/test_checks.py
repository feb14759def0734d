"""Rules of the design check that are wrong are refused with their place."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.checks import load_check_examples, load_checks
from diagnose.store.data_folder import rules_folder
from diagnose.store.tables import load_tables

TABLES = load_tables(rules_folder())


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("id: charger_near", "id: charger_nigh", "write id: charger_near"),
        ("figure: ", "figure: x", "no figure `x"),
        ("source: trade_cards", "source: hearsay", "unknown source `hearsay`"),
        ("verdict: FAIL", "verdict: PASS", "no pair of examples"),
        ("asks: ", "ask: ", "unknown key `ask`, did you mean asks?"),
        ("layout: crew_cab_tray", "layout: crew_cab", "no layout `crew_cab`"),
    ],
)
def test_each_defect_is_named(tmp_path: Path, old: str, new: str, said: str) -> None:
    name = "charger_cool.yaml" if old == "figure: " else "charger_near.yaml"
    (tmp_path / "checks").mkdir()
    text = (rules_folder() / "checks" / name).read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "checks" / name).write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(BadInput, match=said.replace("?", r"\?")) as caught:
        load_check_examples(TABLES, tmp_path)
    assert all(problem.file == f"rules/checks/{name}" and problem.line for problem in caught.value.problems)


def test_no_checks_at_all(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no checks here"):
        load_checks(TABLES, tmp_path)


def test_those_that_ship_are_sound(tmp_path: Path) -> None:
    shutil.copytree(rules_folder() / "checks", tmp_path / "checks")
    assert load_checks(TABLES, tmp_path) == load_checks(TABLES)
