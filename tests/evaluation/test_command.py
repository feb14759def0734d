"""`diagnose evaluate` as its user meets it: a table, JSON, mistakes in options."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.store.evaluations import KEPT


def evaluate(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(["evaluate", *words])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


@pytest.mark.slow
def test_a_small_run_as_a_table_and_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    words = ("--layouts", "solar_only_van", "--n", "1", "--players", "engine,textbook", "--seed", "4")
    status, out, err = evaluate(capsys, *words)
    assert status in (0, 1)
    assert err == ""
    assert max(len(line) for line in out.splitlines()) <= 80
    assert "1 vehicles of 1 layouts, seed 4" in out
    assert "is not told, at most: stretch" in " ".join(out.split())
    again, told, _ = evaluate(capsys, *words, "--json")
    form = json.loads(told)
    assert again == status
    assert form["schema"] == "diagnose/evaluation/1"
    assert [p["name"] for p in form["players"]] == ["engine", "textbook"]
    assert status == int(not all(f["reached"] for f in form["floors"]))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--layouts", "crew_cab_tra"), "did you mean crew_cab_tray?"),
        (("--layouts", ","), "no layout is named"),
        (("--players", "engin"), "did you mean engine?"),
        (("--tools", "multimetre"), "did you mean multimeter?"),
        (("--n", "0"), "--n"),
        (("--wrong", "1.5"), "--wrong"),
    ],
)
def test_a_mistaken_option_is_refused(capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str) -> None:
    status, out, err = evaluate(capsys, *words)
    assert (status, out) == (2, "")
    assert said in err


@pytest.mark.slow
def test_two_kept_runs_are_compared(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    words = ("--layouts", "solar_only_van", "--n", "1", "--players", "engine")
    old, other = str(tmp_path / "old.jsonl"), str(tmp_path / "other.jsonl")
    assert evaluate(capsys, *words, "--seed", "4", "--keep", old)[0] in (0, 1)
    moved = Path(old).read_text(encoding="utf-8").replace('"complaint": ', '"complaint": null, "was": ')
    Path(other).write_text(re.sub(r'"was": ("[^"]*"|null)', '"seed": 5', moved), encoding="utf-8")
    status, out, err = evaluate(capsys, "--compare", old, old)
    assert (status, err) == (0, "")
    assert "More than chance (p under 0.05): nothing." in out
    assert max(len(line) for line in out.splitlines()) <= 80
    _, told, _ = evaluate(capsys, "--compare", old, old, "--json")
    form = json.loads(told)
    assert (form["schema"], form["vehicles"], form["all"]["p_first"]) == ("diagnose/evaluation-changes/1", 1, 1.0)
    assert evaluate(capsys, "--compare", old, other)[:2] == (2, "")
    status, out, err = evaluate(capsys, "--compare", old, str(tmp_path / "none"), "--n", "3")
    assert (status, out) == (2, "")
    assert "--n: it does not go with --compare" in err


def test_a_change_for_the_worse_is_a_status(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    case = {"layout": "small", "seed": 1, "faults": [], "complaint": None}
    head = {"schema": KEPT, "tools": [], "wrong": 0.0, "repair": False, "missing": False, "layouts": []}
    for name, first in (("old", 1.0), ("new", 0.0)):
        went = {"first": first, "in_three": 1.0, "chance": 0.9, "tests": 1, "minutes": 1.0, "end": "found"}
        lines = [head, *({"case": {"number": n, **case}, **went} for n in range(9))]
        (tmp_path / name).write_text("\n".join(map(json.dumps, lines)), encoding="utf-8")
    old, new = str(tmp_path / "old"), str(tmp_path / "new")
    status, out, _ = evaluate(capsys, "--compare", old, new)
    assert status == 1
    assert "More than chance (p under 0.05): all worse, nothing wrong worse." in " ".join(out.split())
    assert evaluate(capsys, "--compare", new, old)[0] == 0


def test_a_file_that_is_there_is_not_written_over(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "kept"
    file.write_text("mine", encoding="utf-8")
    status, out, err = evaluate(capsys, "--n", "1", "--keep", str(file))
    assert (status, out) == (2, "")
    assert "it exists already" in err
    assert file.read_text(encoding="utf-8") == "mine"
    assert evaluate(capsys, "--force")[2].startswith("--force: it goes with --keep alone")
