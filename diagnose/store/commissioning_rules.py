"""Reads the rules of commissioning, `rules/commissioning`, one rule a file.

Gathers the problems of all files, each with its place, before it gives up. It must not judge an installation.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from diagnose.basics.errors import BadInput, Problem, did_you_mean, meant
from diagnose.model.checks import FigureReference
from diagnose.model.commissioning_rules import StepRule
from diagnose.model.figures import NO_SOURCE, Figure, Tables
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.store.data_folder import rules_folder
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["load_step_rules"]

#: places of a template that stand for a state or a lamp, filled in when the steps are made
CHARGING = "{charging}"


def load_step_rules(tables: Tables, folder: Path | None = None) -> tuple[StepRule, ...]:
    """Return the rules of commissioning in the order in which their steps are taken.

    Parameters: `tables`, whose figures the limits name; `folder`, the rule base, the one that is found unless said.
    Raises: BadInput with every problem of every file.
    """
    problems: list[Problem] = []
    found: dict[str, tuple[StepRule, Document]] = {}
    for file in sorted(((folder if folder is not None else rules_folder()) / "commissioning").glob("*.yaml")):
        try:
            document = read_yaml(file, f"rules/commissioning/{file.name}")
            found[file.stem] = validated(StepRule, document), document
        except BadInput as error:
            problems += error.problems
    for stem, (rule, document) in found.items():
        problems += [document.problem(*each) for each in _defects(stem, rule, set(found), tables)]
    if not found and not problems:
        problems.append(Problem("rules/commissioning", None, None, "there are no steps here", "give a whole rule base"))
    if problems:
        raise BadInput(problems)
    return tuple(sorted((rule for rule, _ in found.values()), key=lambda rule: (rule.order, rule.id)))


def _defects(
    stem: str, rule: StepRule, known: set[str], tables: Tables
) -> Iterator[tuple[tuple[str | int, ...], str, str]]:
    """Yield what is wrong in a rule beyond its form."""
    if rule.id != stem:
        yield ("id",), f"`{rule.id}` in the file {stem}.yaml", f"write id: {stem}"
    if rule.take is not None and rule.take.quantity not in QUANTITIES:
        close = did_you_mean(rule.take.quantity, QUANTITIES)
        yield ("take", "quantity"), f"no quantity `{rule.take.quantity}`", f"did you mean {close or 'volts'}?"
    if rule.take is not None and rule.take.when not in (*STATES, CHARGING):
        close = did_you_mean(rule.take.when, STATES)
        yield ("take", "when"), f"no state `{rule.take.when}`", f"did you mean {close or 'at_rest'}?"
    if rule.take is None and rule.asks is None and not rule.needs:
        yield ("id",), "neither a test nor a question nor other steps", "give take, asks or needs"
    for index, name in enumerate(rule.needs):
        if name not in known:
            yield ("needs", index), f"no step `{name}`", f"did you mean {did_you_mean(name, known) or 'another'}?"
    if rule.source != NO_SOURCE and rule.source not in tables.sources:
        yield ("source",), f"unknown source `{rule.source}`", f"list it in rules/sources.yaml, or write `{NO_SOURCE}`"
    low, high = (rule.limits.low, rule.limits.high) if rule.limits is not None else (None, None)
    places: list[tuple[tuple[str, ...], FigureReference | Figure | None]] = [
        (("limits", "low"), low), (("limits", "high"), high), (("least_share",), rule.least_share),
    ]  # fmt: skip
    for loc, figure in places:
        if isinstance(figure, FigureReference):
            figures = tables.figures.get(figure.table, {})
            if figure.figure not in figures:
                right = meant(figure.figure, figures, "name a table and a figure of rules/tables")
                yield loc, f"no figure `{figure.figure}` in rules/tables/{figure.table}.yaml", right
        elif figure is not None and figure.source != NO_SOURCE and figure.source not in tables.sources:
            yield (*loc, "source"), f"unknown source `{figure.source}`", "list it in rules/sources.yaml"
