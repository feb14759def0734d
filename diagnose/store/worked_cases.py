"""Loads worked cases: closed cases with their readings and what was found.

Everything wrong in a case is gathered and raised at once. This file must not judge whether the engine finds the same.
"""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from typing import NamedTuple

from diagnose.basics.errors import BadInput, meant
from diagnose.model.installation import Installation
from diagnose.model.worked_case import WorkedCase
from diagnose.store.installations import installation_from_mapping
from diagnose.store.readings import ReadingsFile, readings_from_document
from diagnose.store.rule_folders import RuleFolders
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["LoadedCase", "load_worked_case", "worked_case"]


class LoadedCase(NamedTuple):
    """A worked case with its installation and its readings; `id` is the name of its file."""

    id: str
    case: WorkedCase
    installation: Installation
    readings: ReadingsFile


def load_worked_case(path: Path) -> LoadedCase:
    """Return the worked case of a file.

    Raises: BadInput with every defect and its place; a fault that was found must name a part and an end that exist.
    """
    return worked_case(path.stem, read_yaml(path))


def worked_case(
    stem: str, document: Document, rules: RuleFolders | None = None, faults: Collection[str] | None = None
) -> LoadedCase:
    """Return the worked case that stands in a document.

    Parameters: `stem`, its name; `document`; `rules`, whose layouts may be named, those that ship unless given;
    `faults`, the ids that are known, any unless given.
    Raises: BadInput as `load_worked_case` does.
    """
    case = validated(WorkedCase, document)
    installation = installation_from_mapping(case.installation, document, ("installation",), rules)
    readings = readings_from_document(document, installation)
    problems = []
    for number, fault in enumerate(case.expected):
        if faults is not None and fault.fault not in faults:
            right = meant(fault.fault, faults, f"write one of {', '.join(sorted(faults))}")
            problems.append(document.problem(("expected", number, "fault"), f"no fault `{fault.fault}`", right))
        part = installation.parts.get(fault.part)
        if part is None:
            right = f"write one of {', '.join(sorted(installation.parts))}"
            problems.append(document.problem(("expected", number, "part"), f"no part `{fault.part}`", right))
        elif fault.at is not None and fault.at not in getattr(part, "ends", ()):
            right = "write an end of the part, or null"
            problems.append(document.problem(("expected", number, "at"), f"no end `{fault.at}`", right))
    if problems:
        raise BadInput(problems)
    return LoadedCase(stem, case, installation, readings)
