"""Runs every part of the bench and rewrites the table between the markers in DEVELOPERS.md.

    python -m tests.bench            all parts
    python -m tests.bench start      one part; the rows of the others stay as they are

A part is a module `bench_NAME.py` beside this file with a function `figures` that yields rows of what was measured, the
figure, and the floor it should reach. Each has a process of its own: peak memory of what it starts counts what it held.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from tests.bench.table import rewritten, rows_of

HERE = Path(__file__).resolve().parent
DOCUMENT = HERE.parents[1] / "DEVELOPERS.md"


def main(wanted: list[str]) -> int:
    """Run the parts named, or all; return 0, or 2 where there is no such part."""
    parts = {file.stem.removeprefix("bench_"): file.stem for file in sorted(HERE.glob("bench_*.py"))}
    if unknown := [name for name in wanted if name not in parts]:
        print(f"no part {', '.join(unknown)}, write some of {', '.join(parts)}", file=sys.stderr)
        return 2
    found: dict[str, list[tuple[str, str, str]]] = {}
    with ProcessPoolExecutor(1, get_context("spawn"), max_tasks_per_child=1) as alone:
        for name in wanted or list(parts):
            found[name] = alone.submit(rows_of, parts[name]).result()
    text = DOCUMENT.read_text(encoding="utf-8")
    DOCUMENT.write_text(rewritten(text, found, list(parts)), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
