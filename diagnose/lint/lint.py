"""The rule base judged: a table of checks, each with its name and how bad it is, and one function that runs them.

Form, links and whatever belongs to one rule are checked when rules are read; what was found there comes in under the
names given there. This file must not word any defect itself.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping

from diagnose.basics.errors import Problem
from diagnose.lint.base import Base, Finding, Severity
from diagnose.lint.numbers import bare_numbers, unknown_units
from diagnose.lint.reach import unasked_tests, uncited_sources, unheard_faults, untaken_tests
from diagnose.lint.twins import twin_faults
from diagnose.model.figures import Tables

__all__ = ["CHECKS", "findings", "sorted_findings", "twins"]

Check = Callable[[Base], Iterator[Problem]]
#: checks of the whole base by name, each with how bad it is
CHECKS: Mapping[str, tuple[Severity, Check]] = {
    "bare_number": ("FAIL", bare_numbers),
    "unit": ("FAIL", unknown_units),
    "unheard_fault": ("FAIL", unheard_faults),
    "untaken_test": ("FAIL", untaken_tests),
    "unasked_test": ("LOOK", unasked_tests),
    "uncited_source": ("LOOK", uncited_sources),
}


def findings(base: Base) -> list[Finding]:
    """Return what the checks of the whole base find; the base must have been read without problems."""
    return [Finding(name, severity, each) for name, (severity, check) in CHECKS.items() for each in check(base)]


def twins(base: Base, tables: Tables) -> list[Finding]:
    """Return the groups of faults that no test tells apart; takes some seconds a layout."""
    return [Finding("twins", "LOOK", each) for each in twin_faults(base, tables)]


def sorted_findings(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings each once, failures first, then by place."""
    return tuple(sorted(set(found), key=lambda f: (f.severity != "FAIL", f.problem.order(), f.check)))
