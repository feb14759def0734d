"""A record of a job: what was acknowledged is there, a torn last line recovers, damage elsewhere and a second process
are refused, a full disk and a read-only folder are said clearly.
"""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from diagnose.basics.errors import BadInput
from diagnose.store import jobs_record
from diagnose.store.jobs_record import JobRecord, read_lines

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


def test_every_truncation_of_the_last_line_recovers(kept: Path) -> None:
    whole = kept.read_bytes()
    last = whole.rindex(b"\n", 0, -1) + 1
    for length in range(last, len(whole)):
        kept.write_bytes(whole[:length])
        lines = read_lines(kept)
        # A line that lost nothing but its line end is whole.
        expected = EVENTS if length == len(whole) - 1 else EVENTS[:-1]
        assert lines.data[1:] == tuple(expected), length
        assert lines.torn == (last < length < len(whole) - 1)
        with JobRecord.resume(kept) as record:
            record.append({"kind": "reopen"})
        assert read_lines(kept).data[1:] == (*expected, {"kind": "reopen"}), length


def test_every_flipped_byte_of_an_earlier_line_is_an_error_with_its_place(kept: Path) -> None:
    whole = bytearray(kept.read_bytes())
    start = whole.index(b"\n") + 1
    for index in range(start, whole.index(b"\n", start)):
        broken = bytes(whole[:index]) + bytes([whole[index] ^ 1]) + bytes(whole[index + 1 :])
        kept.write_bytes(broken)
        with pytest.raises(BadInput) as error:
            read_lines(kept)
        assert error.value.problems[0].line == 2


def test_lines_that_were_exchanged_or_lost_are_damage(kept: Path) -> None:
    lines = kept.read_bytes().splitlines(keepends=True)
    for broken in ([lines[0], lines[2], lines[1], *lines[3:]], [lines[0], *lines[2:]]):
        kept.write_bytes(b"".join(broken))
        with pytest.raises(BadInput):
            read_lines(kept)


def test_a_second_process_is_refused(kept: Path) -> None:
    script = "import sys; from diagnose.cli.main import run; sys.exit(run(['walk', '--resume', sys.argv[1]]))"
    with JobRecord.resume(kept):
        done = subprocess.run(
            [sys.executable, "-c", script, str(kept)], capture_output=True, text=True, input="", timeout=60
        )  # fmt: skip
    assert done.returncode == 2
    assert "another process has this job open" in done.stderr
    assert done.stdout == ""


@pytest.mark.parametrize(("number", "said"), [(errno.ENOSPC, "the disk is full"), (errno.EROFS, "read-only")])
def test_what_cannot_be_kept_is_said_and_nothing_is_lost(
    kept: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str
) -> None:
    whole = kept.read_bytes()
    with JobRecord.resume(kept) as record:
        real = os.write

        def half(handle: int, data: memoryview) -> int:
            real(handle, bytes(data[:7]))
            raise OSError(number, "no")

        monkeypatch.setattr(jobs_record.os, "write", half)
        with pytest.raises(BadInput, match=said):
            record.append({"kind": "seen"})
        monkeypatch.undo()
        assert kept.read_bytes() == whole
        record.append({"kind": "seen"})
    assert read_lines(kept).data[-1] == {"kind": "seen"}


def test_a_folder_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="the job cannot be kept"):
        JobRecord.begin(tmp_path / "file" / "jobs", "van", {"format": 1})


def test_no_job_is_left_where_its_first_line_could_not_be_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "no")

    monkeypatch.setattr(jobs_record.os, "fsync", full)
    with pytest.raises(BadInput, match="the disk is full"):
        JobRecord.begin(tmp_path, "van", {"format": 1})
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_record_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput):
        JobRecord.resume(tmp_path / "none.jsonl")
    with pytest.raises(BadInput):
        JobRecord.resume(tmp_path)
