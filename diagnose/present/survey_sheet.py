"""The survey as a sheet to fill in by hand: one page, the same questions in the same order, and the photos to take.

Plain text of 60 to 80 columns, so that any printer takes it; it must not ask.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from diagnose.model.survey import Survey, SurveyField, Topic

__all__ = ["sheet_lines"]

_NARROWEST, _WIDEST = 60, 80
_FIRST = (
    "Engine off, key out. Read labels, measure with a tape; open nothing, loosen nothing, pull no fuse. Local wiring"
    " rules, the makers' instructions and licensed practice come first. What is not known: write ?, or a range."
)


def sheet_lines(survey: Survey, width: int = _WIDEST) -> list[str]:
    """Return the lines of the sheet.

    Parameters: `survey`; `width` [columns], held within 60 to 80.
    """
    columns = min(max(width, _NARROWEST), _WIDEST)
    lines = [
        "SURVEY OF A SECOND BATTERY AND ITS CHARGING",
        _filled("Vehicle: ", columns * 3 // 5) + _filled("  Date and name: ", columns - columns * 3 // 5),
        *textwrap.wrap(_FIRST, columns),
    ]
    for number, topic in enumerate(survey.topics, 1):
        lines += _topic(survey, topic, number, columns)
    lines += ["", "PHOTOS, near enough to read"]
    lines += _joined([f"[ ] {photo}" for photo in survey.photos], columns, "")
    lines += [_filled("Notes: ", columns), "_" * columns]
    return lines


def _topic(survey: Survey, topic: Topic, number: int, columns: int) -> Iterator[str]:
    yield from textwrap.wrap(f"{number:2d} {topic.asks}", columns, subsequent_indent="   ", break_on_hyphens=False)
    if topic.fields[0].kind == "loads":
        yield from ("   " + _filled("", columns - 3) for _ in range(2))
        return
    blanks = [_blank(survey, field) for field in topic.fields]
    if all(len(survey.words(field)) < 5 for field in topic.fields) or len(topic.fields) > 1:
        yield from _joined(blanks, columns, "   ")
        return
    words = survey.words(topic.fields[0])
    longest = max(map(len, words))
    yield from (f"   [ ] {word:<{longest}}  {choice.says}" for word, choice in words.items())


def _blank(survey: Survey, field: SurveyField) -> str:
    """Return the place to write one value: ticks for words, a line with its unit for a quantity."""
    words = survey.words(field)
    if words:
        return "  ".join(f"[ ] {word}" for word in words)
    unit = field.unit or {"area": "mm2 / AWG", "length": "m / ft"}.get(str(field.quantity), "")
    none = "  [ ] none" if field.none is not None else ""
    return f"{field.name} ______ {unit}{none}"


def _joined(pieces: list[str], columns: int, indent: str) -> list[str]:
    """Return pieces side by side, as many in a line as it takes."""
    lines: list[str] = []
    for piece in pieces:
        if lines and len(lines[-1]) + 3 + len(piece) <= columns:
            lines[-1] += f"   {piece}"
        else:
            lines.append(f"{indent}{piece}")
    return lines


def _filled(text: str, columns: int) -> str:
    return text + "_" * max(columns - len(text), 3)
