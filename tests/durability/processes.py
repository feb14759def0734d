"""Faults that need a process of their own: killed at any moment, two writers, a limit of the system on a file's size.

Each function tries one fault on one kind of record and returns its count.
"""

from __future__ import annotations

import os
import random
import re
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

from diagnose.store.jobs_record import JobRecord, read_lines
from tests.durability.records import Count, Kind

__all__ = ["file_limit", "killed", "two_writers", "walks_killed"]

ROOT = Path(__file__).resolve().parents[2]
#: a writer that acknowledges each event as the commands do, without the engine: a kill takes no time to prepare
WRITER = """
import sys
from itertools import count
from pathlib import Path
from diagnose.store.jobs_record import JobRecord, read_lines
path, example = Path(sys.argv[1]), Path(sys.argv[2])
first, *events = read_lines(example).data
record = JobRecord.resume(path) if path.exists() else JobRecord.begin(path.parent, path.stem[:-2], first)
begun = max(len(record.lines.data), 1)
print("ready", begun, flush=True)
for number in count(begun):
    record.append(events[(number - 1) % len(events)])
    print(number, flush=True)
"""
#: the longest a writer is let run before it is killed [s]
LONGEST = 0.02
LARGEST = 1 << 18


def killed(kind: Kind, folder: Path, kills: int, seed: int) -> Count:
    """Kill a writer at random moments, again and again on one record: what was acknowledged is there, in order."""
    count = Count("SIGKILL at a random moment", kind.name)
    path, moments, (_, *events) = folder / f"{kind.name}-1.jsonl", random.Random(seed), kind.lines
    for number in range(kills):
        acknowledged = _one_kill(path, kind, moments.uniform(0.0, LONGEST))
        kept = read_lines(path).data
        right = kept[1:] == tuple(events[place % len(events)] for place in range(len(kept) - 1))
        promise = right and len(kept) - 1 >= acknowledged and len(kind.load(path).events) == len(kept) - 1
        count.held(promise, f"kill {number}: {acknowledged} acknowledged, {len(kept) - 1} kept")
        if path.stat().st_size > LARGEST:
            path.unlink()
    return count


def _one_kill(path: Path, kind: Kind, after: float) -> int:
    """Let a writer run until it is killed; return the number of the last event that it acknowledged."""
    words = [sys.executable, "-c", WRITER, str(path), str(kind.example)]
    with subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        ready = child.stdout.readline()
        assert ready.startswith("ready"), ready
        time.sleep(after)
        child.send_signal(signal.SIGKILL)
        said = child.stdout.read().split("\n")[:-1]  # a number that was cut short was not acknowledged
    return int(said[-1]) if said else int(ready.split()[1]) - 1


def walks_killed(kind: Kind, folder: Path, kills: int, seed: int) -> Count:
    """Kill the command itself, fed through a pipe: whatever was followed by another question is kept."""
    count, moments = Count("SIGKILL of the command", kind.name), random.Random(seed)
    begin = ["walk", "solar_only_van"] if kind.name == "walk" else ["commission", "solar_only_van"]
    answers = ["none", "off", "", "12.6", "none", "look house_fuse good", "done"]
    answers = answers if kind.name == "walk" else ["yes"] * 60
    for number in range(kills):
        jobs = folder / str(number)
        child = _command([*begin, "--jobs", str(jobs)], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        assert child.stdin is not None
        assert child.stdout is not None
        child.stdin.write("".join(f"{answer}\n" for answer in answers))
        child.stdin.flush()
        time.sleep(moments.uniform(0.3, 2.5))
        child.send_signal(signal.SIGKILL)
        shown = child.stdout.read()
        child.communicate()
        asked = _followed(kind, shown)
        files = list(jobs.glob("*.jsonl")) if jobs.exists() else []
        kept = len(read_lines(files[0]).data) - 1 if files else 0
        count.held(kept >= asked, f"kill {number}: {asked} questions followed an answer, {kept} kept")
    return count


def _followed(kind: Kind, shown: str) -> int:
    """Return how many answers were followed by another question on the screen."""
    if kind.name == "walk":
        return sum(shown.count(prompt) for prompt in ("Where?\n", "Tools?\n", "Meter?\n", "Complaint?\n", "Seen?\n"))
    steps = re.findall(r"^\[(\d+) ", shown, re.MULTILINE)  # a step is numbered by those before it
    return int(steps[-1]) - 1 if steps else 0


def two_writers(kind: Kind, folder: Path) -> Count:
    """Go on with a record that another process has: refused in clear words, status 2, nothing written."""
    count = Count("second writer", kind.name)
    path = kind.written(folder)
    with JobRecord.resume(path):
        before = path.read_bytes()
        child = _command([kind.name, "--resume", str(path)], stdin=subprocess.DEVNULL)
        shown, said = child.communicate(timeout=60)
        clear = (child.returncode, shown) == (2, "") and "another process has this job open" in said
        count.held(clear and path.read_bytes() == before, f"status {child.returncode}: {said}")
    with JobRecord.resume(path) as record:  # the first one has ended: the lock ended with it
        count.held(record.lines.data == kind.lines, "it cannot be gone on with after the first has ended")
    return count


def file_limit(kind: Kind, folder: Path) -> Count:
    """Go on with a record at the largest size the system allows a file: status 2, clear words, nothing lost."""
    count = Count("system refuses to let the file grow", kind.name)
    path = Path(shutil.copy(kind.example, folder / "limit-1.jsonl"))
    lines = read_lines(path)
    with path.open("r+b") as stream:  # an unfinished record, so that the command asks something
        stream.truncate(sum(len(line) for line in path.read_bytes().splitlines(keepends=True)[:4]))
    before = path.read_bytes()
    child = _command([kind.name, "--resume", str(path)], stdin=subprocess.PIPE, most=len(before) + 10)
    _, said = child.communicate("12.6\n" if kind.name == "walk" else "yes\n", timeout=60)
    clear = child.returncode == 2 and "the job cannot be kept" in said and "Traceback" not in said
    count.held(clear and path.read_bytes() == before, f"status {child.returncode}: {said}")
    count.held(read_lines(path).data == lines.data[:4], "something was lost")
    return count


def _command(
    words: list[str], *, stdin: int, stdout: int = subprocess.PIPE, most: int | None = None
) -> subprocess.Popen[str]:
    """Start the command of this interpreter; `most` is the largest size of a file it may write [byte]."""

    def limit() -> None:
        if most is not None:
            resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    return subprocess.Popen(
        [sys.executable, "-m", "diagnose", *words], cwd=ROOT, env=environment, stdin=stdin, stdout=stdout,
        stderr=subprocess.PIPE, text=True, preexec_fn=limit,
    )  # fmt: skip
