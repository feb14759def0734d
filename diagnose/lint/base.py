"""What the checks of the rule base look at, and what they answer with.

Files reach this floor as texts that have been read: it must not open any.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, NamedTuple, Protocol

from diagnose.basics.errors import Problem
from diagnose.model.figures import Source
from diagnose.model.installation import Installation
from diagnose.model.rules import RuleBase

__all__ = ["Base", "Finding", "Severity", "Text"]

#: FAIL must be mended; LOOK may be right as it is, and a person should say so
Severity = Literal["FAIL", "LOOK"]


class Text(Protocol):
    """One file: what messages call it, its data, and where a value stands in it."""

    @property
    def name(self) -> str: ...

    @property
    def data(self) -> Any: ...

    def problem(self, loc: tuple[str | int, ...], what: str, right: str, *, key: bool = False) -> Problem: ...


class Base(NamedTuple):
    """A rule base: `texts` by name, as ``rules/faults/blown.yaml``, with the records made of them.

    `layouts` by name stand for the installations that faults are looked for on.
    """

    texts: Mapping[str, Text]
    rules: RuleBase
    sources: Mapping[str, Source]
    layouts: Mapping[str, Installation]


class Finding(NamedTuple):
    """One thing wrong: the check that found it, how bad it is, its place and what would be right."""

    check: str
    severity: Severity
    problem: Problem
