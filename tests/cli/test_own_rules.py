"""A company's own rules on every command that goes by rules: named on the screen, kept with the job, asked for anew."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.store.jobs import load_job
from diagnose.store.jobs_rules import changed_since, rules_entry, rules_of
from diagnose.store.rule_folders import rule_folders

TOLD = "rules: those of {} over those that ship: changed faults/blown (frequency)\n"
LAYOUT = "solar_only_van"


def weigh(folder: Path, weight: float) -> None:
    """Write rules by which a blown fuse has a frequency of its own."""
    (folder / "faults").mkdir(parents=True, exist_ok=True)
    backed = 'source: "no published figure: judgement", confidence: judgement'
    (folder / "faults/blown.yaml").write_text(f"frequency: {{weight: {weight}, {backed}}}\n", encoding="utf-8")


@pytest.fixture
def ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with own rules, `ours`, and answers that begin a walk."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("DIAGNOSE_JOBS", str(tmp_path / "jobs"))
    weigh(tmp_path / "ours", 40.0)
    (tmp_path / "begin.txt").write_text("none\noff\n\n12.6\nsolar dosnt work\n", encoding="utf-8")
    (tmp_path / "nothing.txt").write_text("", encoding="utf-8")
    return tmp_path / "ours"


def told(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    capsys.readouterr()
    status = run(list(words))
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def begun(capsys: pytest.CaptureFixture[str]) -> Path:
    """Return the record of a walk that was begun by own rules."""
    status, _, err = told(capsys, "walk", LAYOUT, "--rules", "ours", "--answers", "begin.txt")
    assert (status, err) == (0, TOLD.format("ours"))
    (job,) = Path("jobs").iterdir()
    return job


def test_a_walk_goes_on_by_the_rules_it_was_begun_with(
    capsys: pytest.CaptureFixture[str], ours: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = begun(capsys)
    head = load_job(job).head
    assert head["rules_from"] == str(ours), "the whole path, so that it goes on from any folder"
    assert head["rules"] == rule_folders("ours").digest()[:16] != rules_entry(None)["rules"]
    record = str(job.absolute())
    nothing = str(tmp_path / "nothing.txt")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    status, out, err = told(capsys, "walk", "--resume", record, "--answers", nothing)
    assert (status, err) == (0, TOLD.format(ours))
    assert "has changed" not in out
    status, _, err = told(capsys, "report", record)
    assert (status, err) == (0, TOLD.format(ours))
    status, _, err = told(capsys, "draw", LAYOUT, "--job", record)
    assert (status, err) == (0, TOLD.format(ours))


def test_rules_that_changed_since_or_are_gone_are_told_of(
    capsys: pytest.CaptureFixture[str], ours: Path, tmp_path: Path
) -> None:
    job = begun(capsys)
    before = job.read_bytes()
    weigh(ours, 41.0)
    _, out, _ = told(capsys, "walk", "--resume", job.stem, "--answers", "nothing.txt")
    assert "The rule base has changed since; what was told is weighed anew." in out
    weigh(ours, 40.0)
    ours.rename(tmp_path / "moved")
    for words in (["walk", "--resume", job.stem], ["report", job.stem], ["draw", LAYOUT, "--job", job.stem]):
        status, out, err = told(capsys, *words)
        assert (status, out, err.count("\n")) == (2, "", 1)
        assert f"{job.name}:1:1: the own rules it was begun with are gone from {ours}" in err
        assert "--rules FOLDER" in err
    assert job.read_bytes() == before
    status, out, err = told(capsys, "walk", "--resume", job.stem, "--rules", "moved", "--answers", "nothing.txt")
    assert (status, err) == (0, TOLD.format("moved"))
    assert "has changed" not in out
    status, _, err = told(capsys, "report", job.stem, "--rules", "moved")
    assert (status, err) == (0, TOLD.format("moved"))


def test_a_job_of_the_rules_that_ship_takes_no_others(capsys: pytest.CaptureFixture[str], ours: Path) -> None:
    assert told(capsys, "walk", LAYOUT, "--answers", "begin.txt")[0] == 0
    (job,) = Path("jobs").iterdir()
    assert "rules_from" not in load_job(job).head
    status, _, err = told(capsys, "walk", "--resume", job.stem, "--rules", "ours")
    assert status == 2
    assert err.startswith("--rules: this job was begun by the rules that ship")


@pytest.mark.parametrize("kept", [7, "a\0b", ["ours"]])
def test_a_record_whose_rules_were_edited_is_bad_input(
    capsys: pytest.CaptureFixture[str], ours: Path, kept: object
) -> None:
    from diagnose.store.jobs_record import line_of, read_lines

    job = begun(capsys)
    lines = [dict(line) for line in read_lines(job).data]
    lines[0]["rules_from"] = kept
    job.write_bytes(b"".join(line_of(number, line) for number, line in enumerate(lines)))
    status, _, err = told(capsys, "report", job.stem)
    assert status == 2
    assert re.search(r":1:1: ", err)
    assert err.count("\n") == 1


def test_a_script_is_compiled_by_own_rules_and_its_play_keeps_them(
    capsys: pytest.CaptureFixture[str], ours: Path
) -> None:
    order = ["script", LAYOUT, "--complaint", "solar does nothing", "--depth", "2", "--rules", "ours"]
    status, out, err = told(capsys, *order, "--json")
    assert (status, err) == (0, TOLD.format("ours") + "Understood as: The solar does nothing.\n")
    assert out != told(capsys, *order[:-2], "--json")[1]
    Path("stop.txt").write_text("stop\n", encoding="utf-8")
    told(capsys, *order, "--run", "--answers", "stop.txt")
    (job,) = Path("jobs").iterdir()
    assert load_job(job).head["rules_from"] == str(ours)


def test_a_commissioning_keeps_its_rules(capsys: pytest.CaptureFixture[str], ours: Path) -> None:
    status, _, err = told(capsys, "commission", LAYOUT, "--rules", "ours", "--answers", "nothing.txt")
    assert err == TOLD.format("ours")
    (job,) = Path("jobs").iterdir()
    status, out, err = told(capsys, "commission", "--resume", job.stem, "--json")
    assert (status, err) == (0, TOLD.format(ours))
    assert json.loads(out)["rule_base_hash"] == rule_folders("ours").digest()[:16]
    weigh(ours, 41.0)
    _, out, _ = told(capsys, "commission", "--resume", job.stem, "--answers", "nothing.txt")
    assert "The rule base has changed since; what was told is judged anew." in out
    ours.rename("moved")
    for command in (["report", job.stem], ["commission", "--resume", job.stem]):
        status, _, err = told(capsys, *command)
        assert (status, "are gone from" in err) == (2, True)
        assert told(capsys, *command, "--rules", "moved", *(["--json"] if "--resume" in command else []))[0] == 0


QUICK = [("check", LAYOUT), ("check", LAYOUT, "--build-sheet"), ("draw", LAYOUT), ("learn",),
         ("practice", "sun-fuse-01", "--answers", "nothing.txt", "--json")]  # fmt: skip


@pytest.mark.parametrize("words", QUICK, ids=" ".join)
def test_other_commands_name_them(capsys: pytest.CaptureFixture[str], ours: Path, words: tuple[str, ...]) -> None:
    _, _, err = told(capsys, *words, "--rules", "ours")
    assert TOLD.format("ours") in err
    assert TOLD.format("ours") not in told(capsys, *words)[2]
    (ours / "faults/blown.yaml").write_text("remedi: x\n", encoding="utf-8")
    status, _, err = told(capsys, *words, "--rules", "no_such_folder")
    assert (status, err) == (2, "no_such_folder: there is no such folder, give a folder of rules\n")


def test_a_layout_of_one_s_own_is_walked_checked_and_drawn(capsys: pytest.CaptureFixture[str], ours: Path) -> None:
    (ours / "layouts").mkdir()
    text = "title: One lamp\nparts:\n"
    text += "  battery: {kind: battery, pos: pos, neg: neg, chemistry: agm, capacity: 50 Ah}\n"
    text += "  lamp: {kind: load, pos: pos, neg: neg, power: 20 W}\n"
    (ours / "layouts/one_lamp.yaml").write_text(text, encoding="utf-8")
    for command in ("check", "draw"):
        assert told(capsys, command, "one_lamp", "--rules", "ours")[0] in (0, 1)
        assert told(capsys, command, "one_lamp")[0] == 2
    status, _, err = told(capsys, "walk", "one_lamp", "--rules", "ours", "--answers", "nothing.txt")
    assert status == 0, err
    (job,) = Path("jobs").iterdir()
    found = load_job(job)
    assert not changed_since(found.head, rules_of(found.head, job))
    assert told(capsys, "walk", "--resume", job.stem, "--answers", "nothing.txt")[0] == 0
