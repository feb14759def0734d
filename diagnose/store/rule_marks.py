"""What must hold wherever a rule file says it: a word that is known, a source that is listed, a line for an owner.

Nothing here knows which rule it looks at.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any, get_args

from diagnose.basics.errors import meant
from diagnose.model.figures import NO_SOURCE
from diagnose.model.parts import Part
from diagnose.store.yaml_text import Loc

__all__ = ["MOST_OWNER_WORDS", "PART_KEYS", "Found", "cited", "known_words", "owner_line"]

#: a place in a document, what is wrong there, what would be right
Found = Iterator[tuple[Loc, str, str]]
#: kind of part -> its keys
PART_KEYS = {
    kind: tuple(key for key in form.model_fields if key != "kind")
    for form in get_args(get_args(Part)[0])
    for kind in get_args(form.model_fields["kind"].annotation)
}
#: words on a card for an owner, at most
MOST_OWNER_WORDS = 15


def known_words(loc: Loc, words: Collection[Any], known: Collection[str], what: str) -> Found:
    """Yield each word that is not known; `loc` is that of the list, or of the word where it stands alone."""
    for word in words:
        if word not in known:
            right = meant(str(word), known, f"write one of {', '.join(sorted(known))}")
            yield loc, f"no {what} `{word}`", right


def cited(data: Any, loc: Loc, sources: Collection[str]) -> Found:
    """Yield each `source` that is not listed, and each whose confidence does not agree with there being none."""
    steps = enumerate(data) if isinstance(data, list) else data.items() if isinstance(data, dict) else ()
    for step, value in steps:
        if step != "source":
            yield from cited(value, (*loc, step), sources)
        elif value != NO_SOURCE:
            yield from known_words((*loc, "source"), (value,), sources, "source")
    if isinstance(data, dict) and (data.get("source") == NO_SOURCE) != (data.get("confidence") == "judgement"):
        yield (*loc, "source"), "`source` and `confidence` disagree", f"judgement goes with `{NO_SOURCE}`"


def owner_line(loc: Loc, line: str) -> Found:
    """Yield what is wrong in a line that an owner hears or reads: too many words, two things at once."""
    words = line.lower().split()
    if len(words) > MOST_OWNER_WORDS:
        yield loc, f"{len(words)} words for an owner", f"say it in {MOST_OWNER_WORDS} words"
    if "and" in words:
        yield loc, "two things at once for an owner", "leave `and` out: one act, or one thought, at a time"
