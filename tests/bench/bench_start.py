"""How long a person waits: help, one expected reading, a ranking; and the memory it takes.

Processes are run in turn and the least time of each counts, since other work on a machine only adds to it.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter

from diagnose.cli.loading import figures as table_figures
from diagnose.cli.loading import installation_named, rule_base
from diagnose.inference.ranking import Engine, Question
from diagnose.store.readings import load_readings

__all__ = ["figures"]

ROOT = Path(__file__).resolve().parents[2]
READINGS = "cases/examples/crew_cab_tray_readings.yaml"
DIAGNOSE = [sys.executable, "-m", "diagnose"]
BARE = [sys.executable, "-c", "pass"]
EXPECT = [*DIAGNOSE, "expect", "crew_cab_tray", "tray", "chassis", "--when", "engine_running"]
RANK = [*DIAGNOSE, "rank", "crew_cab_tray", "--readings", READINGS]
TOOLS = ("multimeter", "clamp", "eyes", "hands")
RUNS = 7
#: what the system counts peak memory in [byte]
UNIT = 1 if sys.platform == "darwin" else 1024


def spent(command: list[str]) -> tuple[float, float]:
    """Run a command and return its time [s] and its peak memory [MB]."""
    begun = perf_counter()
    process = subprocess.Popen(command, cwd=ROOT, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    time = perf_counter() - begun
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        raise RuntimeError(f"{' '.join(command)} ended with {process.returncode}")
    return time, usage.ru_maxrss * UNIT / 1e6


def least(commands: list[list[str]], runs: int) -> list[tuple[float, float]]:
    """Run several commands in turn and return the least time [s] and the greatest memory [MB] of each."""
    rounds = [[spent(command) for command in commands] for _ in range(runs)]
    return [(min(t for t, _ in each), max(m for _, m in each)) for each in zip(*rounds, strict=True)]


def figures() -> Iterator[tuple[str, str, str]]:
    """Yield the rows of this part."""
    spent(EXPECT)  # the first run on a machine also compiles the modules
    (bare, _), (shown, _) = least([BARE, [*DIAGNOSE, "--help"]], RUNS)
    yield "`diagnose --help` over a bare `python -c pass`", f"{shown / bare:.1f} × ({shown:.2f} s)", "12 ×"
    expected, plain, ranked = least([EXPECT, [*EXPECT, "--json"], RANK], RUNS // 2)
    yield "`diagnose expect` for one reading, with suspects, a fresh process", f"{expected[0]:.2f} s", "1.0 s"
    yield "its peak memory", f"{expected[1]:.0f} MB", "200 MB"
    yield "`diagnose expect --json` for one reading, a fresh process", f"{plain[0]:.2f} s", "1.0 s"
    yield "`diagnose rank` with five readings, a fresh process", f"{ranked[0]:.2f} s", ""
    yield "its peak memory", f"{ranked[1]:.0f} MB", ""
    yield from _within()


def _within() -> Iterator[tuple[str, str, str]]:
    """Yield what a ranking takes where the program runs already, as in a guided walk."""
    installation, rules, tables = installation_named("crew_cab_tray"), rule_base(), table_figures()
    readings = load_readings(ROOT / READINGS, installation).readings
    engine = Engine(installation, rules, tables)
    names = ("four readings, nothing solved before", "a fifth reading more", "the same again")
    for name, count in zip(names, (len(readings) - 1, len(readings), len(readings)), strict=True):
        begun = perf_counter()
        engine.rank(Question(readings[:count], None, TOOLS))
        yield f"ranking within a process: {name}", f"{perf_counter() - begun:.2f} s", ""
