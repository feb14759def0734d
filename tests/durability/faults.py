"""Faults of the file and of the disk, put in within this process: torn, flipped, full, read-only, no power,
other forms.

Each function tries one fault on one kind of record and returns its count.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any
from unittest.mock import patch

from diagnose.basics.errors import BadInput
from diagnose.store.jobs import list_jobs
from diagnose.store.jobs_record import FORMAT, JobRecord, line_of, read_lines
from tests.durability.records import Count, Kind, keeps

__all__ = ["flipped", "full", "later_form", "older_form", "power_gone", "read_only", "truncated"]

#: what a disk may say to a write, and the words that a person must see
REFUSALS = {
    errno.ENOSPC: "the disk is full", errno.EDQUOT: "the disk is full for you", errno.EIO: "cannot be kept",
}  # fmt: skip


def truncated(kind: Kind, folder: Path) -> Count:
    """Cut the last line at every byte: the lines before it are there, and the record goes on."""
    count = Count("last line cut, every byte", kind.name)
    lines = (kind.lines[0], *kind.lines[-4:])
    path = kind.written(folder, lines)
    whole = path.read_bytes()
    last = whole.rindex(b"\n", 0, -1) + 1
    for length in range(last, len(whole) + 1):
        path.write_bytes(whole[:length])
        # A line that lost nothing but its line end is whole.
        expected = lines if length >= len(whole) - 1 else lines[:-1]
        torn = read_lines(path).torn == (last < length < len(whole) - 1)
        count.held(torn and keeps(kind, path, expected), f"cut at byte {length - last} of the last line")
    return count


def flipped(kind: Kind, folder: Path) -> Count:
    """Change one bit of every byte before the last line: refused, with the line it is in."""
    count = Count("byte changed before the last line", kind.name)
    path = kind.written(folder, kind.lines[:6])
    whole = path.read_bytes()
    for index in range(whole.rindex(b"\n", 0, -1)):
        path.write_bytes(whole[:index] + bytes([whole[index] ^ 1]) + whole[index + 1 :])
        line = whole.count(b"\n", 0, index) + 1
        said = _refusal(lambda: kind.load(path))
        count.held(f":{line}:" in said and "damaged" in said, f"byte {index}: {said or 'taken'}")
    return count


def full(kind: Kind, folder: Path) -> Count:
    """Fail a write after every number of bytes, and the syncing: said plainly, nothing lost, and it goes on later."""
    count = Count("disk full, every byte and the sync", kind.name)
    first, event, *_ = kind.lines
    path = kind.written(folder, [first])
    with JobRecord.resume(path) as record:
        for number, words in REFUSALS.items():
            before = path.read_bytes()
            for taken in [*range(len(line_of(1, event))), None]:
                with _refusing(number, taken):
                    said = _refusal(lambda: record.append(event))
                count.held(words in said and path.read_bytes() == before, f"after {taken} bytes: {said or 'nothing'}")
    count.held(keeps(kind, path, [first]), "the record does not go on when there is room again")
    for number, words in REFUSALS.items():
        for taken in (0, 9, None):
            empty = folder / f"full-{number}-{taken}"
            with _refusing(number, taken):
                said = _refusal(partial(JobRecord.begin, empty, kind.name, first))
            count.held(words in said and not list(empty.iterdir()), f"a job begun: {said or 'taken'}")
    return count


def read_only(kind: Kind, folder: Path) -> Count:
    """Refuse opening for writing: said plainly, nothing written, and the record is read all the same."""
    count = Count("read-only folder", kind.name)
    path = kind.written(folder, kind.lines[:6])
    whole = path.read_bytes()
    said_of = {errno.EROFS: "read-only", errno.EACCES: "may not be written to", errno.EPERM: "may not be written to"}
    for number, words in said_of.items():
        with patch.object(os, "open", side_effect=OSError(number, "no")):
            for act in (lambda: JobRecord.resume(path), lambda: JobRecord.begin(folder, "other", {})):
                said = _refusal(act)
                count.held("cannot be kept" in said and words in said, said or "taken")
            count.held(read_lines(path).data == kind.lines[:6], "it cannot be read")
    count.held(list(folder.iterdir()) == [path] and path.read_bytes() == whole, "something was written")
    return count


def power_gone(kind: Kind, folder: Path) -> Count:
    """Keep only what was synced when an event was acknowledged: every acknowledged event is in it."""
    count = Count("power gone after an event", kind.name)
    lines = kind.lines[:25]
    synced: dict[Path, bytes] = {}
    real = os.fsync

    def sync(handle: int) -> None:
        real(handle)
        here = Path(f"/dev/fd/{handle}").resolve()
        synced[here] = here.read_bytes() if here.is_file() else b""

    with patch.object(os, "fsync", sync):
        path = kind.written(folder, lines[:1]).resolve()
        count.held(folder.resolve() in synced, "the name of the new file is not synced")
        for number, event in enumerate(lines[1:], 2):
            with JobRecord.resume(path) as record:
                record.append(event)
            left = folder / "left.jsonl"
            left.write_bytes(synced.get(path, b""))
            count.held(read_lines(left).data == lines[:number], f"event {number - 1} is not on the disk")
            synced.pop(path, None)
    return count


def later_form(kind: Kind, folder: Path) -> Count:
    """Number the form later than this program knows: refused in clear words, and the file is left as it is."""
    count = Count("form of a later program", kind.name)
    first, *events = kind.lines[:6]
    for ahead in (1, 2, 97):
        path = kind.written(folder, [{**first, "format": FORMAT + ahead, "unheard": [ahead]}, *events])
        before = path.read_bytes()
        said = _refusal(partial(kind.load, path))
        count.held("of a later program" in said and path.read_bytes() == before, said or "taken")
    for job, wrong in list_jobs(folder):
        count.held(job is None and "of a later program" in wrong, "the list of jobs takes it for one of this program")
    return count


def older_form(kind: Kind, folder: Path) -> Count:
    """Number the form earlier: it is read, and goes on."""
    count = Count("form of an earlier program", kind.name)
    first, *events = kind.lines[:6]
    for number in range(FORMAT):
        lines = [{**first, "format": number}, *events]
        count.held(keeps(kind, kind.written(folder, lines), lines), f"form {number} is not taken")
    return count


def _refusal(act: Callable[[], Any]) -> str:
    """Return the words an act is refused with, empty where it is not."""
    try:
        act()
    except BadInput as error:
        return "\n".join(problem.text() for problem in error.problems)
    return ""


@contextmanager
def _refusing(number: int, taken: int | None) -> Iterator[None]:
    """Let a write take so many bytes and then fail; None lets it take all, and the sync fails."""
    real = os.write

    def some(handle: int, data: memoryview) -> int:
        if taken:
            real(handle, bytes(data[:taken]))
        raise OSError(number, "no")

    name, instead = ("fsync", lambda handle: some(handle, memoryview(b""))) if taken is None else ("write", some)
    with patch.object(os, name, instead):
        yield
