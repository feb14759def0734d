"""A plugin of pytest that notes which test runs which line, and for how long; `python -m tests.mutation` starts it."""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import coverage
import pytest

__all__ = ["pytest_runtest_logreport", "pytest_runtest_protocol", "pytest_sessionfinish", "pytest_sessionstart"]

_state: dict[str, Any] = {"times": {}, "failed": []}


def pytest_sessionstart() -> None:
    """Begin to trace the folders named in the environment."""
    _state["tracer"] = coverage.Coverage(data_file=None, source=os.environ["MUTATION_FOLDERS"].split(":"))
    _state["tracer"].start()


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Put down to a test what runs during it."""
    _state["tracer"].switch_context(item.nodeid)
    before = time.perf_counter()
    yield
    _state["times"][item.nodeid] = time.perf_counter() - before


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """Note a test that does not pass as it stands: it can notice nothing."""
    if report.outcome != "passed":
        _state["failed"].append(report.nodeid)


def pytest_sessionfinish() -> None:
    """Write what was seen into the file named in the environment."""
    _state["tracer"].stop()
    data = _state["tracer"].get_data()
    here = Path.cwd()
    lines = {
        Path(file).relative_to(here).as_posix(): {
            line: [test for test in tests if test] for line, tests in data.contexts_by_lineno(file).items()
        }
        for file in data.measured_files()
    }
    found = {"lines": lines, "times": _state["times"], "failed": _state["failed"]}
    Path(os.environ["MUTATION_COVERED"]).write_text(json.dumps(found), encoding="utf-8")
