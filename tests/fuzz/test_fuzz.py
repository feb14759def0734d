"""No broken or hostile input makes a traceback, a wrong status, a hang, or touches a file that was not named."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from diagnose.cli import main
from tests.fuzz import harness
from tests.fuzz.corpus import corpus
from tests.fuzz.doors import DOORS
from tests.fuzz.harness import Call, Sandbox
from tests.fuzz.inputs import FORMS, calls
from tests.fuzz.mutations import WAYS, broken
from tests.fuzz.trying import drawn, told, tried

#: calls of the corpus that answer without an engine, quick enough for every run
QUICK = ("load:", "check", "draw", "expect", "cases", "jobs", "progress", "new")


@pytest.fixture
def box(tmp_path: Path) -> Iterator[Sandbox]:
    return Sandbox(tmp_path / "box")


def test_part_of_the_corpus_breaks_nothing(box: Sandbox) -> None:
    quick = [call for call in corpus() if call.words[0].startswith("load:")]
    assert len(quick) > 200
    tally = tried(box, quick[::5] + [call for call in corpus() if call.words[0] in QUICK][::29])
    assert not tally.broken, told(tally)


def test_mutated_files_break_nothing(box: Sandbox) -> None:
    tally = drawn(box, calls(whole=False), 100, 1)
    assert not tally.broken, told(tally)
    assert {status for _, status in tally.counts} >= {0, 2}


@pytest.mark.slow
def test_the_whole_corpus_breaks_nothing(box: Sandbox) -> None:
    tally = tried(box, corpus())
    assert not tally.broken, told(tally)


@pytest.mark.slow
def test_thousands_of_inputs_break_nothing(box: Sandbox) -> None:
    tally = drawn(box, calls(whole=False), 3000, 2)
    drawn(box, calls(whole=True), 60, 2, tally)
    assert not tally.broken, told(tally)


def test_every_form_has_a_door_and_a_corpus() -> None:
    kinds = {call.kind for call in corpus()}
    assert set(FORMS) <= set(DOORS)
    assert {
        "installation",
        "readings",
        "practice",
        "worked",
        "script_words",
        "survey_answers",
        "job",
        "events",
    } <= kinds


@pytest.mark.parametrize("way", WAYS)
def test_every_way_changes_a_text(way: str) -> None:
    text = "title: a van\nparts: {fridge: {kind: load, power: 55 W}, lights: {kind: load}}\n"
    assert any(broken(text, [(way, at, 7, at + 3)]) != text.encode() for at in range(4))


def _crash(path: Path) -> None:
    raise KeyError("boom")


def _hang(path: Path) -> None:
    while True:
        pass


def _write(path: Path) -> None:
    Path("..", "mine").write_text("")


def _peek(path: Path) -> None:
    Path("..", "secret.yaml").read_text()


def _begin(path: Path) -> None:
    import subprocess

    subprocess.run([sys.executable, "-c", ""], check=True)


def _obey(path: Path) -> None:
    sys.stdout.write("\x1b[2J")


def _mumble(path: Path) -> None:
    sys.stderr.write("no\n")
    from diagnose.basics.errors import BadInput

    raise BadInput([])


@pytest.mark.parametrize(
    ("door", "said"),
    [
        (_crash, "KeyError: 'boom'"),
        (_hang, "no end after"),
        (_write, "writes "),
        (_peek, "reads "),
        (_begin, "begins subprocess.Popen"),
        (_obey, "a control character '\\x1b'"),
        (_mumble, "a line that is not FILE:LINE:COLUMN"),
    ],
)
def test_each_breach_is_seen(box: Sandbox, monkeypatch: pytest.MonkeyPatch, door: object, said: str) -> None:
    monkeypatch.setitem(DOORS, "broken", door)  # type: ignore[arg-type]
    monkeypatch.setattr(harness, "COMPUTING", 0.2)
    outcome = box.run(Call("broken", ("load:broken",), (("f.yaml", b""),)))
    assert any(said in each for each in outcome.broken), outcome


def test_a_wrong_status_is_seen(box: Sandbox, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(main, "_status", lambda *_: 70)
    assert any("status 70" in each for each in box.run(Call("status", ("check", "x"))).broken)
