"""Keeps the jobs of walks that tests begin out of the folder of whoever runs them."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator

import pytest

#: no part of the suite, and in need of libraries of its own
collect_ignore = ["mutation"]


@pytest.fixture(scope="session", autouse=True)
def _jobs_of_tests() -> Iterator[None]:
    before = os.environ.get("DIAGNOSE_JOBS")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DIAGNOSE_JOBS"] = folder
        yield
        if before is None:
            del os.environ["DIAGNOSE_JOBS"]
        else:
            os.environ["DIAGNOSE_JOBS"] = before
