"""Where jobs lie, how one is named and found, and that a job has all that is needed to take it up again."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.installations import load_installation, load_layout
from diagnose.store.jobs import first_line, installation_of, job_path, jobs_folder, list_jobs, load_job
from diagnose.store.jobs_record import JobRecord
from diagnose.store.jobs_rules import changed_since


def make(folder: Path, head: dict[str, object], *events: dict[str, object]) -> Path:
    with JobRecord.begin(folder, "van", head) as record:
        for event in events:
            record.append(event)
    return record.path


def head(name: str = "solar_only_van", text: str | None = None) -> dict[str, object]:
    return first_line(load_layout("solar_only_van"), name, text, "0.1.0", 1, "2026-11-25")


@pytest.mark.parametrize(
    ("environment", "platform", "folder"),
    [
        ({"DIAGNOSE_JOBS": "/j", "HOME": "/home/kim"}, "linux", "/j"),
        ({"XDG_DATA_HOME": "/data", "HOME": "/home/kim"}, "linux", "/data/charge-path-diagnose/jobs"),
        ({"XDG_DATA_HOME": "data", "HOME": "/h"}, "linux", "/h/.local/share/charge-path-diagnose/jobs"),
        ({"HOME": "/h"}, "darwin", "/h/Library/Application Support/charge-path-diagnose/jobs"),
        ({"LOCALAPPDATA": "/l"}, "win32", "/l/charge-path-diagnose/jobs"),
    ],
)
def test_the_folder_of_jobs(environment: dict[str, str], platform: str, folder: str) -> None:
    assert jobs_folder(None, environment, platform).as_posix() == folder
    assert jobs_folder("/mine", environment, platform).as_posix() == "/mine"


def test_without_a_home_a_folder_must_be_named() -> None:
    with pytest.raises(BadInput):
        jobs_folder(None, {}, "linux")


def test_a_job_is_found_by_name_and_by_file_and_a_mistyped_name_is_met(tmp_path: Path) -> None:
    path = make(tmp_path, head(), {"kind": "alarm", "text": "none", "state": "standing"})
    assert job_path("van-1", tmp_path) == job_path(str(path), tmp_path / "elsewhere") == path
    job = load_job(path)
    assert (job.id, job.state, [e.kind for e in job.events]) == ("van-1", "standing", ["alarm"])
    assert not changed_since(job.head, None)
    with pytest.raises(BadInput, match="did you mean van-1"):
        job_path("vam-1", tmp_path)


def test_a_job_holds_the_installation_even_when_its_file_is_gone(tmp_path: Path) -> None:
    file = tmp_path / "own.yaml"
    file.write_text("title: Own\nlayout: solar_only_van\nparts: {house_battery: {capacity: 77 Ah}}\n")
    installation = load_installation(file)
    path = make(tmp_path, first_line(installation, str(file), None, "0.1.0", 1, "2026-11-25"))
    file.unlink()
    assert installation_of(load_job(path)) == installation


@pytest.mark.parametrize("wrong", [{"format": 99}, {"form": 1}, {"format": 1, "then": 1}])
def test_a_record_of_a_later_program_or_of_another_form_is_refused(tmp_path: Path, wrong: dict[str, object]) -> None:
    path = make(tmp_path, wrong, {"kind": "dance"})
    with pytest.raises(BadInput):
        load_job(path)


def test_the_list_has_the_last_changed_first_and_names_the_damaged(tmp_path: Path) -> None:
    first, second = make(tmp_path, head()), make(tmp_path, head())
    (tmp_path / "bad-1.jsonl").write_text("{}\n{}\n")
    found = list_jobs(tmp_path)
    assert {job.path for job, _ in found if job is not None} == {first, second}
    assert next(wrong for job, wrong in found if job is None).startswith(str(tmp_path / "bad-1.jsonl"))
    assert list_jobs(tmp_path / "nothing") == ()
