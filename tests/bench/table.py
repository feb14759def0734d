"""The table of measured figures between its markers in DEVELOPERS.md: rows of each part, in the order of the parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import import_module

__all__ = ["rewritten", "rows_of"]

BEGIN, END = "<!-- bench begin -->", "<!-- bench end -->"
HEAD = ["| part | what | figure | floor |", "|---|---|---|---|"]


def rewritten(text: str, fresh: Mapping[str, Sequence[tuple[str, str, str]]], order: Sequence[str]) -> str:
    """Return a document with fresh rows in its table; the rows of parts that were not run stay.

    Parameters: `fresh`, part -> rows of (what, figure, floor); `order`, all parts there are; rows of a part that is
    gone are dropped.
    Raises: ValueError where the markers are not there once each, in order.

    >>> rewritten(f"a\\n{BEGIN}\\n{END}\\nb", {"start": [("help", "0.2 s", "")]}, ["start"]).splitlines()[3:5]
    ['|---|---|---|---|', '| start | help | 0.2 s |  |']
    """
    if (text.count(BEGIN), text.count(END)) != (1, 1) or text.index(BEGIN) > text.index(END):
        raise ValueError(f"the table wants one {BEGIN} and after it one {END}")
    before, _, rest = text.partition(BEGIN)
    old, _, after = rest.partition(END)
    rows = []
    for part in order:
        if part in fresh:
            rows += [f"| {part} | {' | '.join(row)} |" for row in fresh[part]]
        else:
            rows += [line for line in old.splitlines() if line.startswith(f"| {part} |")]
    return "\n".join([before + BEGIN, *HEAD, *rows, END + after])


def rows_of(part: str) -> list[tuple[str, str, str]]:
    """Return the rows of a part, printed as they come."""
    rows = []
    for what, figure, floor in import_module(f"tests.bench.{part}").figures():
        rows.append((what, figure, floor))
        print(f"{what}: {figure} (floor {floor})" if floor else f"{what}: {figure}", flush=True)
    return rows
