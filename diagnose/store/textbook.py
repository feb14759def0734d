"""Reads the fixed order of tests, `rules/textbook_order.yaml`; must not walk through it."""

from __future__ import annotations

from pathlib import Path

from diagnose.basics.errors import Problem, meant
from diagnose.model.textbook import TextbookOrder
from diagnose.store.data_folder import rules_folder
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, read_yaml

__all__ = ["load_textbook"]


def load_textbook(folder: Path | None = None) -> TextbookOrder:
    """Return the fixed order of tests.

    Parameters: `folder`, the rule base; the one that is found, unless said otherwise.
    Raises: BadInput with every problem of the file, a step that is sent to and is not there among them.

    >>> len(load_textbook().steps) > 20
    True
    """
    base = folder if folder is not None else rules_folder()
    document = read_yaml(base / "textbook_order.yaml", "rules/textbook_order.yaml")
    return validated(TextbookOrder, document, _links)


def _links(order: TextbookOrder, document: Document) -> list[Problem]:
    """Return a problem for each step named twice, and for each that is sent to and is not there."""
    known: dict[str, None] = {}
    found: list[Problem] = []
    for number, step in enumerate(order.steps):
        if step.id in known:
            right = "give each an id of its own"
            found.append(document.problem(("steps", number, "id"), f"two steps `{step.id}`", right))
        known[step.id] = None
    for number, step in enumerate(order.steps):
        for place, name in enumerate(step.then):
            if name not in known:
                right = meant(name, known, "name a step of this file")
                found.append(document.problem(("steps", number, "then", place), f"no step `{name}`", right))
    return found
