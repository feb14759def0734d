"""Reads what may be unknown of an installation, `rules/scripts/unknowns.yaml`; must not change any installation."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import get_args

from diagnose.basics.errors import Problem, did_you_mean
from diagnose.model.figures import NO_SOURCE
from diagnose.model.parts import Part
from diagnose.model.unknowns import Change, Unknown, Unknowns
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_checks import MOST_OWNER_WORDS
from diagnose.store.rule_folders import SOURCES
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, Loc, read_yaml

__all__ = ["load_unknowns"]

#: kind of part -> its keys
KEYS = {
    kind: tuple(form.model_fields)
    for form in get_args(get_args(Part)[0])
    for kind in get_args(form.model_fields["kind"].annotation)
}
Found = Iterator[tuple[Loc, str, str]]


def load_unknowns(folder: Path | None = None) -> dict[str, Unknown]:
    """Return what may be unknown, by id.

    Parameters: `folder`, the rule base; the one that is found, unless said otherwise.
    Raises: BadInput with every problem of the file.

    >>> load_unknowns()["panel"].kind
    'charger'
    """
    base = folder if folder is not None else rules_folder()
    document = read_yaml(base / "scripts" / "unknowns.yaml", "rules/scripts/unknowns.yaml")
    sources = read_yaml(base / SOURCES, f"rules/{SOURCES}").data if (base / SOURCES).is_file() else {}

    def links(record: Unknowns, where: Document) -> list[Problem]:
        found = [(name, each) for name, one in record.unknowns.items() for each in _wrong(one, sources)]
        return [where.problem(("unknowns", name, *loc), what, right) for name, (loc, what, right) in found]

    return validated(Unknowns, document, links).unknowns


def _wrong(one: Unknown, sources: object) -> Found:
    """Yield what is wrong in one question beyond its form."""
    said = one.say.split()
    if len(said) > MOST_OWNER_WORDS or "and" in one.say.lower().split():
        yield ("say",), "an owner's card of too many words, or with `and`", f"ask one thing in {MOST_OWNER_WORDS} words"
    if (one.source == NO_SOURCE) != (one.confidence == "judgement"):
        yield ("source",), "`source` and `confidence` disagree", f"judgement goes with `{NO_SOURCE}`"
    if one.source != NO_SOURCE and (not isinstance(sources, dict) or one.source not in sources):
        yield ("source",), f"no source `{one.source}`", "list it in rules/sources.yaml"
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
    if kind not in KEYS:
        close = did_you_mean(kind, KEYS)
        right = f"did you mean {close}?" if close else f"write one of {', '.join(KEYS)}"
        yield (*loc, "kind"), f"no kind `{kind}`", right
        return
    for key in keys:
        if key not in KEYS[kind] or key == "kind":
            close = did_you_mean(key, KEYS[kind])
            right = f"did you mean {close}?" if close else f"known here are {', '.join(KEYS[kind])}"
            yield loc, f"a {kind} has no key `{key}`", right
