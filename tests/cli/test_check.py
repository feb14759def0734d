"""`diagnose check` as its user meets it: status, text, JSON, build sheet, mistakes in options and files."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from diagnose.cli.main import run
from diagnose.store.data_folder import rules_folder

BROKEN = "layout: crew_cab_tray\nparts:\n  tray_strap: null\n  input_fuse: {rating: 200 A}\n"


def check(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(["check", *words])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


def test_a_sound_layout_passes(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = check(capsys, "crew_cab_tray")
    assert (status, err) == (0, "")
    assert "0 FAIL" in out.splitlines()[1]
    assert "Source:" in out
    assert "come first" in out


def test_what_fails_comes_first_and_status_is_1(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "van.yaml"
    file.write_text(BROKEN, encoding="utf-8")
    status, out, _ = check(capsys, str(file))
    assert status == 1
    verdicts = [line.split()[0] for line in out.splitlines() if line.strip()[:4] in ("FAIL", "LOOK", "PASS")]
    assert verdicts == sorted(verdicts, key=("FAIL", "LOOK", "PASS").index)
    assert "input_cable" in out.split("LOOK  ")[0]


def test_json_holds_every_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "van.yaml"
    file.write_text(BROKEN, encoding="utf-8")
    status, out, _ = check(capsys, str(file), "--json", "--driving-hours", "1", "--load-hours", "fridge=10")
    form = json.loads(out)
    assert status == 1
    assert form["schema"] == "diagnose/check/1"
    assert form["assumed"]["driving"] == 1.0
    assert form["assumed"]["load_hours"] == {"fridge": 10.0}
    assert form["failed"] == sum(line["verdict"] == "FAIL" for line in form["lines"]) == 2
    keys = {"rule", "verdict", "subject", "value", "limit", "unit", "says", "why", "source", "parts"}
    assert all(set(line) == keys for line in form["lines"])


@pytest.mark.parametrize("columns", [40, 60, 80])
@pytest.mark.parametrize("option", [(), ("--build-sheet",)])
def test_no_line_is_wider_than_the_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, columns: int, option: tuple[str, ...]
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    _, out, _ = check(capsys, "motorhome_variable", *option)
    assert max(len(line) for line in out.splitlines()) <= columns
    assert "\x1b" not in out


def test_the_build_sheet_has_cautions_first_and_everything_to_fit(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = check(capsys, "van_lfp_seat", "--build-sheet")
    assert status == 0
    titles = [line for line in out.splitlines() if line[:4].isupper() and not line.startswith(" ")]
    assert titles[1] == "READ FIRST"
    for title in ("PARTS", "FUSES", "CABLES", "LUGS", "TORQUE", "ORDER OF WORK", "HOLD POINTS", "CONSUMABLES"):
        assert any(line.startswith(title) for line in titles)
    assert out.index("lithium") < out.index("PARTS")
    assert "input_cable: 25 mm2" in out
    assert "10 kA" in out
    assert "DO NOT BUILD" not in out


def test_a_design_that_fails_is_not_to_be_built(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "van.yaml"
    file.write_text(BROKEN, encoding="utf-8")
    status, out, _ = check(capsys, str(file), "--build-sheet")
    assert status == 1
    assert out.index("DO NOT BUILD YET") < out.index("PARTS")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--load-hours", "fridg=10"), "--load-hours: no load `fridg`, did you mean fridge?"),
        (("--load-hours", "fridge=25"), "--load-hours: `25` is no number of hours a day, write 0 to 24"),
        (("--load-hours", "often"), "--load-hours: `often` is no number of hours a day, write 0 to 24"),
        (("--driving-hours", "30"), "--driving-hours: "),
    ],
)
def test_a_mistaken_option_is_named(capsys: pytest.CaptureFixture[str], words: tuple[str, str], said: str) -> None:
    status, out, err = check(capsys, "crew_cab_tray", *words)
    assert (status, out) == (2, "")
    assert err.startswith(said)


def test_a_bad_file_is_refused_with_its_place(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "van.yaml"
    file.write_text("layout: crew_cab_tray\nzones: {tray: {enclosed: maybe, opening: 12}}\n", encoding="utf-8")
    status, out, err = check(capsys, str(file))
    assert (status, out) == (2, "")
    assert f"{file}:2:26: " in err
    assert f"{file}:2:42: a unit is missing" in err


def test_a_whole_rule_base_has_its_own_checks(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    shutil.copytree(rules_folder(), whole)
    file = whole / "checks" / "fuse_at_battery.yaml"
    text = file.read_text(encoding="utf-8")
    asks = next(line for line in text.splitlines() if line.startswith("asks: "))
    file.write_text(text.replace(asks, "asks: Is it so in our shop?"), encoding="utf-8")
    status, out, err = check(capsys, "crew_cab_tray", "--rules", str(whole))
    assert status == 0
    assert "Is it so in our shop?" in out
    assert "not those that ship" in err
    file.unlink()
    (whole / "checks" / "energy_day.yaml").unlink()
    status, out, err = check(capsys, "crew_cab_tray", "--rules", str(whole))
    assert (status, out) == (2, "")
    assert err.count("no such file") == 2
    assert run(["lint", "--rules", str(whole)]) == 1
    out = capsys.readouterr().out
    assert "rules/checks/energy_day.yaml: no such file" in out
    assert out.count("no such file") == 2
