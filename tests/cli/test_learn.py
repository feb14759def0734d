"""`diagnose learn` as its user meets it: what is shown, what is left out and why, what is written and what never."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.store.commissioning_jobs import KIND
from diagnose.store.jobs_record import line_of, read_lines
from diagnose.store.rule_folders import rule_folders
from diagnose.store.rules import load_rules

EXAMPLES = Path(__file__).resolve().parents[2] / "cases" / "examples"
JOB = EXAMPLES / "crew_cab_tray_job.jsonl"


@pytest.fixture
def jobs(tmp_path: Path) -> Path:
    """A folder with a closed job, one that stops before the proof, and a damaged one."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    shutil.copy(JOB, folder / "closed-1.jsonl")
    whole = read_lines(JOB).data
    cut = next(n for n, line in enumerate(whole) if line.get("kind") == "repaired") + 1
    (folder / "open-1.jsonl").write_bytes(b"".join(line_of(n, line) for n, line in enumerate(whole[:cut])))
    (folder / "torn-1.jsonl").write_bytes(b"no record\nat all\n")
    return folder


def learn(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    status = run(["learn", *map(str, words)])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_before_and_after_are_shown_and_nothing_is_applied(capsys: pytest.CaptureFixture[str], jobs: Path) -> None:
    before = sorted(jobs.parent.rglob("*"))
    status, out, err = learn(capsys, "closed-1", "--jobs", jobs)
    assert (status, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Proved repairs: 1. Jobs left out: 0."
    row = next(line.split() for line in lines if line.startswith("high_resistance "))
    assert row[1:3] == ["joint", "1"]
    assert float(row[3].rstrip("%")) < float(row[4].rstrip("%"))
    assert float(row[5]) == load_rules().faults["high_resistance"].frequency.weight < float(row[6])
    assert "Nothing is applied." in lines[-1]
    assert max(map(len, lines)) <= 80
    assert sorted(jobs.parent.rglob("*")) == before


def test_all_jobs_of_the_folder_with_what_is_left_out(capsys: pytest.CaptureFixture[str], jobs: Path) -> None:
    status, out, err = learn(capsys, "--jobs", jobs, "--json")
    form = json.loads(out)
    assert (status, err) == (0, "")
    assert (form["schema"], form["proved"]) == ("diagnose/learnt/1", 1)
    assert {Path(each["job"]).stem: each["why"] for each in form["left_out"]} == {
        "open-1": "no repair is proved: the walk is not done",
        "torn-1": "this line of the record is damaged",
    }
    assert [each["fault"] for each in form["faults"]] == list(load_rules().faults)
    assert sum(each["share_after"] for each in form["faults"]) == pytest.approx(1.0, abs=1e-4)


def test_a_job_that_is_named_twice_counts_once(capsys: pytest.CaptureFixture[str], jobs: Path) -> None:
    _, out, _ = learn(capsys, "closed-1", jobs / "closed-1.jsonl", "--jobs", jobs, "--json")
    assert json.loads(out)["proved"] == 1


def test_without_a_proved_repair_nothing_is_learnt(capsys: pytest.CaptureFixture[str], jobs: Path) -> None:
    status, out, _ = learn(capsys, "open-1", "--jobs", jobs)
    assert status == 0
    assert "what ships stays as it is" in out
    status, out, err = learn(capsys, "open-1", "--jobs", jobs, "--into", jobs / "ours")
    assert (status, out) == (2, "")
    assert "no repair is proved" in err
    assert not (jobs / "ours").exists()


def test_what_is_written_is_what_the_rules_option_reads(capsys: pytest.CaptureFixture[str], jobs: Path) -> None:
    status, out, _ = learn(capsys, "closed-1", "--jobs", jobs, "--into", jobs / "ours")
    assert status == 0
    assert "They hold where --rules names it." in out
    ours = load_rules(rule_folders(str(jobs / "ours")))
    assert ours.faults["high_resistance"].frequency.weight > load_rules().faults["high_resistance"].frequency.weight
    status, out, err = learn(capsys, "closed-1", "--jobs", jobs, "--into", jobs / "ours")
    assert (status, out) == (2, "")
    assert "--force" in err
    assert learn(capsys, "closed-1", "--jobs", jobs, "--into", jobs / "ours", "--force")[0] == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("closed-2",), "did you mean closed-1?"),
        (("torn-1", "nobody.jsonl"), "this job cannot be read"),
        (("closed-1", "--force"), "it goes with --into alone"),
    ],
)
def test_what_cannot_be_done_is_refused(
    capsys: pytest.CaptureFixture[str], jobs: Path, words: tuple[str, ...], said: str
) -> None:
    status, out, err = learn(capsys, *words, "--jobs", jobs)
    assert (status, out) == (2, "")
    assert said in err
    assert len(err.splitlines()) == sum(word[0] != "-" for word in words if word != "closed-1") + ("--force" in words)


def test_a_commissioning_and_a_strange_fault_teach_nothing(capsys: pytest.CaptureFixture[str], jobs: Path) -> None:
    whole = [dict(line) for line in read_lines(JOB).data]
    for line in whole:
        if line.get("kind") == "repaired":
            line["fault"] = {"fault": "protection_open", "part": "tray_strap"}
    (jobs / "strange-1.jsonl").write_bytes(b"".join(line_of(n, line) for n, line in enumerate(whole)))
    (jobs / "fitted-1.jsonl").write_bytes(line_of(0, {**whole[0], "job": KIND}))
    _, out, _ = learn(capsys, "strange-1", "fitted-1", "--jobs", jobs)
    flat = " ".join(out.split())
    assert "strange-1: `protection_open` of `tray_strap` is no fault here" in flat
    assert "fitted-1: a commissioning proves no repair" in flat
