"""`python -m tests.mutation [NUMBER] [--seed N] [--work FOLDER]`: tries mutants of the floors that reckon.

It works on a copy of the tree in a temporary folder: the tree itself is never changed. One process; start it with
`nice`. Printed are the mutants that no test noticed, and how many were killed.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from itertools import islice
from pathlib import Path

import pytest

from tests.mutation.mutants import drawn
from tests.mutation.running import OPTIONS, Covered, Running

ROOT = Path(__file__).resolve().parents[2]
#: what is mutated, and whose tests are run
FOLDERS = ["diagnose/circuit", "diagnose/inference", "diagnose/session"]
TESTED = ("circuit", "inference", "session", "prediction", "simulation", "evaluation", "present", "lint")
TESTED += ("cli/test_rules_command.py", "cli/test_walk.py", "cli/test_learn.py")
TESTS = [f"tests/{name}" for name in TESTED]
ALIVE = ("survived", "untested")
COPIED = ("diagnose", "rules", "cases", "tests", "pyproject.toml", "README.md", "DEVELOPERS.md")


def main() -> int:
    """Copy the tree, see which test touches which line, try the mutants there, and print what came of it."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("number", nargs="?", type=int, default=400)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--work", type=Path, help="keep the copy and the results there, and go on from them")
    asked = parser.parse_args()
    if os.environ.get("MUTATION_COVERED"):
        return within(Path.cwd(), asked)
    with tempfile.TemporaryDirectory() as folder:
        work = asked.work or Path(folder)
        copy = work / "tree"
        if not copy.exists():
            for name in COPIED:
                copied(ROOT / name, copy / name)
        given = {
            "MUTATION_COVERED": str(work / "covered.json"),
            "MUTATION_FOLDERS": ":".join(FOLDERS),
            "DIAGNOSE_CACHE": str(work / "cache"),
            "OPENBLAS_NUM_THREADS": "1",
            "PYTHONPATH": str(copy),
            "PYTHONDONTWRITEBYTECODE": "1",
        }
        place = os.environ | given
        if not (work / "covered.json").exists():
            trace = [sys.executable, "-m", "pytest", "-q", *OPTIONS, "-p", "tests.mutation.covering", *TESTS, *FOLDERS]
            subprocess.run(trace, cwd=copy, env=place, check=False)
        return subprocess.run([sys.executable, "-m", "tests.mutation", *sys.argv[1:]], cwd=copy, env=place).returncode


def told(results: Path) -> dict[str, str]:
    """Return the last line about each mutant so far, by its name."""
    lines = results.read_text(encoding="utf-8").splitlines() if results.exists() else []
    return {line.split("\t")[1]: line for line in lines}


def copied(source: Path, target: Path) -> None:
    """Copy a file or a folder."""
    target.parent.mkdir(parents=True, exist_ok=True)
    if source.is_dir():
        shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        shutil.copy(source, target)


def within(copy: Path, asked: argparse.Namespace) -> int:
    """Try the mutants in the copy and print what came of it."""
    seen = json.loads(Path(os.environ["MUTATION_COVERED"]).read_text(encoding="utf-8"))
    failed = set(seen["failed"])
    covered = Covered(seen["lines"], {test: time for test, time in seen["times"].items() if test not in failed})
    mutants = list(islice(drawn(copy, FOLDERS, asked.seed), asked.number))
    results = copy.parent / "results.tsv"
    for long in (False, True):
        alive = {name for name, line in told(results).items() if line.startswith(ALIVE)}
        tried = [mutant for mutant in mutants if (mutant.name in alive if long else mutant.name not in told(results))]
        if tried:
            running = Running(copy, tried, covered, results, long)
            pytest.main([*OPTIONS, "-p", "no:terminal", *TESTS, *FOLDERS], plugins=[running])
    lines = told(results).values()
    print("\n".join(line for line in lines if line.startswith(ALIVE)))
    counts = Counter(line.split("\t")[0] for line in lines)
    dead = counts["killed"] + counts["hung"]
    print(f"{len(lines)} mutants, {dead} killed ({100 * dead / len(lines):.0f} %): {dict(counts)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
