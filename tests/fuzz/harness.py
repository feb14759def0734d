"""Runs one call of the program, in this process, in a folder and a home of its own, and tells what it broke.

What is looked at: the exit status, a traceback, the form of the lines on standard error, control characters on either
stream, the time, every file that is opened, made or removed, and every program or connection that is begun.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import signal
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

from diagnose.basics.errors import BadInput
from diagnose.cli.main import run
from tests.fuzz.doors import DOORS

__all__ = ["Call", "Outcome", "Sandbox"]

#: s of computing, and s by the clock, after which a call counts as hung
COMPUTING, WAITING = 10, 60
STATUSES = {0, 1, 2, 3}
#: what a dialogue that was stopped ends with, where nothing of it is kept
STOPPED = 130
#: what a terminal obeys, and the marks that turn the direction of writing
OBEYED = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)
COMPLAINT = re.compile(r"\S.*: .+, .+", re.DOTALL)
PLACED = re.compile(r":[1-9]\d*:[1-9]\d*: ")
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_CHANGES = {
    "os.remove",
    "os.rename",
    "os.rmdir",
    "os.mkdir",
    "os.link",
    "os.symlink",
    "os.truncate",
    "os.chmod",
    "os.utime",
    "shutil.rmtree",
    "shutil.move",
    "shutil.copyfile",
}
_BEGINS = {"subprocess.Popen", "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "socket.connect"}


class Call(NamedTuple):
    """One call: its words, what is typed, the files beside it, the files it may write, and what kind of input it is.

    `words` beginning with `load:NAME` call a loader of the program directly, on the first file.
    """

    kind: str
    words: tuple[str, ...]
    files: tuple[tuple[str, bytes], ...] = ()
    typed: str = ""
    may_write: tuple[str, ...] = ()
    placed: bool = False


class Outcome(NamedTuple):
    """What came of a call: its status, what it wrote, and what it broke, in words."""

    status: int
    out: str
    err: str
    broken: tuple[str, ...]


class _TooLong(BaseException):
    """A call that did not end; no handler of the program may catch it."""


class _Watch:
    """What the interpreter reports while a call runs; a hook stays for ever, so one is switched on and off."""

    def __init__(self) -> None:
        self.on = False
        self.seen: list[tuple[str, str]] = []
        sys.addaudithook(self._heard)

    def _heard(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.on:
            return
        if event == "open":
            path, mode, flags = arguments
            if isinstance(path, str | bytes):
                writes = bool((flags or 0) & _WRITES) or (isinstance(mode, str) and any(c in mode for c in "wxa+"))
                self.seen.append(("write" if writes else "read", os.path.abspath(os.fsdecode(path))))
        elif event in _CHANGES:
            self.seen += [("write", os.path.abspath(os.fsdecode(a))) for a in arguments if isinstance(a, str | bytes)]
        elif event in _BEGINS:
            self.seen.append(("begin", f"{event} {arguments!r}"[:200]))


_WATCH: list[_Watch] = []


class Sandbox:
    """A folder to work in, a home and a temporary folder; files of another lie beside them and must stay untouched."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.work, self.home, self.temporary = root / "work" / "here", root / "home", root / "tmp"
        self.own = (
            self.home / ".cache" / "charge-path-diagnose",
            self.home / ".local" / "share" / "charge-path-diagnose",
        )
        for folder in (self.work, self.home, self.temporary):
            folder.mkdir(parents=True)
        for folder in (root, root / "work", self.home):
            for name in ("secret.yaml", "secret", "secret.jsonl"):
                (folder / name).write_text("title: of another\n", encoding="utf-8")
        if not _WATCH:
            _WATCH.append(_Watch())

    @contextlib.contextmanager
    def _inside(self) -> Iterator[None]:
        """Work in the folder, with the home and nothing of the environment of whoever runs the tests."""
        before, folder = dict(os.environ), os.getcwd()
        kept = {key: value for key, value in before.items() if not key.startswith(("DIAGNOSE_", "XDG_", "_"))}
        os.environ.clear()
        os.environ.update(
            kept | {"HOME": str(self.home), "TMPDIR": str(self.temporary), "COLUMNS": "80", "LINES": "24"}
        )
        told, tempfile.tempdir = tempfile.tempdir, None
        os.chdir(self.work)
        try:
            yield
        finally:
            os.chdir(folder)
            tempfile.tempdir = told
            os.environ.clear()
            os.environ.update(before)

    def run(self, call: Call) -> Outcome:
        """Run a call and return what came of it; its files are gone afterwards."""
        self._empty()
        for name, content in call.files:
            (self.work / name).parent.mkdir(parents=True, exist_ok=True)
            (self.work / name).write_bytes(content)
        watch = _WATCH[0]
        watch.seen.clear()
        with self._inside():
            status, out, err, wrong = _limited(call, watch)
            allowed = [Path(os.path.abspath(word)) for word in call.words if "\0" not in word]
        broken = [*wrong, *_said_wrong(call, status, out, err), *self._touched(call, watch.seen, allowed)]
        return Outcome(status, out, err, tuple(broken))

    def _touched(self, call: Call, seen: list[tuple[str, str]], named: list[Path]) -> Iterator[str]:
        """Yield what was opened, made or begun that was not the call's to touch."""
        given = [self.work / name for name, _ in call.files] + named
        mine = [*self.own, *(self.work / name for name in call.may_write)]
        for what, path in dict.fromkeys(seen):
            if what == "begin":
                yield f"begins {path}"
                continue
            place = Path(path)
            ours = any(place == each or each in place.parents for each in mine)
            if path == os.devnull or ours or "__pycache__" in path:
                continue
            if self.root not in place.parents and what == "read":
                continue  # the rule base, the interpreter's own
            parts = [each.parent for each in mine if place.name.endswith(".part") and each.parent == place.parent]
            known = any(place == each or each in place.parents for each in given if each != self.work)
            made = what == "write" and place in {parent for each in mine for parent in each.parents}
            if not (parts or made or (what == "read" and known)):
                yield f"{what}s {path}"

    def _empty(self) -> None:
        for path in sorted(self.work.rglob("*"), reverse=True):
            path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()


