"""A record of a job: what was appended is read, names are numbered, and what is no record is refused.

What kills, torn lines, full disks and a second process do to it stands in `tests/durability`.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store.jobs_record import JobRecord, line_of, read_lines

EVENTS = [{"kind": "alarm", "text": "none"}, {"kind": "standing", "text": "boat"}, {"kind": "why"}, {"kind": "stop"}]


@pytest.fixture
def kept(tmp_path: Path) -> Path:
    with JobRecord.begin(tmp_path / "jobs", "van", {"format": 1}) as record:
        for event in EVENTS:
            record.append(event)
    return record.path


def test_what_was_appended_is_read(kept: Path) -> None:
    assert read_lines(kept).data == ({"format": 1}, *EVENTS)
    assert not read_lines(kept).torn


def test_a_second_job_of_a_name_gets_the_next_number(tmp_path: Path) -> None:
    names = []
    for _ in range(2):
        with JobRecord.begin(tmp_path, "van", {"format": 1}) as record:
            names.append(record.path.name)
    assert names == ["van-1.jsonl", "van-2.jsonl"]


def test_lines_that_were_exchanged_or_lost_are_damage(kept: Path) -> None:
    lines = kept.read_bytes().splitlines(keepends=True)
    for broken in ([lines[0], lines[2], lines[1], *lines[3:]], [lines[0], *lines[2:]]):
        kept.write_bytes(b"".join(broken))
        with pytest.raises(BadInput):
            read_lines(kept)


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="the job cannot be kept"):
        JobRecord.begin(tmp_path / "file" / "jobs", "van", {"format": 1})


def test_what_is_no_record_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput):
        JobRecord.resume(tmp_path / "none.jsonl")
    with pytest.raises(BadInput):
        JobRecord.resume(tmp_path)


@pytest.mark.parametrize("content", [b"a: [1,\n", b"notes of mine", line_of(0, {"a": 1}) + b"half a li"])
def test_what_is_opened_stays_as_it_was_until_something_is_kept(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "named-1.jsonl"
    path.write_bytes(content)
    with JobRecord.resume(path):
        assert path.read_bytes() == content
    assert path.read_bytes() == content
    with JobRecord.resume(path) as record:
        record.append({"b": 2})
    lines = read_lines(path)
    assert not lines.torn
    assert lines.data[-1] == {"b": 2}
