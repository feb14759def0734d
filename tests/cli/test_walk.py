"""`walk`, `jobs` and `report` as commands: answers from a file, the end of input, resuming, dangers."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from io import StringIO
from pathlib import Path
from typing import NamedTuple

import pytest

from diagnose.cli import main

LAYOUT = "solar_only_van"
EXAMPLE_JOB = Path(__file__).resolve().parents[2] / "cases" / "examples" / "crew_cab_tray_job.jsonl"
START = ["none", "off", "", "12.6", "solar dosnt work"]


class Done(NamedTuple):
    """What a call left: exit status, standard output, standard error."""

    returncode: int
    stdout: str
    stderr: str


Run = Callable[..., Done]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Return a call of the command within this process, in a folder of its own with nobody at the keyboard."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DIAGNOSE_JOBS", str(tmp_path / "jobs"))

    def called(*words: str, typed: str = "", columns: int = 80) -> Done:
        monkeypatch.setenv("COLUMNS", str(columns))
        monkeypatch.setattr("sys.stdin", StringIO(typed))
        capsys.readouterr()
        status = main.run(list(words))
        return Done(status, *capsys.readouterr())

    return called


def answers(folder: Path, *lines: str) -> list[str]:
    file = folder / "answers.txt"
    file.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    return ["--answers", str(file)]


def test_answers_from_a_file_are_kept_and_the_job_goes_on(run: Run, tmp_path: Path) -> None:
    done = run("walk", LAYOUT, *answers(tmp_path, *START))
    assert done.returncode == 0, done.stderr
    assert "Understood as: The solar does nothing." in done.stdout
    assert "all that was told is kept" in done.stdout
    (job,) = (tmp_path / "jobs").iterdir()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["answers.txt", "jobs"], "nothing lies in the current folder"
    again = run("walk", "--resume", job.stem, *answers(tmp_path, "volts house_p house_n 13.1 sun", "stop"))
    assert again.returncode == 0, again.stderr
    assert "5 answers so far" in again.stdout
    assert "still wrong" not in again.stdout, "it was put away before its end"
    assert "PUT AWAY" in again.stdout
    listed = run("jobs", "put", "away")
    assert job.stem in listed.stdout
    assert "no job like that" in run("jobs", "repaired").stdout
    report = run("report", job.stem)
    assert report.returncode == 0, report.stderr
    for said in ("Complaint: The solar", "1. Volts from the house battery", "13.1", "put away"):
        assert said in report.stdout


def test_a_proved_repair_is_looked_at_again_and_a_look_that_was_put_away_goes_on(run: Run, tmp_path: Path) -> None:
    job = tmp_path / "proved.jsonl"
    shutil.copy(EXAMPLE_JOB, job)
    assert "REPAIRED AND PROVED" in run("report", str(job)).stdout
    first = run("walk", "--resume", str(job), *answers(tmp_path, "none", "stop"))
    again = run("walk", "--resume", str(job), *answers(tmp_path, "none", "stop"))
    for done in (first, again):
        assert done.returncode == 0, done.stderr
        assert "Before it goes on, once more, as it is now:" in done.stdout
        assert "is taken to be still wrong" in done.stdout
        assert "REPAIRED AND PROVED" not in done.stdout
    question = next(line for line in first.stdout.splitlines() if line.startswith("Question "))
    assert question in again.stdout, "the test that was asked for is asked for once more"


def test_what_is_told_on_the_command_line_is_not_asked(run: Run, tmp_path: Path) -> None:
    words = ["walk", LAYOUT, "--tools", "eyes", "--complaint", "none", *answers(tmp_path, "none", "off", "done")]
    done = run(*words)
    assert done.returncode == 0, done.stderr
    for asked in ("Which tools", "Prove the meter", "What is the complaint"):
        assert asked not in done.stdout
    assert "Question 1" in done.stdout


def test_a_danger_has_its_own_status(run: Run, tmp_path: Path) -> None:
    done = run("walk", LAYOUT, *answers(tmp_path, "smok"))
    assert done.returncode == 3
    assert "DANGER" in done.stdout
    (job,) = (tmp_path / "jobs").iterdir()
    assert run("report", job.stem).returncode == 3


@pytest.mark.parametrize("count", [0, 3, 5])
def test_the_end_of_input_at_any_question_loses_nothing(run: Run, tmp_path: Path, count: int) -> None:
    done = run("walk", LAYOUT, typed="".join(f"{line}\n" for line in START[:count]))
    assert done.returncode == 0, done.stderr
    assert "the input ended: all that was told is kept" in done.stdout
    (job,) = (tmp_path / "jobs").iterdir()
    assert len(job.read_text().splitlines()) == 1 + count


def test_without_a_file_a_layout_is_picked(run: Run, tmp_path: Path) -> None:
    done = run("walk", *answers(tmp_path, "nowhere", "sun", "none"))
    assert done.returncode == 0, done.stderr
    assert "Van whose house battery lives from the sun alone" in done.stdout
    assert "Where does it stand?" in done.stdout


@pytest.mark.slow
def test_an_installation_is_described_on_the_spot(run: Run, tmp_path: Path) -> None:
    done = run("walk", *answers(tmp_path, "adapt", *[""] * 40))
    assert done.returncode == 0, done.stderr
    (job,) = (tmp_path / "jobs").iterdir()
    assert "layout: crew_cab_tray" in job.read_text()
    assert run("report", job.stem).returncode == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["walk", "--resume", "no_such_job"], "there is no such job"),
        (["walk", LAYOUT, "--resume", "x"], "--resume"),
        (["walk", "no_such_layout"], "no_such_layout"),
        (["walk", LAYOUT, "--tools", "hammer"], "`hammer` is no tool"),
        (["report", "no_such_job"], "there is no such job"),
    ],
)
def test_bad_words_are_refused(run: Run, tmp_path: Path, words: list[str], said: str) -> None:
    done = run(*words)
    assert (done.returncode, done.stdout) == (2, "")
    assert said in done.stderr


def test_a_folder_that_cannot_be_written_is_said(run: Run, tmp_path: Path) -> None:
    (tmp_path / "jobs").write_text("a file where the folder should be")
    done = run("walk", LAYOUT)
    assert (done.returncode, done.stdout) == (2, "")
    assert "the job cannot be kept" in done.stderr


def test_sixty_columns_hold_every_line(run: Run, tmp_path: Path) -> None:
    words = ["help", "how", "why", "ranking", "why-not blown house_fuse", "list", "0.001", "save", "stop"]
    typed = [*START, "done", *words]
    done = run("walk", LAYOUT, *answers(tmp_path, *typed), columns=60)
    assert done.returncode == 0, done.stderr
    assert [line for line in done.stdout.splitlines() if len(line) > 60 and "diagnose " not in line] == []
    assert "\x1b" not in done.stdout


def test_an_endless_stream_of_help_ends(run: Run, tmp_path: Path) -> None:
    done = run("walk", LAYOUT, typed="help\n" * 5000)
    assert done.returncode == 0
    assert "answers were given" in done.stdout


def test_the_command_that_takes_a_walk_up_again_finds_that_very_record(run: Run, tmp_path: Path) -> None:
    elsewhere = tmp_path / "another folder"
    begun = run("walk", LAYOUT, "--jobs", str(elsewhere), *answers(tmp_path, "none", "stop"))
    (job,) = elsewhere.iterdir()
    assert f"--resume '{job}'" in begun.stdout
    assert f"diagnose report '{job}'" in begun.stdout
    again = run("walk", "--resume", str(job), *answers(tmp_path, "none", "stop"))
    assert f"--resume '{job}'" in again.stdout
    usual = run("walk", LAYOUT, *answers(tmp_path, "none", "stop"))
    (own,) = (tmp_path / "jobs").iterdir()
    assert f"--resume {own.stem}\n" in usual.stdout
