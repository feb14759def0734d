"""Where the rule base is looked for, and that a stranger's is never taken."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.store.data_folder import (
    DataFolderError,
    cases_folder,
    data_folder,
    find_data_folder,
    rules_folder,
)

MARKER = "# ours\nrule_base: charge-path-diagnose\nform: 1\n"


def rule_base(folder: Path, marker: str = MARKER) -> Path:
    (folder / "rules").mkdir(parents=True)
    (folder / "rules" / "MARKER.yaml").write_text(marker, encoding="utf-8")
    return folder


def test_checkout_beside_the_package(tmp_path: Path) -> None:
    assert find_data_folder({}, rule_base(tmp_path) / "diagnose") == tmp_path


def test_packaged_data_goes_before_the_folder_beside_the_package(tmp_path: Path) -> None:
    rule_base(tmp_path)
    packaged = rule_base(tmp_path / "diagnose" / "_data")
    assert find_data_folder({}, tmp_path / "diagnose") == packaged


def test_variable_goes_before_all(tmp_path: Path) -> None:
    rule_base(tmp_path / "diagnose" / "_data")
    named = rule_base(tmp_path / "elsewhere")
    assert find_data_folder({"DIAGNOSE_DATA": str(named)}, tmp_path / "diagnose") == named


def test_empty_variable_is_no_variable(tmp_path: Path) -> None:
    assert find_data_folder({"DIAGNOSE_DATA": ""}, rule_base(tmp_path) / "diagnose") == tmp_path


def test_wrong_variable_never_falls_back(tmp_path: Path) -> None:
    rule_base(tmp_path)
    with pytest.raises(DataFolderError, match=r"^DIAGNOSE_DATA: no .*MARKER.yaml, it must name the folder"):
        find_data_folder({"DIAGNOSE_DATA": str(tmp_path / "nothing")}, tmp_path / "diagnose")


@pytest.mark.parametrize(
    ("marker", "said"),
    [
        ("", "rule_base: charge-path-diagnose"),
        ("rule_base: another\nform: 1\n", "rule_base: charge-path-diagnose"),
        ("# rule_base: charge-path-diagnose\nform: 1\n", "rule_base: charge-path-diagnose"),
        ("rule_base: charge-path-diagnose\nform: 2\n", "form: 1"),
        ("rule_base: charge-path-diagnose\n", "form: 1"),
    ],
)
def test_a_strangers_rules_are_refused(tmp_path: Path, marker: str, said: str) -> None:
    rule_base(tmp_path, marker)
    with pytest.raises(DataFolderError, match=said):
        find_data_folder({}, tmp_path / "diagnose")


def test_marker_that_is_no_text_or_no_file(tmp_path: Path) -> None:
    marker = rule_base(tmp_path) / "rules" / "MARKER.yaml"
    marker.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(DataFolderError, match="is not text"):
        find_data_folder({}, tmp_path / "diagnose")
    marker.unlink()
    marker.mkdir()
    with pytest.raises(DataFolderError, match=r"no .*MARKER"):
        find_data_folder({}, tmp_path / "diagnose")


def test_nothing_anywhere_names_both_places_and_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(DataFolderError) as raised:
        find_data_folder({}, tmp_path / "diagnose")
    message = str(raised.value)
    assert str(tmp_path / "diagnose" / "_data" / "rules") in message
    assert str(tmp_path / "rules") in message
    assert "set DIAGNOSE_DATA" in message


def test_rules_and_cases_of_the_folder_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DIAGNOSE_DATA", str(rule_base(tmp_path)))
    assert data_folder() == tmp_path
    assert rules_folder() == tmp_path / "rules"
    with pytest.raises(DataFolderError, match="no folder of cases"):
        cases_folder()
    (tmp_path / "cases").mkdir()
    assert cases_folder() == tmp_path / "cases"


def test_this_checkout_has_its_rules(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DIAGNOSE_DATA", raising=False)
    assert (rules_folder() / "MARKER.yaml").is_file()
