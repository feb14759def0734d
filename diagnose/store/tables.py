"""Reads the figures of the rule base: `rules/tables/*.yaml` and `rules/sources.yaml`.

Gathers the problems of all files, each with its place, before it gives up. It must not judge whether a figure is right.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import RootModel

from diagnose.basics.errors import BadInput, Problem, meant
from diagnose.model.fields import Identifier
from diagnose.model.figures import NO_SOURCE, Figure, Source, Tables
from diagnose.store.rule_folders import RuleFolders, as_folders
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document

__all__ = ["load_sources", "load_tables"]


class _TableFile(RootModel[dict[Identifier, Figure]]):
    """One file of `rules/tables`."""


class _SourcesFile(RootModel[dict[Identifier, Source]]):
    """The file `rules/sources.yaml`."""


def load_sources(folder: Path | RuleFolders) -> dict[str, Source]:
    """Return the sources of a rule base by id.

    Parameters: `folder`, the rule base (the folder that holds `sources.yaml`).
    Raises: BadInput with every problem of the file.
    """
    return validated(_SourcesFile, as_folders(folder).read("sources.yaml")).root


def load_tables(folder: Path | RuleFolders) -> Tables:
    """Return all figures of a rule base.

    Parameters: `folder`, the rule base (the folder that holds `tables` and `sources.yaml`), perhaps with a
    company's own over it.
    Raises: BadInput with every problem of every file, a source that is not listed among them.
    """
    base = as_folders(folder)
    problems: list[Problem] = []
    figures: dict[str, dict[str, Figure]] = {}
    sources: dict[str, Source] = {}
    try:
        sources = load_sources(base)
    except BadInput as error:
        problems += error.problems
    stems = base.stems("tables")
    if not stems:
        problems.append(Problem("rules/tables", None, None, "there are no tables here", "give a whole rule base"))
    for stem in stems:
        try:
            document = base.read(f"tables/{stem}.yaml")
            if sources:
                problems += _unlisted(document, sources)
            figures[stem] = validated(_TableFile, document).root
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    return Tables(figures=figures, sources=sources)


def _unlisted(document: Document, sources: dict[str, Source]) -> list[Problem]:
    """Return a problem for each figure whose source is not listed."""
    found = []
    entries: Any = document.data if isinstance(document.data, dict) else {}
    for name, entry in entries.items():
        source = entry.get("source") if isinstance(entry, dict) else None
        if isinstance(source, str) and source != NO_SOURCE and source not in sources:
            right = meant(source, sources, f"list it in rules/sources.yaml, or write `{NO_SOURCE}`")
            found.append(document.problem((name, "source"), f"unknown source `{source}`", right))
    return found
