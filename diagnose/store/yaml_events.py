"""Builds plain data and the place of every key and value from the events of a YAML text.

Narrower than YAML on purpose: one document, no anchors, aliases, tags or merge keys, no key twice, and only `true`,
`false`, `null`, decimal integers and floats are more than text. Must not open files.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any

import yaml

from diagnose.basics.errors import Problem

__all__ = ["DEEPEST", "Builder", "Loc", "Place"]

Loc = tuple[str | int, ...]
Place = tuple[int, int]
DEEPEST = 20  # levels of nesting; the forms need eight
_INTEGER = re.compile(r"[-+]?(?:0|[1-9][0-9]{0,14})")
_FLOAT = re.compile(r"[-+]?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{0,20})?(?:[eE][-+]?[0-9]{1,3})?")
_WORDS: dict[str, bool | None] = {"true": True, "false": False, "null": None, "~": None, "": None}
# Controls, and the marks that turn the direction of writing: neither belongs into a name or a title.
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ud800-\udfff]")


@dataclass
class _Open:
    """A collection that is being filled."""

    loc: Loc
    data: dict[str, Any] | list[Any]
    key: str | None = None
    repeated: bool = False  # the value that follows belongs to a refused key


@dataclass
class Builder:
    """Takes the events of one YAML text; afterwards holds the data, the places (from 1) and the problems."""

    name: str
    data: Any = None
    values: dict[Loc, Place] = field(default_factory=dict)
    keys: dict[Loc, Place] = field(default_factory=dict)
    raw: dict[Loc, str] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    documents: int = 0
    _stack: list[_Open] = field(default_factory=list)
    _ignored: int = 0  # depth inside a collection that was refused

    def take(self, event: Any) -> bool:
        """Take one event; return False where nothing after it can be used."""
        if isinstance(event, yaml.DocumentStartEvent):
            return self._document(event)
        if isinstance(event, yaml.CollectionEndEvent):
            self._close()
        elif isinstance(event, yaml.NodeEvent):
            return self._node(event)
        return True

    def _document(self, event: yaml.DocumentStartEvent) -> bool:
        self.documents += 1
        if self.documents > 1:
            self._refuse(event, "a second document begins here", "keep one document a file")
            return False
        if event.tags:
            self._refuse(event, "a tag is declared here", "write plain keys and values")
        return True

    def _node(self, event: yaml.NodeEvent) -> bool:
        starts = isinstance(event, yaml.CollectionStartEvent)
        if starts and len(self._stack) + self._ignored >= DEEPEST:
            self._refuse(event, f"nested more than {DEEPEST} deep", "the forms need far less, look for a stray bracket")
            return False
        if self._ignored:
            self._ignored += starts
            return True
        self._refuse_extras(event)
        top = self._stack[-1] if self._stack else None
        if top is not None and isinstance(top.data, dict) and top.key is None:
            self._key(event, top)
        else:
            self._value(event, top)
        return True

    def _refuse_extras(self, event: Any) -> None:
        if isinstance(event, yaml.AliasEvent):
            self._refuse(event, f"an alias `*{event.anchor}`", "write the value out")
            return
        if event.anchor is not None:
            self._refuse(event, f"an anchor `&{event.anchor}`", "write the value without it")
        if event.tag is not None:
            self._refuse(event, f"a tag `{event.tag}`", "write the value without it")

    def _key(self, event: Any, top: _Open) -> None:
        assert isinstance(top.data, dict)
        if not isinstance(event, yaml.ScalarEvent):
            self._refuse(event, "a key that is no word", "write a word followed by a colon")
            self._ignored += isinstance(event, yaml.CollectionStartEvent)
            top.key, top.repeated = "", True
            return
        key = str(event.value)
        top.key, top.repeated = key, False
        if key == "<<" or not key.strip():
            what = "a merge key `<<`" if key else "a key that is empty"
            self._refuse(event, what, "write the keys out")
            top.repeated = True
        elif key in top.data:
            line = self.keys[(*top.loc, key)][0]
            self._refuse(event, f"`{key}` is written twice", f"keep one, the first is in line {line}")
            top.repeated = True
        else:
            self._check_text(event, key)
            self.keys[(*top.loc, key)] = _place(event)

    def _value(self, event: Any, top: _Open | None) -> None:
        if top is not None and top.repeated:
            top.key, top.repeated = None, False
            self._ignored += isinstance(event, yaml.CollectionStartEvent)
            return
        loc: Loc = () if top is None else (*top.loc, len(top.data) if top.key is None else top.key)
        self.values[loc] = _place(event)
        value: Any = None
        if isinstance(event, yaml.MappingStartEvent):
            value = {}
        elif isinstance(event, yaml.SequenceStartEvent):
            value = []
        elif isinstance(event, yaml.ScalarEvent):
            value = _scalar(event)
            self.raw[loc] = str(event.value)
            self._check_text(event, str(event.value))
        self._put(top, value)
        if isinstance(value, dict | list):
            self._stack.append(_Open(loc, value))

    def _put(self, top: _Open | None, value: Any) -> None:
        if top is None:
            self.data = value
        elif isinstance(top.data, list):
            top.data.append(value)
        else:
            top.data[str(top.key)] = value
            top.key = None

    def _close(self) -> None:
        if self._ignored:
            self._ignored -= 1
        else:
            self._stack.pop()

    def _check_text(self, event: Any, text: str) -> None:
        found = _CONTROL.search(text)
        if found is not None:
            self._refuse(event, f"a control character {found.group()!a}", "write plain text")

    def _refuse(self, event: Any, what: str, right: str) -> None:
        self.problems.append(Problem(self.name, *_place(event), what, right))


def _place(event: Any) -> Place:
    mark = event.start_mark
    return (mark.line + 1, mark.column + 1)


def _scalar(event: yaml.ScalarEvent) -> bool | int | float | str | None:
    """Return the value of a scalar; only a plain one can be more than text."""
    text = str(event.value)
    if not event.implicit[0]:
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.fullmatch(text):
        return int(text)
    if _FLOAT.fullmatch(text) and math.isfinite(float(text)):
        return float(text)
    return text
