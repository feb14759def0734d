"""`python -m tests.fuzz [NUMBER] [--seed N]`: tries that many inputs and prints counts; status 1 where one broke.

A typed line counts as one input, since each is read by itself; a file and a command line count as one each.
"""

from __future__ import annotations

import argparse
import faulthandler
import resource
import sys
import tempfile
from collections import Counter
from pathlib import Path

from tests.fuzz.corpus import corpus
from tests.fuzz.harness import Sandbox
from tests.fuzz.inputs import calls
from tests.fuzz.trying import Tally, drawn, told, tried

#: of how many calls one goes through a command that computes; the others through loaders and quick commands
ONE_OF = 20
BATCH = 200
#: MB that the whole run may take
MOST = 500


def main() -> int:
    """Try the corpus and as many drawn inputs as were asked for, and print what came of it."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("number", nargs="?", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    faulthandler.enable()
    with tempfile.TemporaryDirectory() as folder:
        box = Sandbox(Path(folder))
        tally = tried(box, corpus())
        kept, batch = sum(tally.counts.values()), 0
        while inputs(tally) < asked.number:
            drawn(box, calls(whole=False), BATCH - BATCH // ONE_OF, asked.seed * 100_000 + batch, tally)
            drawn(box, calls(whole=True), BATCH // ONE_OF, asked.seed * 100_000 + batch, tally)
            batch += 1
            print(f"{inputs(tally)} inputs, {len(tally.broken)} broke something", file=sys.stderr, flush=True)
    show(tally, kept)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"memory at its highest: {peak:.0f} MB, at most {MOST}")
    if tally.broken:
        print(told(tally, 20))
    return 1 if tally.broken or peak > MOST else 0


def inputs(tally: Tally) -> int:
    """Return how many inputs were tried."""
    typed = sum(lines for kind, lines in tally.lines.items() if kind.startswith("typed:"))
    return typed + sum(n for (kind, _), n in tally.counts.items() if not kind.startswith("typed:"))


def show(tally: Tally, kept: int) -> None:
    """Print how many calls of each kind ended with which status."""
    kinds: dict[str, Counter[int]] = {}
    for (kind, status), number in tally.counts.items():
        kinds.setdefault(kind, Counter())[status] += number
    for kind, found in sorted(kinds.items()):
        statuses = ", ".join(f"{number} with {status}" for status, number in sorted(found.items()))
        lines = f"; {tally.lines[kind]} lines typed" if kind.startswith("typed:") else ""
        print(f"{kind:16} {sum(found.values()):6} calls: {statuses}{lines}")
    print(f"{inputs(tally)} inputs, {kept} calls of them from the kept corpus; {len(tally.broken)} broke something")


if __name__ == "__main__":
    sys.exit(main())
