"""Reads what may be unknown of an installation, `rules/scripts/unknowns.yaml`; must not change any installation."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from diagnose.basics.errors import Problem
from diagnose.model.unknowns import Change, Unknown, Unknowns
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_folders import SOURCES
from diagnose.store.rule_marks import PART_KEYS, Found, cited, known_words, owner_line
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, Loc, read_yaml

__all__ = ["load_unknowns"]


def load_unknowns(folder: Path | None = None) -> dict[str, Unknown]:
    """Return what may be unknown, by id.

    Parameters: `folder`, the rule base; the one that is found, unless said otherwise.
    Raises: BadInput with every problem of the file.

    >>> load_unknowns()["panel"].kind
    'charger'
    """
    base = folder if folder is not None else rules_folder()
    document = read_yaml(base / "scripts" / "unknowns.yaml", "rules/scripts/unknowns.yaml")
    listed = read_yaml(base / SOURCES, f"rules/{SOURCES}").data if (base / SOURCES).is_file() else None
    sources = listed if isinstance(listed, dict) else {}

    def links(record: Unknowns, where: Document) -> list[Problem]:
        found = [(name, each) for name, one in record.unknowns.items() for each in _wrong(one, sources)]
        return [where.problem(("unknowns", name, *loc), what, right) for name, (loc, what, right) in found]

    return validated(Unknowns, document, links).unknowns


def _wrong(one: Unknown, sources: Collection[str]) -> Found:
    """Yield what is wrong in one question beyond its form."""
    yield from owner_line(("say",), one.say)
    yield from cited(one.model_dump(include={"source", "confidence"}), (), sources)
    total = sum(answer.share for answer in one.answers.values())
    if abs(total - 1.0) > 1e-6:
        yield ("answers",), f"the shares come to {total:g}", "let them sum to 1"
    for word in {"skipped", "unsteady"} & set(one.answers):
        yield ("answers", word), f"`{word}` is no answer here", "give it a word of its own"
    yield from _named((), one.kind, one.has)
    for word, answer in one.answers.items():
        for number, change in enumerate(answer.changes):
            yield from _change(("answers", word, "changes", number), change)


def _change(loc: Loc, change: Change) -> Found:
    yield from _named(loc, change.kind, (*change.has, *change.holds, *change.keys))
    if change.gone == bool(change.keys):
        yield loc, "this change changes nothing, or too much", "write either keys: or gone: true"


def _named(loc: Loc, kind: str, keys: tuple[str, ...]) -> Found:
    """Yield a kind of part that is none, and each key that such a part does not have."""
    yield from known_words((*loc, "kind"), (kind,), PART_KEYS, "kind")
    yield from known_words(loc, keys, PART_KEYS.get(kind, keys), f"key of a{'n' if kind[:1] in 'aeiou' else ''} {kind}")
