"""The slow check: faults that no test can tell apart, on every layout.

It only words what is found; which faults they are is worked out by predictions.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.basics.errors import Problem
from diagnose.inference.inseparable import inseparable
from diagnose.lint.base import Base
from diagnose.model.figures import Tables

__all__ = ["twin_faults"]

#: faults of a group that are named
NAMED = 8


def twin_faults(base: Base, tables: Tables) -> Iterator[Problem]:
    """Yield each group of faults that no test tells apart on a layout, whatever the tools."""
    for name, layout in base.layouts.items():
        for group in inseparable(layout, base.rules, tables):
            labels = ", ".join(each.label for each in group[:NAMED])
            more = f" and {len(group) - NAMED} more" if len(group) > NAMED else ""
            what = f"no test tells these apart: {labels}{more}"
            right = "add a place to probe or a sight, or see that their remedies agree"
            yield base.texts[f"rules/layouts/{name}.yaml"].problem((), what, right)
