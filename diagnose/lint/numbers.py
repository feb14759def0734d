"""Checks of the numbers of a rule base: none without source and confidence, none without a unit that is known.

They look at what stands in the files, not at records, so that a number which a record would take as it is cannot slip
through. They must not judge whether a figure is right.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from diagnose.basics.errors import Problem, meant
from diagnose.basics.units import DIMENSIONS
from diagnose.lint.base import Base, Text

__all__ = ["bare_numbers", "unknown_units"]

Loc = tuple[str | int, ...]
#: keys below which numbers are none of a rule's figures: quantities of a description, weights and counts, with no unit
OTHERS = ("examples", "sits_at", "hands", "evidence_fades_days")
#: files whose numbers are not those of the rule base: descriptions, and forms
SECTIONS = ("faults", "tests", "complaints", "cautions", "causes", "operating_states", "tables", "checks", "scripts")
#: units that only figures have, and words that a unit is told in where it has none
UNITS = "K m2 s h days day bit kg l N m ohm mohm mA Ah rev min m3 cm2 mm V W A degC"
WORDS = """% a alternator answers at capacity charge conductors counts digits emissivity factor fraction gauge
insulation least numbers of percent questions rating relative share area the times volume word"""


def bare_numbers(base: Base) -> Iterator[Problem]:
    """Yield each number that neither has a source and a confidence beside it nor lies within what has."""
    for text in _figures(base):
        for loc in _bare(text.data, (), False):
            yield text.problem(loc, "a number without source and confidence", "write both beside it")


def unknown_units(base: Base) -> Iterator[Problem]:
    """Yield each figure without a unit, and each unit that is none."""
    known = {unit for dimension in DIMENSIONS.values() for unit in dimension.units} | {*UNITS.split(), *WORDS.split()}
    for text in _figures(base):
        for loc, entry in _mappings(text.data, ()):
            if "value" in entry and "source" in entry and "unit" not in entry:
                yield text.problem(loc, "a figure without a unit", "write unit:, `share` or `factor` where it has none")
            for key in ("unit", "over_unit"):
                for part in re.split(r"[\s./]+", str(entry.get(key, ""))):
                    if part and part not in known and not part.isdigit():
                        right = meant(part, known, "write it in the units of the tables")
                        yield text.problem((*loc, key), f"`{part}` is no unit", right)


def _figures(base: Base) -> Iterator[Text]:
    """Yield the files that hold figures."""
    for name, text in base.texts.items():
        if name.split("/")[1] in SECTIONS:
            yield text


def _bare(data: Any, loc: Loc, cited: bool) -> Iterator[Loc]:
    if isinstance(data, dict):
        cited = cited or {"source", "confidence"} <= set(data)
    elif isinstance(data, int | float) and not isinstance(data, bool) and not cited:
        yield loc
    for step, value in _steps(data):
        if step not in OTHERS:
            yield from _bare(value, (*loc, step), cited)


def _mappings(data: Any, loc: Loc) -> Iterator[tuple[Loc, dict[str, Any]]]:
    """Yield every mapping with its place, those of examples left out."""
    if isinstance(data, dict):
        yield loc, data
    for step, value in _steps(data):
        if step not in OTHERS:
            yield from _mappings(value, (*loc, step))


def _steps(data: Any) -> Iterator[tuple[str | int, Any]]:
    if isinstance(data, dict):
        yield from data.items()
    elif isinstance(data, list):
        yield from enumerate(data)
