"""Tries every fault on both kinds of record and lays the counts out as one table."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from tests.durability import faults, processes
from tests.durability.records import KINDS, Count

__all__ = ["table", "tried"]

SEED = 20


def tried(folder: Path, kills: int, commands: int) -> Iterator[Count]:
    """Try everything below a folder.

    Parameters: `kills` of a writer, half of them on each kind; `commands`, how often the command itself is killed, each
    kind.
    """
    plain = (
        faults.truncated, faults.flipped, faults.full, faults.read_only, faults.power_gone, faults.later_form,
        faults.older_form, processes.two_writers, processes.file_limit,
    )  # fmt: skip
    for number, kind in enumerate(KINDS):
        here = folder / kind.name
        for fault in plain:
            (here / fault.__name__).mkdir(parents=True)
            yield fault(kind, here / fault.__name__)
        share = kills // 2 + (kills % 2 if number == 0 else 0)
        (here / "killed").mkdir()
        yield processes.killed(kind, here / "killed", share, SEED + number)
        if commands:
            yield processes.walks_killed(kind, here / "commands", commands, SEED + number)


def table(counts: Sequence[Count]) -> str:
    """Return the counts as text, each broken promise below."""
    rows = [f"{'fault':<37}{'record':<12}{'tried':>7}{'broken':>8}"]
    rows += [f"{count.fault:<37}{count.kind:<12}{count.tried:>7}{len(count.broken):>8}" for count in counts]
    total, broken = sum(count.tried for count in counts), sum(len(count.broken) for count in counts)
    rows.append(f"{'all':<37}{'':<12}{total:>7}{broken:>8}")
    rows += [f"  {count.fault}, {count.kind}: {words}" for count in counts for words in count.broken[:3]]
    return "\n".join(rows)
