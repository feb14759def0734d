"""`diagnose commission` and `diagnose compare` as their users meet them: screen, status, record, page, mistakes."""

from __future__ import annotations

import json
import shutil
from io import StringIO
from pathlib import Path

import pytest

from diagnose.cli.asker import Asker
from diagnose.cli.commission_dialogue import Told, ask_steps
from diagnose.cli.main import run
from diagnose.commissioning.progress import Commissioning, StepEvent
from diagnose.simulation.vehicle import SimulatedVehicle
from diagnose.store.data_folder import rules_folder
from tests.cli import golden_commissioning
from tests.commissioning.vehicles import base, begun, typed, vehicle_of

EXAMPLES = Path(__file__).resolve().parents[2] / "cases" / "examples"
THEN, NOW = (str(EXAMPLES / name) for name in golden_commissioning.TIMES)
LAYOUT = "solar_only_van"


def commission(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(["commission", *words])
    shown = capsys.readouterr()
    return status, shown.out, shown.err


class Typist:
    """Somebody who types what a vehicle reads, whatever is asked next."""

    def __init__(self, job: Commissioning, vehicle: SimulatedVehicle) -> None:
        self.job, self.vehicle = job, vehicle

    def isatty(self) -> bool:
        return False

    def readline(self, size: int = -1) -> str:
        text = next(typed(self.job, self.vehicle))[1]
        return f"{text}\n"


def test_a_whole_commissioning_is_asked_group_by_group_and_every_answer_is_kept() -> None:
    job, kept, out = begun(LAYOUT), [], StringIO()
    asker = Asker(Typist(job, vehicle_of(LAYOUT, "", 3)), out, plain=True)  # type: ignore[arg-type]
    told = Told(lambda: "", 20.0, "meter")
    assert ask_steps(asker, job, base()[0], told, kept.append, lambda job: (), 80) == ()
    assert not job.open_steps()
    assert [event for event in kept if event.kind == "answer"] == job.events
    assert {e.temperature for e in job.events} == {20.0}
    screen = out.getvalue()
    assert screen.index("Caution:") < screen.index("How:")
    assert "Expected here:" in screen
    assert "Limit:" in screen
    for line in screen.splitlines():
        assert len(line) <= 80


def test_cautions_stand_before_the_instruction_at_every_step() -> None:
    job, out = begun(LAYOUT), StringIO()
    asker = Asker(Typist(job, vehicle_of(LAYOUT, "", 3)), out, plain=True)  # type: ignore[arg-type]
    ask_steps(asker, job, base()[0], Told(lambda: "", None, ""), lambda e: None, lambda job: (), 80)
    blocks = out.getvalue().split("\n[")[1:]
    with_cautions = [block for block in blocks if "Caution:" in block]
    assert len(with_cautions) > 10
    for block in with_cautions:
        assert block.index("Caution:") < block.index("How:")


def test_the_sheet_has_every_step_with_what_it_should_read(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, err = commission(capsys, LAYOUT, "--sheet")
    assert (status, err) == (0, "")
    planned = begun(LAYOUT).planned
    assert out.count("verdict: ____") == len(planned)
    assert f"[{len(planned)} of {len(planned)}]" in out
    assert "come first" in " ".join(out.split())


def test_a_readings_file_fills_the_steps_and_the_json_tells_the_rest_is_not_done(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "readings.yaml"
    file.write_text("readings:\n  - {ohms: [tray, chassis], read: OL}\n", encoding="utf-8")
    status, out, err = commission(capsys, "crew_cab_tray", "--json", "--readings", str(file))
    assert (status, err) == (1, "")
    record = json.loads(out)
    assert record["schema"] == "diagnose/commissioning/1"
    rows = {row["id"]: row["verdict"] for row in record["steps"]}
    assert rows["bond_continuity:tray_strap"] == "FAIL"
    assert set(rows.values()) == {"FAIL", "NOT DONE"}


def test_stop_keeps_all_and_it_is_taken_up_again(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    answers, jobs = tmp_path / "answers.txt", tmp_path / "jobs"
    answers.write_text("yes\nhelp\nwhy\nno\nlist\nback\nskip\nstop\n", encoding="utf-8")
    status, out, _ = commission(capsys, LAYOUT, "--jobs", str(jobs), "--answers", str(answers), "--name", "R. Sample")
    assert status == 0
    assert "NOT DONE" in out
    (kept,) = jobs.glob("*.jsonl")
    answers.write_text("stop\n", encoding="utf-8")
    status, out, _ = commission(capsys, "--resume", kept.stem, "--jobs", str(jobs), "--answers", str(answers))
    assert status == 0
    assert "answers so far" in out
    assert run(["jobs", "--jobs", str(jobs)]) == 0
    assert "commissioning" in capsys.readouterr().out
    assert run(["walk", "--resume", kept.stem, "--jobs", str(jobs)]) == 2
    assert "diagnose commission --resume" in capsys.readouterr().err


def test_a_failed_step_leads_into_the_walk_with_its_readings_and_back(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    job = begun("crew_cab_tray")
    wanted = "bond_continuity:tray_strap"
    lines = []
    for name in job.open_steps():
        if name == wanted:
            break
        job.feed(StepEvent("answer", name, "skipped"))
    left = begun("crew_cab_tray")
    while left.open_steps()[0] != wanted:  # a group is skipped at once
        first = left.by_id[left.open_steps()[0]].step
        lines.append("skip")
        group = [n for n in left.open_steps() if first.group and left.by_id[n].step.group == first.group]
        for name in group or [first.id]:
            left.feed(StepEvent("answer", name, "skipped"))
    answers = tmp_path / "answers.txt"
    answers.write_text("\n".join([*lines, "OL", "find", "none", "stop", "stop"]) + "\n", encoding="utf-8")
    status, out, _ = commission(capsys, "crew_cab_tray", "--jobs", str(tmp_path / "jobs"), "--answers", str(answers))
    assert status == 1
    assert "1 readings carried over" in out or "1 reading carried over" in out
    assert "Back to the commissioning." in out
    assert len(list((tmp_path / "jobs").glob("*.jsonl"))) == 2


def test_danger_stops_it_with_status_3(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "readings.yaml"
    file.write_text("readings:\n  - {volts: [house_pos, house_neg], when: isolated, read: -12.5 V}\n", encoding="utf-8")
    status, out, _ = commission(capsys, "crew_cab_tray", "--json", "--readings", str(file))
    assert status == 3
    assert json.loads(out)["schema"]


@pytest.mark.parametrize(
    "words",
    [(), ("--resume", "x", "--sheet"), ("crew_cab_trey",), ("--resume", "no such job"),
     ("crew_cab_tray", "--temperature", "900")],
)  # fmt: skip
def test_mistakes_are_one_line_each_and_status_2(capsys: pytest.CaptureFixture[str], words: tuple[str, ...]) -> None:
    status, out, err = commission(capsys, *words)
    assert (status, out) == (2, "")
    assert err.count("\n") == 1


def test_the_examples_are_what_the_program_writes(tmp_path: Path) -> None:
    golden_commissioning.write(tmp_path)
    for name in golden_commissioning.TIMES:
        made = (tmp_path / name).read_text(encoding="utf-8").splitlines()[1:]  # the first line names the rule base
        assert made == (EXAMPLES / name).read_text(encoding="utf-8").splitlines()[1:]


@pytest.mark.slow
def test_what_has_drifted_is_named_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["compare", THEN, NOW, "--json"]) == 1
    found = json.loads(capsys.readouterr().out)
    assert [joint["part"] for joint in found["joints"] if joint["drifted"]] == ["tray_strap"]
    assert len(found["joints"]) > 15
    assert run(["compare", THEN, THEN]) == 0
    assert "0 DRIFTED" in capsys.readouterr().out


def test_two_installations_are_not_compared(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    answers = tmp_path / "answers.txt"
    answers.write_text("stop\n", encoding="utf-8")
    commission(capsys, LAYOUT, "--jobs", str(tmp_path), "--answers", str(answers))
    (other,) = tmp_path.glob("*.jsonl")
    assert run(["compare", THEN, str(other)]) == 2
    assert "another installation" in capsys.readouterr().err


@pytest.mark.slow
def test_the_record_as_page_markdown_json_and_text(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    page = tmp_path / "record.html"
    assert run(["report", NOW, "--html", str(page)]) == 1
    text = page.read_text(encoding="utf-8")
    assert "It is not a certificate" in text
    assert "K. Sample" in text
    assert len(text.encode()) < 300_000
    capsys.readouterr()
    forms = {"--markdown": "# Crew-cab tray utility: hand-over record", "--json": "diagnose/commissioning/1"}
    for form, says in forms.items():
        assert run(["report", NOW, form]) == 1
        assert says in capsys.readouterr().out
    assert run(["report", NOW]) == 1
    assert "FAIL" in capsys.readouterr().out
    assert run(["report", NOW, "--html", str(tmp_path / "s.html"), "--statement"]) == 2
    assert not (tmp_path / "s.html").exists()


def test_a_whole_rule_base_has_its_own_steps(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    shutil.copytree(rules_folder(), whole)
    file = whole / "commissioning" / "absorption.yaml"
    text = file.read_text(encoding="utf-8")
    assert "Absorption voltage at" in text
    file.write_text(text.replace("Absorption voltage at", "Highest voltage at"), encoding="utf-8")
    status, out, _ = commission(capsys, LAYOUT, "--sheet", "--rules", str(whole))
    assert status == 0
    assert "Highest voltage at" in out
    assert "Absorption voltage at" not in out
