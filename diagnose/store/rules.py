"""Reads the rule base: faults, tests, complaints, cautions, causes and operating states, one rule a file.

Gathers the problems of all files, each with its place and the name of what found it. It must not judge whether a rule
is wise and it leaves the examples beside the rules to `rule_examples`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple, TypeVar

from diagnose.basics.errors import BadInput, Problem
from diagnose.model.causes import CauseRule, OperatingState
from diagnose.model.figures import Source
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, RuleBase, TestRule
from diagnose.store.rule_checks import Named, Rule, check_alone, check_together
from diagnose.store.rule_folders import RuleFolders, Unfilled, as_folders
from diagnose.store.tables import load_sources
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document

__all__ = ["FORM", "UNFILLED", "UNREADABLE", "RuleFiles", "load_rules", "read_rules"]

R = TypeVar("R", FaultRule, TestRule, ComplaintRule, Caution, CauseRule, OperatingState)
Files = dict[str, tuple[Document, R]]
#: names of what is wrong before any check can look: no YAML at all, not filled in yet, or not the
#: form of its record
UNREADABLE, UNFILLED, FORM = "unreadable", "unfilled", "form"


class RuleFiles(NamedTuple):
    """The files of the rules with what they hold: `documents` in order, `rules`, `sources`, and what is `wrong`."""

    documents: tuple[Document, ...]
    rules: RuleBase
    sources: dict[str, Source]
    wrong: tuple[Named, ...]


def load_rules(folder: Path | RuleFolders | None = None) -> RuleBase:
    """Return the rule base beside its tables.

    Parameters: `folder`, the rule base (the folder that holds `faults`), or one with a company's own over it; the one
    that is found, unless said otherwise.
    Raises: BadInput with every problem of every file.

    >>> load_rules().tests["ohms"].minutes
    4.0
    """
    files = read_rules(as_folders(folder))
    if files.wrong:
        raise BadInput(problem for _, problem in files.wrong)
    return files.rules


def read_rules(folder: Path | RuleFolders) -> RuleFiles:
    """Return the rules of a folder and all that is wrong with them.

    Links are looked at only where nothing they may lead to was refused.
    """
    base = as_folders(folder)
    problems: list[Named] = []
    sources = _sources(base, problems)
    faults = _section(base, "faults", FaultRule, problems)
    tests = _section(base, "tests", TestRule, problems)
    complaints = _section(base, "complaints", ComplaintRule, problems)
    cautions = _section(base, "cautions", Caution, problems)
    causes = _section(base, "causes", CauseRule, problems)
    operating = _section(base, "operating_states", OperatingState, problems)
    rules = RuleBase(
        faults=_records(faults), tests=_records(tests), complaints=_records(complaints), cautions=_records(cautions),
        causes=_records(causes), operating_states=_records(operating),
    )  # fmt: skip
    every: list[tuple[str, Document, Rule]] = []
    for section in (faults, tests, complaints, cautions, causes, operating):
        every += [(stem, document, record) for stem, (document, record) in section.items()]
    whole = not problems
    for stem, document, record in every:
        problems += check_alone(stem, document, record)
        problems += check_together(document, record, rules, sources) if whole else []
    return RuleFiles(tuple(document for _, document, _ in every), rules, sources, tuple(problems))


def _section(base: RuleFolders, section: str, model: type[R], problems: list[Named]) -> Files[R]:
    """Return the rules of one folder, by file name, and add what is wrong in them."""
    found: Files[R] = {}
    stems = base.stems(section)
    if not stems:
        none = Problem(f"rules/{section}", None, None, "there are no rules here", "give a whole rule base")
        problems.append((UNREADABLE, none))
    for stem in stems:
        try:
            document = base.read(f"{section}/{stem}.yaml")
        except Unfilled as error:
            problems += [(UNFILLED, problem) for problem in error.problems]
            continue
        except BadInput as error:
            problems += [(UNREADABLE, problem) for problem in error.problems]
            continue
        try:
            found[stem] = document, validated(model, document)
        except BadInput as error:
            problems += [(FORM, problem) for problem in error.problems]
    return found


def _records(files: Mapping[str, tuple[Document, R]]) -> dict[str, R]:
    return {stem: record for stem, (_, record) in files.items()}


def _sources(base: RuleFolders, problems: list[Named]) -> dict[str, Source]:
    """Return all sources by id."""
    try:
        return load_sources(base)
    except BadInput as error:
        problems += [(FORM, problem) for problem in error.problems]
        return {}
