"""The promises of a job's record hold under every fault, for walks and for commissionings."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.durability.__main__ import COMMANDS, KILLS
from tests.durability.records import KINDS
from tests.durability.trying import table, tried


def check(folder: Path, kills: int, commands: int) -> None:
    counts = list(tried(folder, kills, commands))
    print(table(counts))
    assert [count.fault for count in counts if count.broken or not count.tried] == [], table(counts)
    faults = {kind.name: {count.fault for count in counts if count.kind == kind.name} for kind in KINDS}
    assert faults["walk"] == faults["commission"]


def test_the_record_keeps_its_promises(tmp_path: Path) -> None:
    check(tmp_path, 6, 0)


@pytest.mark.slow
def test_the_record_keeps_its_promises_under_many_kills(tmp_path: Path) -> None:
    check(tmp_path, KILLS, COMMANDS)
