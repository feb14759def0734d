"""Puts one file of a company's own rules over the file of the same name that ships, key by key, and remembers who wrote
what.

Works on documents that have been read; it must not open files and must not know any form of rule.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from diagnose.basics.errors import Problem
from diagnose.store.yaml_text import Document, Loc

__all__ = ["Overlaid", "changed_keys", "overlaid"]

#: numbers of a rule that need no source: counts, not figures
COUNTS = ("hands", "evidence_fades_days")
#: keys that back a number and cannot be inherited with another number in their place
BACKING = ("source", "confidence", "checked")


@dataclass(frozen=True)
class Overlaid(Document):
    """A document of two files, named as the upper one; `inherited` are the paths that stand in the lower, `below`."""

    below: str = ""
    inherited: frozenset[Loc] = field(default=frozenset(), repr=False)

    def problem(self, loc: Loc, what: str, right: str, *, key: bool = False) -> Problem:
        """Return a problem at `loc`, in the file that wrote what stands there."""
        placed = super().problem(loc, what, right, key=key)
        return placed._replace(file=self.below) if self.resolve(loc) in self.inherited else placed


class _Merged(NamedTuple):
    """What merging finds: paths written whole by the upper file or taken away by it, and what is wrong."""

    own: set[Loc]
    problems: list[Problem]


def overlaid(own: Document, below: Document) -> Overlaid:
    """Return the document `below` with the keys of `own` over it.

    Mappings are merged key by key, lists and everything else are replaced whole; a key set to null is taken away, and a
    mapping of another `kind` is replaced whole. A number that is changed needs what backs it beside it, since what
    stands below speaks of the number below; no caution and no sign of danger may be taken away. What breaks this is
    among the `problems` of the document.
    """
    found = _Merged(set(), list(own.problems))
    data = _merge(own, own.data, below.data, (), found)
    inherited = {loc for loc in below.values if not _within(loc, found.own) and loc not in own.values}
    return Overlaid(
        name=own.name,
        data=data,
        values=_of(below.values, inherited) | own.values,
        keys=_of(below.keys, inherited) | own.keys,
        raw=_of(below.raw, inherited) | own.raw,
        problems=tuple(found.problems) + below.problems,
        below=below.name,
        inherited=frozenset(inherited),
    )


def changed_keys(own: Any, below: Any) -> tuple[str, ...]:
    """Return the keys at the top of an upper file whose values are not those of the lower one.

    >>> changed_keys({"id": "blown", "says": "gone"}, {"id": "blown", "says": "open", "name": "blown fuse"})
    ('says',)
    """
    if not isinstance(own, dict) or not isinstance(below, dict):
        return ()
    return tuple(str(key) for key, value in own.items() if key not in below or below[key] != value)


def _merge(document: Document, own: Any, below: Any, loc: Loc, found: _Merged) -> Any:
    if not isinstance(own, dict) or not isinstance(below, dict) or _another_kind(own, below):
        found.own.add(loc)
        return own
    result = dict(below)
    found.problems.extend((*_uncited(document, own, below, loc), *_made_unsafe(document, own, below, loc)))
    for key, value in own.items():
        here = (*loc, key)
        if value is None and key in below:
            del result[key]
            found.own.add(here)
        elif key in below:
            result[key] = _merge(document, value, below[key], here, found)
        else:
            result[key] = value
            found.own.add(here)
    return result


def _another_kind(own: dict[str, Any], below: dict[str, Any]) -> bool:
    return "kind" in own and "kind" in below and own["kind"] != below["kind"]


def _uncited(document: Document, own: dict[str, Any], below: dict[str, Any], loc: Loc) -> Iterator[Problem]:
    """Yield each number that is changed where what backs it is not told anew."""
    needed = [f"{key}:" for key in BACKING if "source" in below and key in below and key not in own]
    for key, value in own.items() if needed else ():
        if key not in COUNTS and value != below.get(key) and _has_number(value):
            what = f"`{key}` is changed, and what backs it is not told"
            yield document.problem((*loc, key), what, f"write {' and '.join(needed)} beside it", key=True)


def _made_unsafe(document: Document, own: dict[str, Any], below: dict[str, Any], loc: Loc) -> Iterator[Problem]:
    """Yield what would take a caution or a sign of danger away."""
    cautions, kept = below.get("cautions"), own.get("cautions")
    if "cautions" in own and isinstance(cautions, list):
        for caution in cautions:
            if caution not in (kept if isinstance(kept, list) else ()):
                what = f"the caution `{caution}` is left out"
                yield document.problem((*loc, "cautions"), what, "keep those of the rule that ships, and add to them")
    if below.get("danger") is True and "danger" in own and own["danger"] is not True:
        yield document.problem((*loc, "danger"), "a sign of danger stays one", "leave this line out")


def _has_number(value: Any) -> bool:
    """Return whether there is a number in a value that is not within a mapping with a source of its own."""
    if isinstance(value, dict):
        return "source" not in value and any(map(_has_number, value.values()))
    if isinstance(value, list):
        return any(map(_has_number, value))
    return isinstance(value, int | float) and not isinstance(value, bool)


def _within(loc: Loc, roots: set[Loc]) -> bool:
    return any(loc[:length] in roots for length in range(len(loc) + 1))


def _of(places: dict[Loc, Any], wanted: set[Loc]) -> dict[Loc, Any]:
    return {loc: place for loc, place in places.items() if loc in wanted}
