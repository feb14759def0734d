"""Reads the examples that stand beside faults and causes: installation, complaint, readings, the place they speak of.

They are read apart from the rules, since only those who check the rule base need them. This file must not judge whether
an example ranks as it says.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple, TypeVar

from diagnose.basics.errors import BadInput, Problem
from diagnose.model.causes import CauseRule
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Part
from diagnose.model.rules import Example, FaultRule
from diagnose.store.installations import installation_from_mapping
from diagnose.store.readings import ReadingsFile, readings_from_document
from diagnose.store.rule_folders import RuleFolders, as_folders
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, Loc

__all__ = ["LoadedExample", "load_cause_examples", "load_examples"]

R = TypeVar("R", FaultRule, CauseRule)


class LoadedExample(NamedTuple):
    """One example of a rule; `number` counts from 1, `place` is the fault that must, or must not, rank first."""

    rule: FaultRule | CauseRule
    number: int
    example: Example
    installation: Installation
    readings: ReadingsFile
    place: FaultAt

    @property
    def label(self) -> str:
        """Return a short name such as ``blown 2``."""
        return f"{self.rule.id} {self.number}"


def load_examples(folder: Path | RuleFolders | None = None) -> tuple[LoadedExample, ...]:
    """Return the examples of all fault rules, by the rule's name.

    Parameters: `folder`, the rule base (the folder that holds `faults`); the one that is found, unless said otherwise.
    Raises: BadInput with every problem of every example.
    """
    return _loaded(folder, "faults", FaultRule)


def load_cause_examples(folder: Path | RuleFolders | None = None) -> tuple[LoadedExample, ...]:
    """Return the examples of all causes, by the cause's name; as `load_examples`."""
    return _loaded(folder, "causes", CauseRule)


def _loaded(folder: Path | RuleFolders | None, section: str, model: type[R]) -> tuple[LoadedExample, ...]:
    base = as_folders(folder)
    problems: list[Problem] = []
    found: list[LoadedExample] = []
    for stem in base.stems(section):
        try:
            document = base.read(f"{section}/{stem}.yaml")
            rule: FaultRule | CauseRule = validated(model, document)
        except BadInput as error:
            problems += error.problems
            continue
        for index in range(len(rule.examples)):
            try:
                found.append(_example(document, rule, index, base))
            except BadInput as error:
                problems += error.problems
    if problems:
        raise BadInput(problems)
    return tuple(found)


def _example(document: Document, rule: FaultRule | CauseRule, index: int, base: RuleFolders) -> LoadedExample:
    example, loc = rule.examples[index], ("examples", index)
    installation = installation_from_mapping(example.installation, document, (*loc, "installation"), base)
    readings = readings_from_document(document, installation, loc)
    place = example.place or {}
    fault = str(place.get("fault", rule.id))
    if problems := _misplaced(document, _places(rule, fault), fault, place, (*loc, "place"), installation):
        raise BadInput(problems)
    at, to = (None if place.get(key) is None else str(place[key]) for key in ("at", "to"))
    return LoadedExample(rule, index + 1, example, installation, readings, FaultAt(fault, place["part"], at, to))


def _places(rule: FaultRule | CauseRule, fault: str) -> set[tuple[str, str]]:
    """Return the kinds of part and ends or parts where a rule says the fault can sit."""
    if isinstance(rule, FaultRule):
        return {(kind, each.where) for each in rule.sits_at for kind in each.kinds}
    return {(kind, each.where) for each in rule.brings if each.fault == fault for kind in each.kinds}


def _misplaced(
    document: Document, places: set[tuple[str, str]], fault: str, place: dict[str, object], loc: Loc,
    installation: Installation,
) -> list[Problem]:  # fmt: skip
    """Return what is wrong with the place of an example: no such part or end, or one where the fault cannot sit."""
    part: Part | None = installation.parts.get(str(place.get("part")))
    if part is None:
        parts = ", ".join(sorted(installation.parts))
        return [document.problem((*loc, "part"), f"no part `{place.get('part')}`", f"write one of {parts}")]
    where = "part" if place.get("at") is None else "termination"
    problems = []
    if (part.kind, where) not in places:
        what = f"`{fault}` does not sit at a {part.kind} {'itself' if where == 'part' else 'end'}"
        problems.append(document.problem(loc, what, "choose a place that the rule names"))
    if where == "termination" and place["at"] not in getattr(part, "ends", ()):
        problems.append(document.problem((*loc, "at"), f"no end `{place['at']}`", "write an end of the part"))
    return problems
