"""A new file is written whole or not at all, and never over another unasked."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.new_file import refuse_taken, write_new


def test_a_file_is_written_with_ordinary_rights(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    write_new(str(file), "title: ohm Ω\n")
    assert file.read_bytes() == "title: ohm Ω\n".encode()
    plain = tmp_path / "plain"
    plain.touch()
    assert file.stat().st_mode == plain.stat().st_mode
    assert len(list(tmp_path.iterdir())) == 2


def test_another_file_stays_unless_forced(tmp_path: Path) -> None:
    file = tmp_path / "a.yaml"
    file.write_text("mine", encoding="utf-8")
    with pytest.raises(BadInput, match="it exists already"):
        write_new(str(file), "new")
    assert file.read_text(encoding="utf-8") == "mine"
    write_new(str(file), "new", force=True)
    assert file.read_text(encoding="utf-8") == "new"


def test_a_link_that_leads_nowhere_is_there_too(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").symlink_to(tmp_path / "gone")
    with pytest.raises(BadInput, match="it exists already"):
        refuse_taken(str(tmp_path / "a.yaml"), force=False)


def test_a_failure_leaves_what_was_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "a.yaml"
    file.write_text("mine", encoding="utf-8")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(BadInput, match="No space left"):
        write_new(str(file), "new", force=True)
    assert [(each.name, each.read_text(encoding="utf-8")) for each in tmp_path.iterdir()] == [("a.yaml", "mine")]


@pytest.mark.parametrize("name", ["", "a\0b", "--text"])
def test_what_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(BadInput):
        refuse_taken(name, force=False)
