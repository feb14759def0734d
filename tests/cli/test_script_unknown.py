"""`diagnose script --unknown` from outside: what it takes, what it refuses, a call that is asked what is fitted."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from itertools import chain
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.main import run
from diagnose.store.data_folder import rules_folder

CALL = ["--complaint", "does not charge while driving", "--tools", "eyes,hands", "--depth", "4"]
TRAY = ["script", "crew_cab_tray", *CALL]
#: where the one unknown that fits is asked for
SUN = ["script", "solar_only_van", *CALL[:2], "--tools", "eyes,hands,multimeter", "--depth", "6"]
#: an installation of which nothing is asked: no alternator, no charger, and its battery cranks the engine
OLD_CAR = """\
title: Old car
parts:
  battery: {kind: battery, pos: pos, neg: neg, chemistry: flooded, capacity: 60 Ah}
  cable: {kind: cable, ends: [pos, starter_pos], area: 35 mm2, length: 1 m}
  starter: {kind: starter, pos: starter_pos, neg: neg, current: 180 A}
  lamp: {kind: load, pos: pos, neg: neg, power: 20 W}
"""


def asked(steps: dict[str, Any]) -> dict[str, str]:
    """Return what is asked for of what is fitted, by step."""
    return {name: step["unknown"] for name, step in steps.items() if step.get("unknown")}


def form_of(words: list[str], capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    """Return a script as JSON."""
    capsys.readouterr()
    assert run([*words, "--json"]) == 0
    return dict(json.loads(capsys.readouterr().out))


def way_to(wanted: set[str], steps: dict[str, Any], root: str) -> tuple[list[list[str]], str]:
    """Return what is typed at each card from the root to the nearest of some steps, and that step."""
    ways: list[tuple[list[list[str]], str]] = [([], root)]
    for typed, at in ways:
        if at in wanted:
            return typed, at
        answers = steps[at].get("answers", [])
        measured = any("unit" in answer for answer in answers)
        words = [answer["read"] for answer in answers if answer.get("read") not in (None, "skipped")]
        for answer in answers:
            read = answer.get("read")
            if read is None:
                number = answer["low"] if answer["low"] is not None else answer["high"] - 1.0
                said = [f"{number:g}", "yes"]
            else:
                said = ["cannot" if read == "skipped" else read if measured else f"{words.index(read) + 1}"]
            ways.append(([*typed, said], answer["go"]))
    raise AssertionError("no way leads there")


def test_what_is_not_known_is_asked_for_and_kept_with_the_call(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A step about what is fitted has no test; what the caller says of it is no reading, and stands in the record."""
    words = ["script", "--layout", "van_lfp_seat", *CALL[:2], "--tools", "eyes,multimeter", "--unknown", "all"]
    assert run([*words, "--json"]) == 0
    form = json.loads(capsys.readouterr().out)
    steps = form["steps"]
    fitted = {name for name, step in steps.items() if step.get("unknown")}
    assert {steps[name]["unknown"] for name in fitted} >= {"regulation", "chemistry"}
    for name, step in steps.items():
        assert ("end" in step) or (step["take"] is None) == (name in fitted)
    typed, at = way_to(fitted, steps, form["root"])
    answers = tmp_path / "answers"
    answers.write_text("\n".join(["", *chain(*typed), "1", "stop", "", ""]), encoding="utf-8")
    assert run([*words, "--run", "--jobs", str(tmp_path), "--answers", str(answers), "--plain"]) == 0
    assert steps[at]["say"] in " ".join(capsys.readouterr().out.split())
    record = next(tmp_path.glob("*.jsonl")).read_text(encoding="utf-8")
    events = [json.loads(line)["ev"] for line in record.splitlines()]
    kinds = [event.get("kind") for event in events]
    assert kinds.count("reading") + kinds.count("cannot") == len(typed)
    assert f"{steps[at]['say']} {steps[at]['answers'][0]['label']}" in events[-1]["text"]


