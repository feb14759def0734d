"""The commands of practice: golden transcripts, the score as JSON, bad input, examinations; cases at a terminal."""

from __future__ import annotations

import json
import os
import signal
import sys
from functools import partial
from io import StringIO
from pathlib import Path

import pytest

from diagnose.cli.asker import Asker
from diagnose.cli.main import run
from diagnose.cli.practice_case import opened
from diagnose.cli.practice_dialogue import acted
from diagnose.store.practice_cases import case_path
from tests.cli.golden_practice import ACTS, GOLDEN, PLAIN, transcript
from tests.house.documents import ROOT

SUN = str(ROOT / "cases" / "examples" / "sun_fuse_acts.txt")
KEYS = {
    "passed", "found", "proved", "unsafe", "minutes", "best_minutes", "tests", "redundant", "invalid",
    "parts_swapped_in_vain", "wrong_inferences", "points",
}  # fmt: skip


@pytest.mark.parametrize("case", ACTS)
def test_a_transcript_is_as_it_was(case: str) -> None:
    """After a change of wording or of circuit: `python -m tests.cli.golden_practice`."""
    assert transcript(case) == (GOLDEN / f"{case}.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("case", ACTS)
def test_a_transcript_reads_well(case: str) -> None:
    lines = (GOLDEN / f"{case}.txt").read_text(encoding="utf-8").splitlines()
    assert all(len(line) <= 80 for line in lines)
    assert all(len(line) <= 60 for line in transcript(case, 60).splitlines())


def test_bad_acts_are_all_named_and_nothing_is_done(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    acts = tmp_path / "acts.txt"
    acts.write_text("# comment\nvolts tray nowhere\nfly\ndiagnosis blown charger 80 %\n", encoding="utf-8")
    assert run(["practice", "tray-earth-01", "--answers", str(acts), "--json"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert [line.removeprefix(f"{acts}:").split(":")[0] for line in err.splitlines()] == ["2", "3", "4"]


def test_options_that_do_not_go_together(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["practice", "tray-earth-01", "--random"]) == 2
    assert run(["practice", "--random", "--level", "1", "--fault", "overcharging"]) == 2
    assert run(["practice", "tray-earth-1"]) == 2
    assert "did you mean tray-earth-01?" in capsys.readouterr().err


COACHED = """\
volts tray chassis running
tray_strap
high_resistance tray_strap = 0.8 V, blown input_fuse = 0 V
state running
help
volts charger_out charger_neg

repair high_resistance tray_strap
stop
"""


def test_the_coach_asks_before_a_test_and_sets_the_model_beside_what_was_expected() -> None:
    out = StringIO()
    case = opened(case_path("tray-earth-01"))
    acted(case, Asker(StringIO(COACHED), out, plain=True), PLAIN._replace(coach=True), COACHED, 80)
    text = out.getvalue()
    assert text.count("Which suspects") == 2  # before a test alone
    assert "name a fault and a part" in text  # what was no suspect is asked again
    told = [line for line in text.splitlines() if "the model says" in line]
    assert "you said 0.8 V" in told[0]
    assert "you said 0 V" in told[1]
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "It was" not in text
    kinds = [step.act.kind for step in case.game.room.steps]
    assert kinds == ["suspects", "measure", "state", "measure", "repair", "stop"]


def test_cases_are_listed_and_filtered(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["cases", "list", "--layout", "canopy", "--fault", "reversed"]) == 0
    assert capsys.readouterr().out.startswith("canopy-panel-02")
    assert run(["cases", "dance"]) == 2


def test_every_case_of_the_library_was_solved_with_its_tools(capsys: pytest.CaptureFixture[str]) -> None:
    """That the engine as it is now solves them too is tested on a sample, in `tests/practice/test_players.py`."""
    assert run(["cases", "check"]) == 0, capsys.readouterr().out


def test_a_case_is_written_by_questions(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answers, file = tmp_path / "answers.txt", tmp_path / "mine-01.yaml"
    answers.write_text("T\nS\ncrew_cab_tray\nflat\nhigh_resistance tray_strap\n0.1 ohm\ndone\n\nearth_paths\n1\n\n")
    assert run(["cases", "new", str(file), "--answers", str(answers)]) == 0
    assert "size: '0.1 ohm'" in file.read_text(encoding="utf-8")
    assert run(["cases", "check", str(file)]) == 0
    assert run(["cases", "seal", str(file), str(tmp_path / "exam.yaml")]) == 0
    assert "tray_strap" not in (tmp_path / "exam.yaml").read_text(encoding="utf-8")
    assert run(["cases", "check", str(tmp_path / "exam.yaml")]) == 0
    capsys.readouterr()


@pytest.mark.slow
def test_the_score_as_json_with_page_and_progress(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page, progress = tmp_path / "debrief.html", str(tmp_path / "progress")
    words = ["practice", "sun-fuse-01", "--answers", SUN, "--json", "--html", str(page), "--name", "kim"]
    assert run([*words, "--progress", progress]) == 0
    form = json.loads(capsys.readouterr().out)
    assert set(form["score"]) >= KEYS
    assert form["score"]["passed"]
    assert form["acts"][0]["take"] == {"volts": ["charger_out", "house_pos"], "when": "sun_only"}
    text = page.read_text(encoding="utf-8")
    assert "<svg" in text
    assert "http" not in text.replace("http-equiv", "").replace("http://www.w3.org/2000/svg", "")
    assert run(["progress", "kim", "--progress", progress]) == 0
    told = capsys.readouterr().out
    assert "1 of 1 passed" in told
    advised = [line.split()[-1] for line in told.splitlines() if "diagnose practice " in line]
    assert len(set(advised)) == len(advised) == 3


@pytest.mark.slow
def test_an_examination_keeps_its_answer_and_shows_tampering(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    acts, result = tmp_path / "acts.txt", tmp_path / "kim.json"
    acts.write_text("volts house_pos house_neg sun_only\ndiagnosis none 60 %\nstop\n", encoding="utf-8")
    words = ["practice", "sun-sound-02", "--answers", str(acts), "--exam", str(result), "--word", "owl"]
    assert run([*words, "--name", "kim", "--progress", str(tmp_path), "--no-coach"]) == 0
    assert "One habit" not in capsys.readouterr().out
    assert run(["progress", "--results", str(result), "--word", "owl"]) == 0
    result.write_text(result.read_text(encoding="utf-8").replace('"points": ', '"points": 9'), encoding="utf-8")
    assert run(["progress", "--results", str(result), "--word", "owl"]) == 1
    assert "CHANGED" in capsys.readouterr().out


PLAYED = {
    "sun-fuse-01": Path(SUN).read_text(encoding="utf-8").splitlines()[1:],
    "sun-switch-03": ["state sun_only", "volts panel_switch_in charger_solar", "diag high_res panel_switch 80",
                      "repair high_res panel_switch", "volts panel_switch_in charger_solar", "help", "done"],
    "sun-sound-02": ["volts house_pos house_neg sun_only", "diagnosis none 60 %", "stop"],
}  # fmt: skip


@pytest.mark.slow
@pytest.mark.parametrize("case", PLAYED)
def test_a_case_is_played_at_a_terminal(case: str, tmp_path: Path) -> None:
    pexpect = pytest.importorskip("pexpect")
    kept = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "COLUMNS", "LINES", "INPUTRC"}}
    child = pexpect.spawn(
        sys.executable, ["-m", "diagnose", "practice", case, "--no-coach"], encoding="utf-8", timeout=300,
        env={**kept, "TERM": "xterm", "INPUTRC": os.devnull}, dimensions=(24, 80), cwd=str(ROOT),
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    try:
        for act in PLAYED[case]:
            child.expect("Act\\?")
            child.expect("> ")
            child.sendline(act)
        child.expect("PASSED")
        child.expect("It was: ")
        child.expect("One habit to work on")
        child.expect(pexpect.EOF)
        child.wait()
        assert child.exitstatus == 0
    finally:
        child.close(force=True)
