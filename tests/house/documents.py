"""Reads DEVELOPERS.md and README.md: headings, tables, code blocks; and says what a table of keys must hold.

It must not know what is right: the tests compare.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from diagnose.basics.quantities import DIMENSIONS
from diagnose.model.fields import Measured
from diagnose.store import part_checks

__all__ = ["ROOT", "blocks", "measured_of", "read", "table_after", "valid_range", "words_of"]

ROOT = Path(__file__).resolve().parents[2]
#: bounds of the voltage of a profile [V], which stand in a check of their own
PROFILE_VOLTS = (12.5, 17.0)


def read(name: str) -> str:
    """Return the text of a document at the top of the tree."""
    return (ROOT / name).read_text(encoding="utf-8")


def blocks(text: str, language: str) -> list[str]:
    """Return the fenced code blocks of one language."""
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def table_after(text: str, heading: str) -> list[dict[str, str]]:
    """Return the rows of the first table below a heading, by column; an empty list where the heading is missing."""
    lines = iter(text.splitlines())
    for line in lines:
        if re.fullmatch(r"#+ " + re.escape(heading), line):
            return list(_rows(lines))
    return []


def _rows(lines: Iterator[str]) -> Iterator[dict[str, str]]:
    columns: list[str] = []
    for line in lines:
        if line.startswith("#") or (columns and not line.startswith("|")):
            return
        if not line.startswith("|"):
            continue
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if not columns:
            columns = cells
        elif set(line) - set("|-: "):
            yield dict(zip(columns, cells, strict=True))


def _inside(annotation: Any) -> Iterator[Any]:
    """Yield an annotation and everything within it."""
    yield annotation
    for within in (*get_args(annotation), *getattr(annotation, "__metadata__", ())):
        if get_origin(annotation) is not Literal:
            yield from _inside(within)


def measured_of(field: FieldInfo) -> Measured | None:
    """Return the quantity a field holds, or None."""
    found = [*field.metadata, *_inside(field.annotation)]
    return next((each for each in found if isinstance(each, Measured)), None)


def words_of(field: FieldInfo) -> tuple[str, ...]:
    """Return the words a field may be, empty where it is no word."""
    if any(each is bool for each in _inside(field.annotation)):
        return ("true", "false")
    found = [each for each in _inside(field.annotation) if get_origin(each) is Literal]
    return tuple(str(word) for word in get_args(found[0])) if len(found) == 1 else ()


def valid_range(kind: str | None, key: str, field: FieldInfo) -> str | None:
    """Return what the column `valid range` must say, or None where only words can tell."""
    if kind is not None and key in ("kind", "lamps"):
        return None
    quantity = measured_of(field)
    if quantity is None:
        return ", ".join(words_of(field)) or None
    dimension = DIMENSIONS[quantity.dimension]
    low, high = dimension.low, dimension.high
    first = f"{max(low, quantity.least if quantity.least is not None else low):g}"
    if quantity.above is not None:
        first = f"above {quantity.above:g}"
    last = min(high, quantity.most if quantity.most is not None else high)
    bounds = part_checks._VOLTS.get(kind or "", {}).get(key)
    if kind == "profile":
        bounds = PROFILE_VOLTS
    if bounds is not None:
        first, last = f"{bounds[0]:g}", bounds[1]
    return f"{first} to {last:g} {dimension.base_unit}"

