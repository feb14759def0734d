"""What is kept of an evaluation comes back the same; what is damaged is told with its line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.evaluation.comparing import Kept, Terms, Vehicle
from diagnose.evaluation.population import Case
from diagnose.model.fault import FaultAt
from diagnose.store.evaluations import load_kept, write_kept

CASES = (
    Case(0, "small", 17, (FaultAt("high_resistance", "tray_strap", None, None, 0.1 / 3),), "house battery low"),
    Case(1, "small", 18, (), None),
)
KEPT = Kept(
    Terms(("multimeter", "eyes"), 0.05, True, False, (("small", "ab12"),)),
    tuple(Vehicle(case, 1 / 3, 1.0, 0.9, 4, 7.5, "found") for case in CASES),
)


def told(file: Path) -> list[str]:
    with pytest.raises(BadInput) as refused:
        load_kept(str(file))
    return [problem.text().replace(str(file), "FILE") for problem in refused.value.problems]


def test_what_is_kept_comes_back(tmp_path: Path) -> None:
    file = tmp_path / "run.jsonl"
    write_kept(str(file), KEPT, False)
    assert load_kept(str(file)) == KEPT
    with pytest.raises(BadInput):
        write_kept(str(file), KEPT, False)
    write_kept(str(file), KEPT, True)


def test_every_damaged_line_is_told(tmp_path: Path) -> None:
    file = tmp_path / "run.jsonl"
    write_kept(str(file), KEPT, False)
    head, first, second = file.read_text(encoding="utf-8").splitlines()
    lost = json.loads(second)
    del lost["case"]["seed"]
    endless = first.replace("7.5", "1e999")
    file.write_text("\n".join([head, first[:40], json.dumps(lost), first.replace("7.5", "NaN"), endless]), "utf-8")
    found = told(file)
    assert [line.partition(": ")[0] for line in found] == ["FILE:2:41", "FILE:3:1", "FILE:4:1", "FILE:5:1"]
    assert "`case.seed` does not fit" in found[1]
    assert "`minutes` does not fit" in found[3]


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"schema": "diagnose/vehicles/2"}', "\0", "[" * 100_000])
def test_another_file_is_refused(tmp_path: Path, text: str) -> None:
    file = tmp_path / "run.jsonl"
    file.write_text(text, encoding="utf-8")
    assert told(file)[0].startswith("FILE:1:1: these are no vehicles of an evaluation")


def test_what_cannot_be_read_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "run.jsonl"
    assert told(file)[0].startswith("FILE: cannot be read")
    file.write_bytes(b"\xff\xfe")
    assert told(file)[0].startswith("FILE: this is no text")
    write_kept(str(tmp_path / "none.jsonl"), KEPT._replace(vehicles=()), False)
    assert "it holds no vehicle" in told(tmp_path / "none.jsonl")[0]
