"""A number line in plain characters: the sound band, the reading, and what the leading suspects predict.

Each row stands by itself, so that it can be read at 60 columns and without colour. Nothing is computed beyond places on
the line.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.present.walk_words import figure

__all__ = ["Row", "number_line"]

Row = tuple[str, float, float]
_LABEL = 34


def number_line(rows: Sequence[Row], unit: str, width: int) -> list[str]:
    """Return the rows of a number line.

    Parameters: `rows`, each a label with its low and its high end, equal for a single value; `unit`; `width` [columns].

    >>> for line in number_line([("sound", 13.2, 14.1), ("read", 11.9, 11.9)], "V", 60): print(line)
    sound                      ...................[==========]..
    read                       ..#..............................
                               11.72 V                   14.28 V
    """
    low, high = min(low for _, low, _ in rows), max(high for _, _, high in rows)
    room = max((high - low) * 0.08, 1e-3)
    low, high = low - room, high + room
    label = min(_LABEL, max(width // 2 - 4, 12))
    cells = max(width - label - 1, 12)
    lines = []
    for name, first, last in rows:
        start, end = (round((x - low) / (high - low) * (cells - 1)) for x in (first, last))
        if first == last or start == end:
            marks = "." * start + "#" + "." * (cells - start - 1)
        else:
            marks = "." * start + "[" + "=" * (end - start - 1) + "]" + "." * (cells - end - 1)
        lines.append(f"{_short(name, label):<{label}} {marks}")
    left, right = figure(low, unit), figure(high, unit)
    lines.append(" " * (label + 1) + left + " " * max(cells - len(left) - len(right), 1) + right)
    return lines


def _short(name: str, width: int) -> str:
    return name if len(name) <= width else f"{name[: width - 3].rstrip()}..."
