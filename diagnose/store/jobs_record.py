"""One job's record: a file of lines `{"seq", "crc", "ev"}`, each on the disk for good before the walk goes on.

A last line that was cut short is dropped with a notice; damage anywhere else is an error. Two processes never write one
record: the second is refused. What an event means is not known here.
"""

from __future__ import annotations

import contextlib
import errno
import json
import os
import zlib
from pathlib import Path
from types import TracebackType
from typing import Any, NamedTuple

from diagnose.basics.errors import BadInput, Problem

try:
    import fcntl
except ImportError:  # a system that has no such locks: a record is still sound, only not guarded
    fcntl = None  # type: ignore[assignment]

__all__ = ["FORMAT", "JobRecord", "Lines", "read_lines"]

#: number of the form of the record; a reader refuses a later one and takes any earlier one
FORMAT = 1
_LARGEST = 16 << 20


class Lines(NamedTuple):
    """What stands in a record: its sound lines, how many bytes they take, and whether a torn last line was dropped."""

    data: tuple[Any, ...]
    length: int
    torn: bool


def read_lines(path: Path, content: bytes | None = None) -> Lines:
    """Return the lines of a record.

    Parameters: `path`; `content`, if it was read already.
    Raises: BadInput where it cannot be read, or is damaged anywhere but in its last line.
    """
    content = _content(path) if content is None else content
    data: list[Any] = []
    length = 0
    for number, raw in enumerate(content.splitlines(keepends=True), 1):
        found = _line(raw, number - 1)
        if found is None:
            if length + len(raw) < len(content):
                right = "restore it from a copy; the lines before it are sound"
                raise BadInput([Problem(str(path), number, 1, "this line of the record is damaged", right)])
            return Lines(tuple(data), length, True)
        data.append(found[0])
        length += len(raw)
    return Lines(tuple(data), length, False)


def _line(raw: bytes, seq: int) -> tuple[Any] | None:
    """Return what a line holds, in a tuple, or None where it is damaged."""
    try:
        line = json.loads(raw)
        sound = isinstance(line, dict) and line["seq"] == seq and line["crc"] == _crc(seq, line["ev"])
        return (line["ev"],) if sound else None
    except (ValueError, KeyError, TypeError, RecursionError):
        return None


def _crc(seq: int, event: Any) -> str:
    return f"{zlib.crc32(f'{seq} {_compact(event)}'.encode()):08x}"


def _compact(data: Any) -> str:
    return json.dumps(data, ensure_ascii=True, separators=(",", ":"), sort_keys=True)


def line_of(seq: int, event: Any) -> bytes:
    """Return the line that keeps an event."""
    return f'{{"seq":{seq},"crc":"{_crc(seq, event)}","ev":{_compact(event)}}}\n'.encode()


def _content(path: Path) -> bytes:
    try:
        with path.open("rb") as stream:
            content = stream.read(_LARGEST + 1)
    except (OSError, ValueError) as error:
        raise _unreadable(path, error) from None
    if len(content) > _LARGEST:
        raise BadInput([Problem(str(path), None, None, "this is too large for a job record", "name another file")])
    return content


def _unreadable(path: Path, error: Exception) -> BadInput:
    reason = getattr(error, "strerror", None) or "unknown reason"
    right = "name a job that `diagnose jobs` lists, or its file"
    return BadInput([Problem(str(path), None, None, f"this job cannot be read ({reason})", right)])


class JobRecord:
    """A record that is open for writing, and locked; use it in a `with` block.

    `begin` makes a new one with its first line, `resume` opens one that is there.
    """

    def __init__(self, path: Path, handle: int, lines: Lines) -> None:
        self.path, self.lines = path, lines
        self._handle = handle
        self._length, self._count = lines.length, len(lines.data)

    @classmethod
    def begin(cls, folder: Path, name: str, first: Any) -> JobRecord:
        """Make a new record in a folder, under the name with the next free number; its first line is on the disk."""
        try:
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            for number in range(1, 100_000):
                path = folder / f"{name}-{number}.jsonl"
                try:
                    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
                except FileExistsError:
                    continue
                break
        except (OSError, ValueError) as error:
            raise _cannot_keep(folder, error) from None
        record = cls(path, handle, Lines((), 0, False))
        try:
            _lock(path, handle)
            record.append(first)
            _sync_folder(folder)
        except BadInput:
            record.close()
            with contextlib.suppress(OSError):
                path.unlink()
            raise
        return record

    @classmethod
    def resume(cls, path: Path) -> JobRecord:
        """Open a record to go on with it; a torn last line is cut off when the first event is kept, so that a file
        named by mistake stays as it was.

        Raises: BadInput where it is not there, is damaged, cannot be written, or another process has it.
        """
        try:
            handle = os.open(path, os.O_RDWR)
        except OSError as error:
            missing = error.errno in (errno.ENOENT, errno.EISDIR)
            raise (_unreadable(path, error) if missing else _cannot_keep(path, error)) from None
        try:
            _lock(path, handle)
            return cls(path, handle, read_lines(path))
        except BadInput:
            os.close(handle)
            raise

    def append(self, event: Any) -> None:
        """Keep an event; when this returns, it is on the disk.

        Raises: BadInput where it could not be kept; what was kept before still is.
        """
        line = line_of(self._count, event)
        if self._count == len(self.lines.data):
            self._mend()
        try:
            os.lseek(self._handle, self._length, os.SEEK_SET)
            rest = memoryview(line)
            while rest:
                rest = rest[os.write(self._handle, rest) :]
            os.fsync(self._handle)
        except OSError as error:
            with contextlib.suppress(OSError):
                os.ftruncate(self._handle, self._length)
            raise _cannot_keep(self.path, error) from None
        self._length += len(line)
        self._count += 1

    def _mend(self) -> None:
        """Cut off a torn last line, and end a whole one that lost its line end."""
        try:
            if self.lines.torn:
                os.ftruncate(self._handle, self._length)
            elif self._length and os.pread(self._handle, 1, self._length - 1) != b"\n":
                os.pwrite(self._handle, b"\n", self._length)
                self._length += 1
            os.fsync(self._handle)
        except OSError as error:
            raise _cannot_keep(self.path, error) from None

    def close(self) -> None:
        """Close the file, which unlocks it."""
        if self._handle >= 0:
            with contextlib.suppress(OSError):
                os.close(self._handle)
            self._handle = -1

    def __enter__(self) -> JobRecord:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _lock(path: Path, handle: int) -> None:
    """Lock the file for this process; the lock ends with it, however it ends."""
    if fcntl is None:
        return
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno not in (errno.EWOULDBLOCK, errno.EACCES):
            return  # a file system without locks
        right = "end that one first, or begin another job"
        raise BadInput([Problem(path.stem, None, None, "another process has this job open", right)]) from None


def _sync_folder(folder: Path) -> None:
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _cannot_keep(path: Path, error: Exception) -> BadInput:
    number = getattr(error, "errno", None)
    reasons = {
        errno.ENOSPC: "the disk is full", errno.EDQUOT: "the disk is full for you", errno.EROFS: "it is read-only",
        errno.EACCES: "it may not be written to", errno.EPERM: "it may not be written to",
    }  # fmt: skip
    reason = reasons.get(number or 0, getattr(error, "strerror", None) or "unknown reason")
    right = "make room or name another folder with --jobs; what was kept before is whole, the last answer is not kept"
    return BadInput([Problem(str(path), None, None, f"the job cannot be kept ({reason})", right)])
