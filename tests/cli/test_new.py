"""`diagnose new` as its user meets it: at a terminal, from a pipe or a list, and beside files that are there."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.store.installations import load_installation

COMMAND = [sys.executable, "-m", "diagnose", "new"]
SLOWEST = 0.5  # s from an answer to the next question, on a machine that others use too


def new(tmp_path: Path, *arguments: str, answers: str = "") -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *arguments], input=answers, capture_output=True, text=True, cwd=tmp_path, timeout=60
    )


def listed(tmp_path: Path, *lines: str) -> str:
    file = tmp_path / "answers.txt"
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return str(file)


#: what is typed, and what must be said before the next prompt
DIALOGUE = [
    ("", "noted: tray"),
    ("help", "cranking amperes, answer ? for the capacity"),
    ("why", "How stiff it is"),
    ("80 plum", "`80 plum` is no capacity and no chemistry"),
    ("80 Ah agm", "3 of 13: What is the alternator"),
    ("back", "Enter takes: 80 Ah, agm"),
    ("", "noted: 80 Ah; agm"),
    ("variable", "and the rating? Enter takes: 110 A"),
    ("back", "3 of 13"),
    ("variable 90 A", "4 of 13"),
    ("don't know", "capacity not known, 50 to 200 Ah"),
    ("25", "the unit behind 25 is missing"),
    ("25 A 14.6 V", "6 of 13"),
    *[("", f"{question} of 13") for question in range(7, 14)],
    ("1 to 3 h", "written: cab.yaml"),
]


def test_a_whole_dialogue_with_help_back_and_not_known(tmp_path: Path) -> None:
    pexpect = pytest.importorskip("pexpect")
    kept = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "COLUMNS", "LINES"}}
    child = pexpect.spawn(
        COMMAND[0], [*COMMAND[1:], "cab.yaml"], cwd=str(tmp_path), env={**kept, "TERM": "xterm", "INPUTRC": os.devnull},
        dimensions=(50, 80), encoding="utf-8", timeout=20,
    )  # fmt: skip
    try:
        child.expect_exact("> ")
        waits = []
        for typed, said in DIALOGUE:
            started = time.perf_counter()
            child.sendline(typed)
            child.expect(["> ", pexpect.EOF])
            waits.append(time.perf_counter() - started - child.delaybeforesend)
            shown = re.sub(r"\x1b\[[0-9;?]*[a-zA-Z]", "", child.before)
            assert said in " ".join(shown.split()), typed
    finally:
        child.close()
    assert child.exitstatus == 0
    assert max(waits[:-1]) < SLOWEST
    installation = load_installation(tmp_path / "cab.yaml")
    assert installation.title == "Cab"
    assert installation.parts["start_battery"].chemistry == "agm"
    assert installation.parts["house_battery"].capacity == (50.0, 200.0)
    assert installation.parts["charger"].rating == (25.0, 25.0)
    assert "Next: diagnose check cab.yaml --driving-hours 2" in shown


def test_a_pipe_writes_the_same_as_a_list_of_answers(tmp_path: Path) -> None:
    lines = ["boat", "", "fixed 80 A", "100 Ah gel 14.2 V", "20 A 14.1 V", "no", "none", "2 AWG 8 ft", "50 A 30 A"]
    lines += ["none", "bait fridge 45 W 10 h", "3 h"]
    piped = new(tmp_path, "one.yaml", answers="\n".join(lines) + "\n")
    assert (piped.returncode, piped.stderr) == (0, "")
    assert "\x1b" not in piped.stdout
    told = new(tmp_path, "two.yaml", "--answers", listed(tmp_path, *lines))
    assert (told.returncode, told.stderr) == (0, "")
    one, two = ((tmp_path / name).read_text(encoding="utf-8") for name in ("one.yaml", "two.yaml"))
    assert one.replace("title: One", "title: Two") == two
    installation = load_installation(tmp_path / "two.yaml")
    assert "lights" not in installation.parts
    assert installation.parts["input_cable"].length.mid == pytest.approx(2.4384)
    assert sorted(file.name for file in tmp_path.iterdir()) == ["answers.txt", "one.yaml", "two.yaml"]


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ("", "the input ended at question 1 of 13 at most (place), nothing was written"),
        ("tray\n75 Ah agm\nhelp\n", "the input ended at question 3 of 13 (alternator), nothing was written"),
        ("tray\n" + "plum\n" * 30, "20 answers to one question were refused at question 2 of 13 (start battery)"),
        ("help\n" * 2000, "no answer at question 1"),
        ("back\n" * 2000, "more than 500 answers were given"),
    ],
    ids=["nothing", "half", "refused", "help for ever", "back for ever"],
)
def test_answers_that_end_early_write_nothing(tmp_path: Path, answers: str, said: str) -> None:
    done = new(tmp_path, "cab.yaml", answers=answers)
    assert done.returncode == 2
    assert done.stderr.startswith(f"answers: {said}")
    assert done.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_stop_writes_nothing_and_says_so(tmp_path: Path) -> None:
    done = new(tmp_path, "cab.yaml", answers="tray\nstop\n")
    assert done.returncode == 130
    assert "stopped: nothing was written" in done.stdout
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_stays_unless_forced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "cab.yaml"
    file.write_text("mine", encoding="utf-8")
    answers = listed(tmp_path, *[""] * 13)
    assert run(["new", str(file), "--answers", answers]) == 2
    out, err = capsys.readouterr()
    assert (out, err) == ("", f"{file}: it exists already, give another name, or --force to write over it\n")
    assert file.read_text(encoding="utf-8") == "mine"
    assert run(["new", str(file), "--answers", answers, "--force"]) == 0
    assert load_installation(file).layout == "crew_cab_tray"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "FILE: it is missing, name the file to write"),
        (["."], ".: this is a folder, give the name of a file"),
        (["no/where.yaml"], "no/where.yaml: its folder does not exist, make the folder first"),
        (["a.yaml", "--answers", "none.txt"], "--answers: cannot be read"),
        (["a.yaml", "--form"], "FILE: the sheet is printed and not written to a file"),
    ],
    ids=["none", "folder", "no folder", "no answers", "form"],
)
def test_what_cannot_be_written_is_refused_before_a_question(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: list[str], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["new", *arguments]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(said)
    assert list(tmp_path.iterdir()) == []


def test_the_form_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["new", "--form"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("SURVEY OF A SECOND BATTERY")
    assert out.count("\n") <= 66


@pytest.mark.parametrize("columns", [60, 80])
def test_no_line_of_the_dialogue_is_wider_than_the_terminal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], columns: int
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    answers = listed(tmp_path, "why", "help", "caravan", *["why", "help", "?"] * 11, "2 h")
    assert run(["new", str(tmp_path / "a.yaml"), "--answers", answers]) == 0
    lines = capsys.readouterr().out.splitlines()
    # The path and the command to type next stay whole.
    wide = [line for line in lines if len(line) > columns and not re.match(r"written: |Next: ", line)]
    assert wide == []
