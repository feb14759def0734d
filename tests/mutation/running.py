"""Runs the tests that touch a mutant's lines until one fails; one mutant after the other.

There are two rounds: the quickest tests first, then some of every file, each as far as a budget goes; what is left
after both counts as survived. A change in a function is made in a forked child of a session that collected its tests
once, by exchanging its code; any other is written to the copy of the tree and tested in a process of its own.
"""

from __future__ import annotations

import inspect
import os
import resource
import signal
import subprocess
import sys
import time
import warnings
from collections import Counter
from collections.abc import Iterator, Mapping
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any, NamedTuple

import pytest

from tests.mutation.mutants import Mutant, place_of

__all__ = ["OPTIONS", "Covered", "Running"]

#: how pytest is asked for the same tests in every process
OPTIONS = ["-o", "addopts=", "--doctest-modules", "--import-mode=importlib", "-m", "not slow", "-p", "no:cacheprovider"]
#: what the tests of one mutant may take as they stand [s], by round; after how long it hangs [s]
QUICK, LONG, HANGS = 12.0, 12.0, 120
MEMORY = 6 * 2**30


class Covered(NamedTuple):
    """What was seen: file -> line -> tests, and how long each test that passes takes [s]."""

    lines: Mapping[str, Mapping[str, list[str]]]
    times: Mapping[str, float]

    def tests(self, mutant: Mutant, first: int, last: int, long: bool) -> list[str]:
        """Return the tests for a mutant: those that touch its lines, then others of their files, within the budget.

        Parameters: `long`, whether a test of each file comes first, else the quickest of all.
        """
        lines = self.lines.get(mutant.file, {})
        touching = {test for line in range(first, last + 1) for test in lines.get(str(line), [])}
        if not touching:
            touching = {test for tests in lines.values() for test in tests} if _at_import(first, lines) else set()
        files = {test.split("::")[0] for test in touching}
        near = {test for test in self.times if test.split("::")[0] in files} - touching
        chosen, left = [], LONG if long else QUICK
        for group in (touching, near):
            quickest = sorted(group & self.times.keys(), key=lambda name: (self.times[name], name))
            for test in _by_turns(quickest) if long else quickest:
                if self.times[test] <= left or not chosen:
                    chosen.append(test)
                    left -= self.times[test]
        return chosen


class Running:
    """A plugin of pytest that tries mutants instead of running the tests once."""

    def __init__(self, root: Path, mutants: list[Mutant], covered: Covered, results: Path, long: bool) -> None:
        self.root, self.mutants, self.covered, self.results, self.long = root, mutants, covered, results, long

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Try every mutant and write a line for each: how it ended, its place, its operator and the change."""
        items = {item.nodeid: item for item in session.items}
        with self.results.open("a", encoding="utf-8") as out:
            for mutant in self.mutants:
                before = time.perf_counter()
                text = (self.root / mutant.file).read_text(encoding="utf-8")
                place = place_of(text, mutant)
                chosen = self.covered.tests(mutant, place.first, place.last, self.long)
                tests = [test for test in chosen if test in items]
                changed = mutant.code(self.root)
                ended = self._ended(mutant, place.function, changed, [items[test] for test in tests])
                words = _change(text, changed)
                took = time.perf_counter() - before
                print(f"{ended}\t{mutant.name}\t{len(tests)} tests, {took:.1f} s\t{words}", file=out)
                out.flush()
        return True

    def _ended(self, mutant: Mutant, function: str | None, changed: str, items: list[pytest.Item]) -> str:
        if not items:
            return "untested"
        with warnings.catch_warnings():  # `is` with a number, which a mutant may well say
            warnings.simplefilter("ignore")
            codes = _codes(compile(changed, str(self.root / mutant.file), "exec"))
        live = _live(mutant.file, function) if function else None
        if live is None or function not in codes or live.__code__.co_freevars != codes[function].co_freevars:
            return self._cold(mutant, changed, items)
        child = os.fork()
        if child == 0:
            _try(live, codes[function], items)
        _, status = os.waitpid(child, 0)
        if os.WIFSIGNALED(status):
            return "hung" if os.WTERMSIG(status) == signal.SIGALRM else "killed"
        return "survived" if os.WEXITSTATUS(status) == 0 else "killed"

    def _cold(self, mutant: Mutant, changed: str, items: list[pytest.Item]) -> str:
        file = self.root / mutant.file
        before = file.read_bytes()
        command = [sys.executable, "-m", "pytest", "-x", *OPTIONS, *(item.nodeid for item in items)]
        try:
            file.write_text(changed, encoding="utf-8")
            quiet = subprocess.DEVNULL
            done = subprocess.run(command, cwd=self.root, timeout=HANGS, stdout=quiet, stderr=quiet, check=False)
            return "survived" if done.returncode == 0 else "killed"
        except subprocess.TimeoutExpired:
            return "hung"
        finally:
            file.write_bytes(before)


def _by_turns(tests: list[str]) -> list[str]:
    """Return tests with the first of each file before the second of any."""
    turns: Counter[str] = Counter()
    numbered = []
    for test in tests:
        file = test.split("::")[0]
        numbered.append((turns[file], len(numbered), test))
        turns[file] += 1
    return [test for _, _, test in sorted(numbered)]


def _at_import(line: int, lines: Mapping[str, list[str]]) -> bool:
    return str(line) in lines


def _try(live: FunctionType, code: CodeType, items: list[pytest.Item]) -> None:
    """Run the tests with the code exchanged and leave the process: 0 where all passed."""
    try:
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.alarm(HANGS)
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        os.dup2(os.open(os.devnull, os.O_WRONLY), 2)
        live.__code__ = code
        for item, then in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=then)
            if item.session.testsfailed:
                os._exit(1)
        os._exit(0)
    except BaseException:
        os._exit(1)


def _codes(code: CodeType) -> dict[str, CodeType]:
    found: dict[str, CodeType] = {}
    for below in code.co_consts:
        if isinstance(below, CodeType):
            found[below.co_qualname] = below
            found |= _codes(below)
    return found


def _live(file: str, function: str) -> FunctionType | None:
    """Return the function that runs, out of the wrappers around it, or None where it cannot be got at."""
    found: Any = sys.modules.get(file.removesuffix(".py").replace("/", "."))
    for name in function.split("."):
        if found is None:
            return None
        found = inspect.getattr_static(found, name, None)
    for inner in ("fget", "__func__", "func"):
        found = getattr(found, inner, found) if not isinstance(found, FunctionType) else found
    found = inspect.unwrap(found) if found is not None else None
    return found if isinstance(found, FunctionType) else None


def _change(before: str, after: str) -> str:
    pairs = zip(before.splitlines(), after.splitlines(), strict=False)
    return next((f"{old.strip()}  ->  {new.strip()}" for old, new in _differing(pairs)), "lines removed")


def _differing(pairs: Any) -> Iterator[tuple[str, str]]:
    return ((old, new) for old, new in pairs if old != new)
