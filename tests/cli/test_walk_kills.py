"""Kills at random moments: whatever was acknowledged, by the next question being shown, is in the record."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from diagnose.store.jobs_record import read_lines

#: a writer that acknowledges each event as the walk does, without the engine: a kill takes no time to prepare
WRITER = """
import sys
from pathlib import Path
from diagnose.store.jobs_record import JobRecord
path = Path(sys.argv[1])
record = JobRecord.resume(path) if path.exists() else JobRecord.begin(path.parent, "job", {"format": 1})
count = max(len(record.lines.data), 1)
print("ready", count, flush=True)
while True:
    record.append({"kind": "why", "text": "x" * (count % 50), "number": count})
    print(count, flush=True)
    count += 1
"""
KILLS = 500


def killed(path: Path, after: float) -> int:
    """Let a writer run until it is killed; return the number of the last event that it acknowledged."""
    child = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True)
    assert child.stdout is not None
    ready = child.stdout.readline()
    assert ready.startswith("ready"), ready
    time.sleep(after)
    child.send_signal(signal.SIGKILL)
    said = child.stdout.read().split("\n")[:-1]  # a number that was cut short was not acknowledged
    child.wait()
    child.stdout.close()
    return int(said[-1]) if said else int(ready.split()[1]) - 1


def check(folder: Path, kills: int, seed: int) -> None:
    path, moments = folder / "job-1.jsonl", random.Random(seed)
    for _ in range(kills):
        acknowledged = killed(path, moments.uniform(0.0, 0.02))
        lines = read_lines(path)
        assert [e["number"] for e in lines.data[1:]] == list(range(1, len(lines.data)))
        assert len(lines.data) - 1 >= acknowledged
        if path.stat().st_size > 1 << 20:
            path.unlink()


def test_kills_of_the_record(tmp_path: Path) -> None:
    check(tmp_path, 3, 1)


@pytest.mark.slow
def test_many_kills_of_the_record(tmp_path: Path) -> None:
    check(tmp_path, KILLS, 2)


@pytest.mark.slow
def test_kills_of_a_walk_at_random_moments(tmp_path: Path) -> None:
    """The command itself, from a pipe that is fed slowly: what was followed by another question is kept."""
    moments = random.Random(3)
    answers = ["none", "off", "", "12.6", "none", "look house_fuse good", "done"]
    for number in range(20):
        folder = tmp_path / str(number)
        child = subprocess.Popen(
            [sys.executable, "-m", "diagnose", "walk", "solar_only_van"], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            text=True, env={**os.environ, "DIAGNOSE_JOBS": str(folder)},
        )  # fmt: skip
        assert child.stdin is not None
        assert child.stdout is not None
        child.stdin.write("".join(f"{answer}\n" for answer in answers))
        child.stdin.flush()
        time.sleep(moments.uniform(0.3, 2.5))
        child.send_signal(signal.SIGKILL)
        shown = child.stdout.read()
        child.stdin.close()
        child.wait()
        child.stdout.close()
        asked = sum(shown.count(prompt) for prompt in ("Where?\n", "Tools?\n", "Meter?\n", "Complaint?\n", "Seen?\n"))
        jobs = list(folder.glob("*.jsonl")) if folder.exists() else []
        kept = len(read_lines(jobs[0]).data) - 1 if jobs else 0
        assert kept >= asked, "a question was shown before the answer to the one before it was kept"