@pytest.mark.parametrize(
    ("named", "said"),
    [
        ("regulaton", "--unknown: `regulaton` is no unknown, did you mean regulation?"),
        ("zzz", "--unknown: `zzz` is no unknown, one of "),
        ("ignition,", "--unknown: `` is no unknown, one of "),
        ("panel", "--unknown: `panel` is no question here: there is no such part, one of "),
        ("panel,zzz", "--unknown: `zzz` is no unknown, one of "),
        ("", "--unknown: `` is no unknown, one of "),
    ],
)
def test_what_is_no_unknown_here(named: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*TRAY, "--unknown", named]) == 2
    out, told = capsys.readouterr()
    assert (out, told.count("\n")) == ("", len([word for word in named.split(",") if word != "ignition"]))
    assert said in told
    assert "mains" not in told.partition("one of")[2], "what the layout has no part for is not offered"


def test_where_nothing_may_be_unknown_all_is_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An installation may be a file: what is named must fit it as it must fit a layout."""
    file = tmp_path / "old_car.yaml"
    file.write_text(OLD_CAR, encoding="utf-8")
    words = ["script", str(file), "--complaint", "lights_dim_with_pump", "--depth", "2", "--tools", "eyes"]
    assert form_of([*words, "--unknown", "all"], capsys) == form_of(words, capsys)
    assert run([*words, "--unknown", "chemistry,zzz"]) == 2
    first, second = capsys.readouterr().err.splitlines()
    assert first == (
        "--unknown: `chemistry` is no question here: there is no such part, leave --unknown out: nothing is open here"
    )
    assert second == "--unknown: `zzz` is no unknown, leave --unknown out: nothing is open here"


def test_only_what_is_named_is_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    words = [*TRAY[:-1], "5"]
    named = form_of([*words, "--unknown", "chemistry"], capsys)
    assert set(asked(named["steps"]).values()) == {"chemistry"}
    assert form_of([*words, "--unknown", " chemistry", "--unknown", "chemistry"], capsys) == named
    assert len(set(asked(form_of([*words, "--unknown", "all"], capsys)["steps"]).values())) > 1
    assert asked(form_of(words, capsys)["steps"]) == {}


def test_a_call_through_a_pipe(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = [*SUN, "--unknown", "chemistry"]
    form = form_of(words, capsys)
    steps = form["steps"]
    on = {name for name in asked(steps) if "end" not in steps[steps[name]["answers"][0]["go"]]}
    typed, at = way_to(on, steps, form["root"])
    # what was told is taken back on the next card: no reading is undone by that
    lines = ["", *chain(*typed), "yes", "back", "how", "2", "stop", ""]
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", *words, "--run", "--jobs", str(tmp_path)],
        input="".join(f"{line}\n" for line in lines), capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    shown = " ".join(done.stdout.split())
    assert shown.count(f'Say: "{steps[at]["say"]}"') == 2
    assert f"Told of what is fitted: {steps[at]['say']} {steps[at]['answers'][1]['label']} " in shown
    record = next(tmp_path.glob("*.jsonl")).read_text(encoding="utf-8")
    kinds = [json.loads(line)["ev"].get("kind") for line in record.splitlines()]
    assert kinds.count("reading") + kinds.count("cannot") == len(typed)
    assert "undo" not in kinds


def test_a_whole_rule_base_has_its_own_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """They are not mixed with those that ship, and a folder that lies over those that ship has none."""
    whole = tmp_path / "whole"
    shutil.copytree(rules_folder(), whole)
    for name, old, new in (
        ("cards", "the charging box", "the humming box"), ("unknowns", "  chemistry:", "  lithium:"),
    ):  # fmt: skip
        file = whole / "scripts" / f"{name}.yaml"
        text = file.read_text(encoding="utf-8")
        assert old in text
        file.write_text(text.replace(old, new), encoding="utf-8")
    own = [*SUN, "--rules", str(whole)]
    form = form_of([*own, "--unknown", "lithium"], capsys)
    assert set(asked(form["steps"]).values()) == {"lithium"}
    assert "the humming box" in json.dumps(form)
    assert "the charging box" not in json.dumps(form)
    assert run([*own, "--unknown", "chemistry"]) == 2
    assert "`chemistry` is no unknown" in capsys.readouterr().err
    (whole / "scripts/unknowns.yaml").unlink()
    assert run([*own, "--unknown", "all"]) == 2
    assert "unknowns.yaml: there is no such file" in capsys.readouterr().err
    (whole / "MARKER.yaml").unlink()
    assert run(own) == 2
    assert f"{whole}/scripts: rules in this folder are not read" in capsys.readouterr().err
