"""Reads the survey of the rule base, `rules/survey.yaml`; must not ask its questions."""

from __future__ import annotations

from pathlib import Path

from diagnose.basics.errors import Problem
from diagnose.model.survey import Survey
from diagnose.store.data_folder import rules_folder
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["load_survey"]


def load_survey(folder: Path | None = None) -> Survey:
    """Return the survey.

    Parameters: `folder`, the rule base; the one that is found, unless said otherwise.
    Raises: BadInput with every problem of the file, a name that leads nowhere among them.

    >>> load_survey().topics[0].id
    'place'
    """
    base = folder if folder is not None else rules_folder()
    document = read_yaml(base / "survey.yaml", "rules/survey.yaml")
    return validated(Survey, document, _links)


def _links(survey: Survey, document: Document) -> list[Problem]:
    """Return a problem for each name that leads nowhere, and for each field named twice."""
    found: list[Problem] = []
    seen: set[str] = set()
    for number, topic in enumerate(survey.topics):
        fields = {field.id for field in topic.fields}
        for place, field in enumerate(topic.fields):
            loc = ("topics", number, "fields", place)
            if field.id in seen:
                found.append(document.problem((*loc, "id"), f"two fields `{field.id}`", "give each an id of its own"))
            if field.choices is not None and field.choices not in survey.choices:
                right = f"write one of {', '.join(survey.choices)}"
                found.append(document.problem((*loc, "choices"), f"no choices `{field.choices}`", right))
            seen.add(field.id)
        for place, patch in enumerate(topic.patches):
            if patch.field not in fields:
                where = ("topics", number, "patches", place, "field")
                right = f"write one of {', '.join(sorted(fields))}"
                found.append(document.problem(where, f"no field `{patch.field}` in this question", right))
    return found
