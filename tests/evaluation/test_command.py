"""`diagnose evaluate` as its user meets it: a table, JSON, mistakes in options."""

from __future__ import annotations

import json

import pytest

from diagnose.cli.main import run


def evaluate(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(["evaluate", *words])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


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
