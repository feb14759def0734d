"""A run spread over a cluster: the same as alone, also where a worker is killed in the middle; times are printed."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator

import pytest
from distributed import LocalCluster

from diagnose.basics.errors import BadInput
from diagnose.cli.evaluate_cluster import over_cluster
from diagnose.cli.main import run as command
from diagnose.evaluation import run as running
from diagnose.evaluation.run import Result, run
from tests.evaluation.small import plan

#: what the library warns of is its own affair
pytestmark = pytest.mark.filterwarnings("ignore")
VEHICLES = 16


@pytest.fixture(scope="module", autouse=True)
def _small_blocks() -> Iterator[None]:
    """Cut the vehicles into four blocks, so that two workers have work left when one of them is lost."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(running, "BLOCK", 4)
        yield


@pytest.fixture(scope="module")
def alone(_small_blocks: None) -> tuple[tuple[Result, ...], float]:
    begun = time.perf_counter()
    return run(plan(VEHICLES), 1), time.perf_counter() - begun


@pytest.fixture
def cluster() -> Iterator[LocalCluster]:
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None, silence_logs=50) as made:
        yield made


@pytest.mark.slow
def test_workers_of_a_cluster_find_the_same(cluster: LocalCluster, alone: tuple[tuple[Result, ...], float]) -> None:
    begun = time.perf_counter()
    assert run(plan(VEHICLES), 1, over=over_cluster(cluster.scheduler_address)) == alone[0]
    spent = time.perf_counter() - begun
    print(f"{VEHICLES} vehicles: {alone[1]:.1f} s alone, {spent:.1f} s on two workers")


@pytest.mark.slow
def test_a_worker_that_is_killed_changes_nothing(
    cluster: LocalCluster, alone: tuple[tuple[Result, ...], float]
) -> None:
    killed: list[int] = []

    def after_a_block(done: int) -> None:
        if not killed:
            worker = next(iter(cluster.workers.values()))
            killed.append(worker.process.process.pid)
            os.kill(killed[0], signal.SIGKILL)

    found = run(plan(VEHICLES), 1, after_a_block, over_cluster(cluster.scheduler_address))
    assert killed
    assert found == alone[0]


def test_where_no_scheduler_answers_it_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("diagnose.cli.evaluate_cluster.REACH", 1)
    words = ["evaluate", "--n", "1", "--layouts", "solar_only_van", "--players", "engine"]
    assert command([*words, "--cluster", "tcp://127.0.0.1:9"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("--cluster: no scheduler answers at `tcp://127.0.0.1:9`")
    assert len(said.splitlines()) == 1
    assert command([*words, "--cluster", "no address"]) == 2
    assert command([*words, "--cluster", "tcp://127.0.0.1:9", "--jobs", "2"]) == 2


def test_without_the_library_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(__import__("sys").modules, "distributed", None)
    with pytest.raises(BadInput, match="cluster"):
        over_cluster("tcp://127.0.0.1:9")
