"""Reads the rules of the design check, `rules/checks`, one rule a file, and the examples beside them.

Gathers the problems of all files, each with its place, before it gives up. It must not judge an installation.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.model.checks import CheckExample, CheckRule, FigureReference
from diagnose.model.figures import NO_SOURCE, Tables
from diagnose.model.installation import Installation
from diagnose.store.data_folder import rules_folder
from diagnose.store.installations import installation_from_mapping
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["LoadedCheckExample", "load_check_examples", "load_checks"]


class LoadedCheckExample(NamedTuple):
    """One example of a check, with its installation."""

    rule: CheckRule
    example: CheckExample
    installation: Installation


def load_checks(tables: Tables, folder: Path | None = None) -> dict[str, CheckRule]:
    """Return the rules of the design check by id.

    Parameters: `tables`, whose figures the limits name; `folder`, the rule base, the one that is found unless said.
    Raises: BadInput with every problem of every file.
    """
    problems: list[Problem] = []
    found: dict[str, CheckRule] = {}
    for stem, document in _documents(folder, problems):
        try:
            rule = validated(CheckRule, document)
        except BadInput as error:
            problems += error.problems
            continue
        found[stem] = rule
        problems += _defects(stem, document, rule, tables)
    if not found and not problems:
        problems.append(Problem("rules/checks", None, None, "there are no checks here", "give a whole rule base"))
    if problems:
        raise BadInput(problems)
    return found


def load_check_examples(tables: Tables, folder: Path | None = None) -> tuple[LoadedCheckExample, ...]:
    """Return the examples beside all checks.

    Raises: BadInput as `load_checks`, and with every problem of an example's installation.
    """
    rules = load_checks(tables, folder)
    problems: list[Problem] = []
    found: list[LoadedCheckExample] = []
    for stem, document in _documents(folder, problems):
        for index, example in enumerate(rules[stem].examples):
            loc = ("examples", index, "installation")
            try:
                installation = installation_from_mapping(example.installation, document, loc)
                found.append(LoadedCheckExample(rules[stem], example, installation))
            except BadInput as error:
                problems += error.problems
    if problems:
        raise BadInput(problems)
    return tuple(found)


def _documents(folder: Path | None, problems: list[Problem]) -> list[tuple[str, Document]]:
    found = []
    for file in sorted(((folder if folder is not None else rules_folder()) / "checks").glob("*.yaml")):
        try:
            found.append((file.stem, read_yaml(file, f"rules/checks/{file.name}")))
        except BadInput as error:
            problems += error.problems
    return found


def _defects(stem: str, document: Document, rule: CheckRule, tables: Tables) -> list[Problem]:
    """Return what is wrong in a rule beyond its form: its name, its limits, its examples."""
    found = []
    if rule.id != stem:
        found.append(document.problem(("id",), f"`{rule.id}` in the file {stem}.yaml", f"write id: {stem}"))
    for name, limit in rule.limits.items():
        if isinstance(limit, FigureReference):
            figures = tables.figures.get(limit.table, {})
            if limit.figure not in figures:
                right = meant(limit.figure, figures, "name a table and a figure of rules/tables")
                what = f"no figure `{limit.figure}` in rules/tables/{limit.table}.yaml"
                found.append(document.problem(("limits", name), what, right))
        elif limit.source != NO_SOURCE and limit.source not in tables.sources:
            right = f"list it in rules/sources.yaml, or write `{NO_SOURCE}`"
            found.append(document.problem(("limits", name, "source"), f"unknown source `{limit.source}`", right))
    verdicts = {example.verdict for example in rule.examples}
    if "PASS" not in verdicts or len(verdicts) < 2:
        right = "add an installation that passes, and a look-alike that does not"
        found.append(document.problem(("examples",), "no pair of examples", right))
    return found
