"""Reads a YAML file from anywhere and keeps where everything stands in it.

A `Document` is plain data with places and with the problems found on the way; it must not know any form. Hostile input
(huge, deep, not text, aliases, control characters) ends as a `Problem`, never as a crash.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from diagnose.basics.errors import BadInput, Problem
from diagnose.store.yaml_events import DEEPEST, Builder, Loc, Place

__all__ = ["LARGEST", "Document", "Loc", "read_yaml", "yaml_document"]

LARGEST = 1_048_576  # bytes
# What may not stand raw in a file: controls except tab and line ends, and line ends that editors do not count.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff]")


@dataclass(frozen=True)
class Document:
    """The data of one file, with the place [line, column, from 1] of every value and key.

    `problems` are defects that did not keep the rest from being read: whoever uses `data` must report them too.
    """

    name: str
    data: Any
    values: dict[Loc, Place] = field(default_factory=dict, repr=False)
    keys: dict[Loc, Place] = field(default_factory=dict, repr=False)
    raw: dict[Loc, str] = field(default_factory=dict, repr=False)
    problems: tuple[Problem, ...] = ()

    def resolve(self, loc: Loc) -> Loc:
        """Return the deepest path of this document along `loc`; steps that are not in it are passed over."""
        path: Loc = ()
        for step in loc:
            if (*path, step) in self.values:
                path = (*path, step)
        return path

    def place(self, loc: Loc) -> Place:
        """Return the place of the value at `loc`, or of the deepest value around it."""
        return self.values.get(self.resolve(loc), (1, 1))

    def key_place(self, loc: Loc) -> Place:
        """Return the place of the key that owns the value at `loc`, or of the value where it has no key."""
        path = self.resolve(loc)
        return self.keys.get(path) or self.values.get(path, (1, 1))

    def problem(self, loc: Loc, what: str, right: str, *, key: bool = False) -> Problem:
        """Return a problem placed at the value, or at the key, of `loc`."""
        line, column = self.key_place(loc) if key else self.place(loc)
        return Problem(self.name, line, column, what, right)


def read_yaml(path: Path | str, name: str | None = None) -> Document:
    """Read a YAML file.

    Parameters: `path`; `name`, what messages call the file (the path as given, unless said otherwise).
    Raises: BadInput where the file cannot be read, is over 1 MiB, no UTF-8, no YAML, or empty.
    """
    shown = name if name is not None else str(path)
    try:
        with Path(path).open("rb") as stream:
            content = stream.read(LARGEST + 1)
    except FileNotFoundError:
        raise _whole(shown, "there is no such file", "give the path of a file that exists") from None
    except IsADirectoryError:
        raise _whole(shown, "this is a folder", "give the path of a file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it cannot be opened"
        raise _whole(shown, f"cannot be read ({reason})", "give a file that can be read") from None
    return yaml_document(content, shown)


def yaml_document(content: bytes | str, name: str) -> Document:
    """Read a YAML text.

    Parameters: `content`, the text or its bytes; `name`, what messages call it.
    Raises: BadInput as `read_yaml` does.

    >>> document = yaml_document("charger: {read: off, at: 12:30, size: 010, rating: 30.5}", "a.yaml")
    >>> document.data["charger"]
    {'read': 'off', 'at': '12:30', 'size': '010', 'rating': 30.5}
    >>> document.place(("charger", "rating"))
    (1, 52)
    """
    text = _decoded(content, name)
    builder = Builder(name)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            if not builder.take(event):
                raise BadInput(builder.problems)
    except yaml.YAMLError as error:
        raise BadInput([*builder.problems, _syntax(error, name)]) from None
    if builder.data is None and not builder.problems:
        raise _whole(name, "the file is empty", "write at least one key")
    return Document(name, builder.data, builder.values, builder.keys, builder.raw, tuple(builder.problems))


_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def _decoded(content: bytes | str, name: str) -> str:
    """Return the text, or refuse what is too large, no UTF-8, or holds control characters."""
    raw = content.encode("utf-8", "surrogatepass") if isinstance(content, str) else content
    if len(raw) > LARGEST:
        raise _whole(name, "the file is over 1 MiB", "an installation or a set of readings takes a few kilobytes")
    try:
        text = raw.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        line, column = _line_of(raw[: error.start].decode("utf-8", "replace"))
        right = "save the file as UTF-8 text"
        raise BadInput([Problem(name, line, column, "bytes that are no UTF-8 text", right)]) from None
    controls = [
        Problem(name, *_line_of(text[: found.start()]), f"a control character {found.group()!a}", "take it out")
        for found, _ in zip(_CONTROL.finditer(text), range(20), strict=False)
    ]
    if controls:
        raise BadInput(controls)
    return text


def _line_of(before: str) -> Place:
    lines = re.split(r"\r\n|\r|\n", before)
    return (len(lines), len(lines[-1]) + 1)


def _syntax(error: yaml.YAMLError, name: str) -> Problem:
    """Return the problem of a text that is no YAML."""
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    said = str(getattr(error, "problem", None) or "this is no YAML")
    right = "check the brackets, quotes, colons and the indentation here and just before"
    if "cannot start any token" in said:
        right = "indent with spaces instead of tabs, and put text that begins with a special character in quotes"
    line, column = (mark.line + 1, mark.column + 1) if mark is not None else (1, 1)
    if "nesting" in said:
        return Problem(name, line, column, f"nested more than {DEEPEST} deep", "look for a stray bracket")
    return Problem(name, line, column, f"cannot be read as YAML: {said}", right)


def _whole(name: str, what: str, right: str) -> BadInput:
    return BadInput([Problem(name, None, None, what, right)])
