"""Tries calls one after another and counts: how many, of which kind, with which status, and what was broken."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.fuzz.harness import Call, Outcome, Sandbox

__all__ = ["Tally", "drawn", "told", "tried"]


class Tally(NamedTuple):
    """What was tried: calls by kind and status, typed lines among them, and each call that broke something."""

    counts: Counter[tuple[str, int]]
    lines: Counter[str]
    broken: list[tuple[Call, Outcome]]

    def add(self, call: Call, outcome: Outcome) -> None:
        """Count one call."""
        self.counts[call.kind, outcome.status] += 1
        self.lines[call.kind] += call.typed.count("\n")
        if outcome.broken:
            self.broken.append((call, outcome))


def tried(box: Sandbox, calls: Iterable[Call], tally: Tally | None = None) -> Tally:
    """Run calls and return what came of them."""
    tally = tally or Tally(Counter(), Counter(), [])
    for call in calls:
        tally.add(call, box.run(call))
    return tally


def drawn(
    box: Sandbox, strategy: st.SearchStrategy[Call], number: int, first: int, tally: Tally | None = None
) -> Tally:
    """Run calls that are drawn from a strategy, the same for the same `first`, and return what came of them."""
    tally = tally or Tally(Counter(), Counter(), [])

    @seed(first)
    @settings(
        max_examples=number,
        database=None,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(strategy)
    def one(call: Call) -> None:
        tally.add(call, box.run(call))

    one()
    return tally


def told(tally: Tally, most: int = 5) -> str:
    """Return each broken call in words that let it be run again."""
    shown = []
    for call, outcome in tally.broken[:most]:
        files = [(name, content[:600]) for name, content in call.files]
        shown.append(
            "\n".join(
                [
                    f"{call.kind}: {' '.join(call.words)!a}",
                    f"typed {call.typed[:400]!a}",
                    f"files {files}",
                    *outcome.broken,
                ]
            )
        )
    return "\n\n".join([f"{len(tally.broken)} of {sum(tally.counts.values())} broke something", *shown])
