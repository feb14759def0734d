"""Reads the rule base: faults, tests, complaints, cautions, causes and operating states, one rule a file.

Gathers the problems of all files, each with its place, before it gives up. It must not judge whether a rule is wise and
it leaves the examples beside the rules to `rule_examples`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TypeVar

from diagnose.basics.errors import BadInput, Problem
from diagnose.model.causes import CauseRule, OperatingState
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, RuleBase, TestRule
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_checks import Rule, check_alone, check_together
from diagnose.store.tables import load_sources
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["load_rules"]

R = TypeVar("R", FaultRule, TestRule, ComplaintRule, Caution, CauseRule, OperatingState)
Files = dict[str, tuple[Document, R]]


def load_rules(folder: Path | None = None) -> RuleBase:
    """Return the rule base beside its tables.

    Parameters: `folder`, the rule base (the folder that holds `faults`); the one that is found, unless said otherwise.
    Raises: BadInput with every problem of every file.

    >>> load_rules().tests["ohms"].minutes
    4.0
    """
    base = folder if folder is not None else rules_folder()
    problems: list[Problem] = []
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
    whole = not problems  # links are looked at only where nothing they may lead to was refused
    for stem, document, record in every:
        problems += check_alone(stem, document, record)
        problems += check_together(document, record, rules, sources) if whole else []
    if problems:
        raise BadInput(problems)
    return rules


def _section(base: Path, section: str, model: type[R], problems: list[Problem]) -> Files[R]:
    """Return the rules of one folder, by file name, and add what is wrong in them."""
    found: Files[R] = {}
    files = sorted((base / section).glob("*.yaml"))
    if not files:
        problems.append(Problem(f"rules/{section}", None, None, "there are no rules here", "give a whole rule base"))
    for file in files:
        try:
            document = read_yaml(file, f"rules/{section}/{file.name}")
            found[file.stem] = document, validated(model, document)
        except BadInput as error:
            problems += error.problems
    return found


def _records(files: Mapping[str, tuple[Document, R]]) -> dict[str, R]:
    return {stem: record for stem, (_, record) in files.items()}


def _sources(base: Path, problems: list[Problem]) -> frozenset[str]:
    """Return the ids of all sources."""
    try:
        return frozenset(load_sources(base))
    except BadInput as error:
        problems += error.problems
        return frozenset()
