"""Rules kept in the cache are the rules of the files, and nothing stale or damaged is ever used."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from diagnose.store import rules_kept
from diagnose.store.data_folder import rules_folder
from diagnose.store.rules import load_rules
from diagnose.store.rules_kept import kept_rules


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "cache"
    monkeypatch.setenv("DIAGNOSE_CACHE", str(folder))
    return folder


def test_what_is_kept_is_what_the_files_say(cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = kept_rules()
    assert len(list(cache.iterdir())) == 1
    monkeypatch.setattr(rules_kept, "load_rules", None)
    assert kept_rules() == first == load_rules()


def test_without_the_cache_nothing_is_written_and_the_rules_are_the_same(cache: Path) -> None:
    assert kept_rules(cache=False) == load_rules()
    assert not cache.exists()


def test_a_damaged_file_is_read_again(cache: Path) -> None:
    first = kept_rules()
    (file,) = cache.iterdir()
    file.write_bytes(file.read_bytes()[:-40])
    assert kept_rules() == first


def test_a_changed_rule_is_seen_at_once(cache: Path, tmp_path: Path) -> None:
    folder = tmp_path / "rules"
    shutil.copytree(rules_folder(), folder)
    assert kept_rules(folder).tests["ohms"].minutes == 4.0
    file = folder / "tests" / "ohms.yaml"
    file.write_text(file.read_text().replace("minutes: 4.0", "minutes: 5.0", 1))
    assert kept_rules(folder).tests["ohms"].minutes == 5.0
