"""`diagnose script` from outside: forms, bad input, a play that the walk goes on with."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.cli.main import run

WORDS = ["script", "crew_cab_tray", "--complaint", "does not charge while driving", "--depth", "3"]


def test_json_has_the_keys_of_its_form(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*WORDS, "--tools", "eyes", "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert form["schema"] == "diagnose/script/1"
    assert {"title", "complaint", "tools", "root", "cautions", "steps"} <= set(form)
    assert form["tools"] == ["eyes"]
    root = form["steps"][form["root"]]
    assert {"say", "how", "take", "cautions", "answers"} <= set(root)
    assert root["take"] == {"look": "house_battery", "when": "at_rest"}
    ends = [s for s in form["steps"].values() if "end" in s]
    assert all({"faults", "say", "send", "bring"} <= set(end) for end in ends)
    chances = [sum(f["probability"] for f in e["faults"]) + e["no_fault"] + e["unlisted"] for e in ends]
    assert max(chances) <= 1.0 + 1e-6


def test_a_complaint_that_is_not_understood_is_said_to_be_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*WORDS[:3], "qwxz", "--depth", "2", "--tools", "eyes"]) == 0
    assert "was not understood" in capsys.readouterr().out


def test_how_free_words_were_understood_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    few = [*WORDS[:4], "--depth", "2", "--tools", "eyes"]
    assert run(few) == 0
    assert "Understood as: It won't charge while driving." in capsys.readouterr().out
    assert run([*few, "--json"]) == 0
    out, told = capsys.readouterr()
    assert json.loads(out)["understood"]["complaint"] == "no_charge_driving"
    assert "Understood as: It won't charge while driving." in told
    assert run([*few, "--html", str(tmp_path / "page.html")]) == 0
    assert "Understood as: It won&#39;t charge" in (tmp_path / "page.html").read_text(encoding="utf-8")
    assert "Understood as:" in capsys.readouterr().err
    assert run([*WORDS[:3], "no_charge_driving", "--depth", "2", "--tools", "eyes"]) == 0
    assert "nderstood" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["script", "--complaint", "x"], "INSTALLATION: one installation is wanted, give a file, or --layout"),
        (["script", "crew_cab_tray"], "--complaint: no complaint is given"),
        ([*WORDS[:4], "--depth", "0"], "--depth: 0 questions cannot be asked, a number from 1 to 12"),
        ([*WORDS, "--allow", "flames"], "--allow: `flames` is nothing to allow"),
        ([*WORDS, "--for", "nobody"], "--for: `nobody` is no reader, owner or installer"),
        ([*WORDS, "--tools", "teeth"], "--tools: `teeth` is no tool"),
        (["script", "--layout", "moon", "--complaint", "x"], "--layout: `moon` is no layout that ships"),
        ([*WORDS, "--run", "--json"], "--run: a play is no JSON"),
        ([*WORDS, "--answers", "a"], "--answers: nothing is played, --run with it, or no --answers"),
        ([*WORDS, "--jobs", "a"], "--jobs: nothing is played"),
        ([*WORDS, "--allow", "none,fuse"], "--allow: `none` is nothing to allow beside others"),
        ([*WORDS, "--tools", "clamp", "--allow", "fuse"], "--allow: an installer is not limited by it"),
    ],
)
def test_bad_input(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(words) == 2
    out, told = capsys.readouterr()
    assert out == ""
    assert said in told


def test_a_play_is_kept_and_the_walk_goes_on(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answers = tmp_path / "answers"
    answers.write_text("it stays flat\n1\ncannot\nback\n1\nstop\na lid\n", encoding="utf-8")
    assert run([*WORDS, "--run", "--jobs", str(tmp_path), "--answers", str(answers), "--plain"]) == 0
    out = capsys.readouterr().out
    assert out.index("Caution:") < out.index("Say:")
    lines = [json.loads(line)["ev"] for line in (tmp_path / "crew_cab_tray_utility-1.jsonl").read_text().splitlines()]
    assert [e.get("kind") for e in lines[1:]] == [
        "tools", "complaint", "reading", "cannot", "undo", "reading", "stop",
    ]  # fmt: skip
    assert lines[2]["text"] == "it stays flat"
    assert "moved: a lid" in lines[-1]["text"]
    more = tmp_path / "more"
    more.write_text("none\noff_road\n", encoding="utf-8")
    assert run(["walk", "--resume", "crew_cab_tray_utility-1", "--jobs", str(tmp_path), "--answers", str(more)]) == 0
    assert "5 answers so far" in capsys.readouterr().out


def test_danger_ends_the_call(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answers = tmp_path / "answers"
    answers.write_text("\nsmoking\n\n", encoding="utf-8")
    assert run([*WORDS, "--run", "--jobs", str(tmp_path), "--answers", str(answers), "--plain"]) == 3
    assert "SEND SOMEONE (danger)" in capsys.readouterr().out


def test_a_card_says_how_and_takes_its_own_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    answers = tmp_path / "answers"
    answers.write_text("\nnothing of the kind\nNothing special\nstop\n\n", encoding="utf-8")
    assert run([*WORDS, "--run", "--jobs", str(tmp_path), "--answers", str(answers), "--plain"]) == 0
    out = capsys.readouterr().out
    assert out.index("Go away at once") < out.index("Stand back from"), "how it is done comes before what is asked"
    said = [json.loads(line)["ev"] for line in (tmp_path / "crew_cab_tray_utility-1.jsonl").read_text().splitlines()]
    assert [e["text"] for e in said if e.get("kind") == "reading"] == ["good", "none"]


def test_files_are_written_and_not_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    page, text, marked = (tmp_path / name for name in ("a.html", "a.txt", "a.md"))
    words = [*WORDS, "--html", str(page), "--text", str(text), "--markdown", str(marked)]
    assert run(words) == 0
    assert capsys.readouterr().out == ""
    assert "<!doctype html>" in page.read_text()
    assert "q1." in text.read_text()
    assert "# Crew-cab" in marked.read_text()
    assert run(words) == 2
    assert "it exists already" in capsys.readouterr().err
