"""Reads the words of phone scripts, `rules/scripts/cards.yaml`; must not make a script of them."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path
from string import Formatter

from diagnose.basics.errors import Problem
from diagnose.model.reading import QUANTITIES
from diagnose.model.script_words import ScriptWords
from diagnose.model.states import OPERATING_STATES
from diagnose.model.words import WORDS
from diagnose.store.data_folder import rules_folder
from diagnose.store.rule_marks import PART_KEYS, Found, known_words
from diagnose.store.validation import validated
from diagnose.store.yaml_text import Document, Loc, read_yaml

__all__ = ["load_script_words"]


#: what is filled into the texts of a section
FILLED = {"cards": ("before", "thing"), "danger": ("thing",), "things": ("size", "name"), "owner_can": ("thing",),
          "bring": ("sizes",)}  # fmt: skip


def load_script_words(folder: Path | None = None) -> ScriptWords:
    """Return the words of scripts.

    Parameters: `folder`, the rule base; the one that is found, unless said otherwise.
    Raises: BadInput with every problem of the file.

    >>> load_script_words().things["charger"]
    'the charging box'
    """
    base = folder if folder is not None else rules_folder()
    faults = sorted(path.stem for path in (base / "faults").glob("*.yaml"))

    def links(words: ScriptWords, where: Document) -> list[Problem]:
        return [where.problem(loc, what, right) for loc, what, right in _wrong(words, faults)]

    return validated(ScriptWords, read_yaml(base / "scripts" / "cards.yaml", "rules/scripts/cards.yaml"), links)


def _wrong(words: ScriptWords, faults: Collection[str]) -> Found:
    """Yield each name that is none: of a state, a kind of part, a fault, a word that a test can be answered with."""
    for key in ("states", "after_danger", "engine", "lamp_states"):
        yield from known_words(("caller", key), getattr(words.caller, key), OPERATING_STATES, "state")
    for key in ("probes_at", "clamps_at", "looks_at"):
        yield from known_words(("caller", key), getattr(words.caller, key), PART_KEYS, "kind of part")
    for section, known, what in (
        ("before", OPERATING_STATES, "state"), ("prepare", OPERATING_STATES, "state"), ("danger", QUANTITIES, "test"),
        ("signs", WORDS, "test that is answered in words"), ("stops", WORDS, "test that is answered in words"),
        ("usual", PART_KEYS, "kind of part"), ("owner_can", faults, "fault"),
        ("owner_not_with", words.owner_can, "fault that an owner puts right"),
    ):  # fmt: skip
        for name in getattr(words, section):
            yield from known_words((section, name), (name,), known, what)
    for key in ("signs", "stops"):
        named = getattr(words, key)
        for quantity in sorted(set(named) & set(WORDS)):
            yield from known_words((key, quantity), named[quantity], WORDS[quantity], f"word of a {quantity}")
    stops = {word for own in words.stops.values() for word in own}
    for kind, usual in words.usual.items():
        yield from known_words(("usual", kind), usual, stops, "word of stops")
    for name, others in words.owner_not_with.items():
        yield from known_words(("owner_not_with", name), others, faults, "fault")
    for section, filled in FILLED.items():
        for name, text in getattr(words, section).items():
            yield from _blanks((section, name), getattr(text, "say", text), filled)


def _blanks(loc: Loc, text: str, filled: Collection[str]) -> Found:
    """Yield what stands between braces in a text and is not filled in there."""
    try:
        blanks = [name for _, name, _, _ in Formatter().parse(text) if name is not None]
    except ValueError as error:
        yield loc, f"the braces are wrong: {error}", "write each blank as {name}"
        return
    yield from known_words(loc, blanks, filled, "blank")
