"""What is kept comes back whole or not at all, and a folder that cannot be used is no error."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

from diagnose.store import cache_folder as cache


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    place = tmp_path / "deep" / "cache"
    monkeypatch.setenv("DIAGNOSE_CACHE", str(place))
    return place


@pytest.mark.parametrize(
    ("platform", "environment", "place"),
    [
        ("linux", {"DIAGNOSE_CACHE": "/x", "XDG_CACHE_HOME": "/c", "HOME": "/h"}, "/x"),
        ("linux", {"XDG_CACHE_HOME": "/c", "HOME": "/h"}, "/c/charge-path-diagnose"),
        ("linux", {"XDG_CACHE_HOME": "relative", "HOME": "/h"}, "/h/.cache/charge-path-diagnose"),
        ("linux", {"DIAGNOSE_CACHE": "", "HOME": "/h"}, "/h/.cache/charge-path-diagnose"),
        ("darwin", {"HOME": "/h"}, "/h/Library/Caches/charge-path-diagnose"),
        ("win32", {"LOCALAPPDATA": "/l", "USERPROFILE": "/u"}, "/l/charge-path-diagnose"),
        ("win32", {"USERPROFILE": "/u"}, "/u/AppData/Local/charge-path-diagnose"),
        ("linux", {}, None),
        ("linux", {"HOME": "relative"}, None),
    ],
)
@pytest.mark.skipif(os.name == "nt", reason="the places are written as POSIX paths")
def test_where_it_lies(platform: str, environment: dict[str, str], place: str | None) -> None:
    found = cache.find_cache_folder(environment, platform)
    assert (None if found is None else found.as_posix()) == place


def test_what_was_written_is_read(folder: Path) -> None:
    cache.write("a key / with \x00 signs", b"data")
    cache.write("another", b"")
    assert cache.read("a key / with \x00 signs") == b"data"
    assert cache.read("another") == b""
    assert cache.read("a third") is None
    cache.write("another", b"new")
    assert cache.read("another") == b"new"


def test_reading_makes_nothing(folder: Path) -> None:
    assert cache.read("key") is None
    assert not folder.exists()


@pytest.mark.parametrize("cut", [0, 1, 31, 32, 35])
def test_a_file_cut_short_is_ignored(folder: Path, cut: int) -> None:
    cache.write("key", b"data")
    [file] = folder.iterdir()
    file.write_bytes(file.read_bytes()[:cut])
    assert cache.read("key") is None


@pytest.mark.parametrize("place", [0, 31, 32, 35])
def test_a_damaged_file_is_ignored_and_can_be_replaced(folder: Path, place: int) -> None:
    cache.write("key", b"data")
    [file] = folder.iterdir()
    damaged = bytearray(file.read_bytes())
    damaged[place] ^= 1
    file.write_bytes(damaged)
    assert cache.read("key") is None
    cache.write("key", b"data")
    assert cache.read("key") == b"data"


def test_a_file_under_the_name_of_another_key_is_ignored(folder: Path) -> None:
    cache.write("one", b"data")
    [file] = folder.iterdir()
    content = file.read_bytes()
    cache.write("two", b"other")
    [other] = [entry for entry in folder.iterdir() if entry != file]
    other.write_bytes(content)
    assert cache.read("two") is None


def test_a_write_that_fails_leaves_the_old_file_and_no_remains(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    cache.write("key", b"old")

    def fails(*_: object) -> None:
        raise OSError(28, "no space left")

    monkeypatch.setattr(os, "replace", fails)
    cache.write("key", b"new")
    assert cache.read("key") == b"old"
    assert len(list(folder.iterdir())) == 1


@pytest.mark.parametrize("named", ["file", "file/below", "nul\x00"])
def test_a_folder_that_cannot_be_made_is_no_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, named: str) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    # A zero byte cannot stand in a real environment, so the look-up is what is replaced.
    monkeypatch.setattr(os, "environ", {**os.environ, "DIAGNOSE_CACHE": str(tmp_path / named)})
    assert cache.cache_folder() is None
    cache.write("key", b"data")
    assert cache.read("key") is None


def test_the_oldest_files_give_way_and_strangers_stay(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cache, "_MOST_FILES", 3)
    folder.mkdir(parents=True)
    (folder / "stranger.txt").write_text("mine", encoding="utf-8")
    for number in range(5):
        before = set(folder.iterdir())
        cache.write(str(number), b"data")
        for file in set(folder.iterdir()) - before:
            os.utime(file, ns=(number * 10**9, number * 10**9))
    assert [cache.read(str(number)) is not None for number in range(5)] == [False, False, True, True, True]
    assert (folder / "stranger.txt").exists()


def test_the_folder_is_the_persons_own(folder: Path) -> None:
    assert cache.cache_folder() == folder
    if os.name != "nt":
        assert folder.stat().st_mode & 0o077 == 0


def test_a_traceback_that_returns_takes_the_same_file(folder: Path) -> None:
    first = cache.keep_traceback("boom \udc80")
    assert first is not None
    assert first.parent == folder
    assert first.read_bytes() == b"boom \\udc80"
    assert cache.keep_traceback("boom \udc80") == first
    assert cache.keep_traceback("bang") != first


def test_a_traceback_lies_in_the_temporary_folder_without_a_cache(
    folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    kept = cache.keep_traceback("boom", cache=False)
    assert kept is not None
    assert kept.parent == tmp_path
    assert kept != cache.keep_traceback("boom", cache=False)
    assert not folder.exists()


def test_a_traceback_that_cannot_be_kept_is_none(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise OSError(28, "no space left")

    monkeypatch.setattr(tempfile, "mkstemp", fails)
    assert cache.keep_traceback("boom") is None