def _limited(call: Call, watch: _Watch) -> tuple[int, str, str, list[str]]:
    """Run a call under the clock; return its status, both streams, and how it failed to end well."""

    def stop(number: int, frame: object) -> None:
        where = "".join(traceback.format_stack(frame, 4))  # type: ignore[arg-type]
        raise _TooLong(f"no end after {COMPUTING} s of computing or {WAITING} s:\n{where}")

    streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n") for _ in range(2)]
    typed = io.TextIOWrapper(io.BytesIO(call.typed.encode("utf-8", "surrogateescape")), encoding="utf-8")
    before = sys.stdin, sys.stdout, sys.stderr
    handlers = [(each, signal.signal(each, stop)) for each in (signal.SIGVTALRM, signal.SIGALRM)]
    wrong: list[str] = []
    status = 70
    sys.stdin, (sys.stdout, sys.stderr) = typed, streams
    signal.setitimer(signal.ITIMER_VIRTUAL, COMPUTING)
    signal.setitimer(signal.ITIMER_REAL, WAITING)
    watch.on = True
    try:
        status = _loaded(call) if call.words[0].startswith("load:") else run([*call.words, "--debug"])
    except _TooLong as hung:
        wrong.append(str(hung))
    except BaseException:  # whatever passes the lid is a crash, an exit of its own among them
        wrong.append(traceback.format_exc())
    finally:
        watch.on = False
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        for each, handler in handlers:
            signal.signal(each, handler)
        sys.stdin, sys.stdout, sys.stderr = before
    for stream in streams:
        stream.flush()
    out, err = (stream.buffer.getvalue().decode("utf-8", "surrogateescape") for stream in streams)  # type: ignore[attr-defined]
    return status, out, err, wrong


def _loaded(call: Call) -> int:
    """Call a loader as the commands do: what it refuses is told on standard error with status 2."""
    door: Callable[[Path], object] = DOORS[call.words[0].removeprefix("load:")]
    try:
        door(Path(call.files[0][0]))
    except BadInput as refusal:
        sys.stderr.write("".join(f"{problem.text()}\n" for problem in refusal.problems))
        return 2
    return 0


def _typed(call: Call) -> bool:
    """Return whether a call is a dialogue, which says something before it is answered."""
    return bool(call.typed) or call.kind.startswith("typed:")


def _said_wrong(call: Call, status: int, out: str, err: str) -> Iterator[str]:
    """Yield what is wrong with a status and with what was said."""
    if status not in STATUSES and not (_typed(call) and status == STOPPED):
        yield f"status {status}: {err[-3000:]}"
    if "Traceback (most recent call last)" in out + err:
        yield f"a traceback: {err[-3000:]}"
    for name, text in (("output", out), ("error", err)):
        if (found := OBEYED.search(text)) is not None:
            around = text[max(0, found.start() - 60) :][:90]
            yield f"a control character {found.group()!a} on standard {name}: {around!a}"
    if status != 2:
        return
    if out and not _typed(call):
        yield f"status 2 with words on standard output: {out[:200]}"
    lines = err.splitlines()
    if not lines:
        yield "status 2 without a word on standard error"
    for line in lines:
        if COMPLAINT.fullmatch(line) is None or (
            call.placed
            and line.startswith(call.files[0][0] + ":")
            and not (PLACED.match(line, len(call.files[0][0])) or _of_the_whole(line))
        ):
            yield f"a line that is not FILE:LINE:COLUMN: what is wrong, what would be right: {line[:200]}"


def _of_the_whole(line: str) -> bool:
    """Return whether a line is about a file as a whole, which has no place in it."""
    wholes = (
        "the file is empty",
        "the file is over",
        "cannot be read",
        "more problems",
        "there is no such",
        "this is ",
    )
    return any(whole in line for whole in wholes)
