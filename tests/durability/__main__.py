"""Tries every fault on the records of jobs and prints one table of counts.

    python -m tests.durability        500 kills of a writer, ten of each command
    python -m tests.durability 40     so many kills of a writer, none of a command
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.durability.trying import table, tried

KILLS, COMMANDS = 500, 10


def main(words: list[str]) -> int:
    """Try and print; return 0, 1 where a promise was broken, or 2 for words that are no number."""
    if len(words) > 1 or not all(word.isdigit() for word in words):
        print("write how many kills, or nothing", file=sys.stderr)
        return 2
    with tempfile.TemporaryDirectory() as folder:
        counts = list(tried(Path(folder), int(words[0]) if words else KILLS, 0 if words else COMMANDS))
    print(table(counts))
    return int(any(count.broken for count in counts))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
