"""Ways to break a valid text: by tokens, by lines, by bytes, and by values where it is YAML.

Every way is a pure function of a text and whole numbers, so that a case that fails can be shrunk and told.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import yaml

__all__ = ["NASTY", "VALUES", "WAYS", "Edit", "broken", "misplaced"]

#: how to break, where, what with, and where else
Edit = tuple[str, int, int, int]

_PIECES: dict[str, list[Any]] = json.loads(Path(__file__).with_name("pieces.json").read_text(encoding="utf-8"))
#: pieces that have broken programs before
NASTY: tuple[str, ...] = tuple(_PIECES["texts"])
#: values to put in place of others
VALUES: tuple[Any, ...] = tuple(_PIECES["values"])
WAYS = (
    "delete",
    "insert",
    "replace",
    "swap",
    "copy",
    "cut",
    "line",
    "twice",
    "byte",
    "value",
    "exchange",
    "drop",
    "rename",
)
_TOKEN = re.compile(r"\w+|\s+|[^\w\s]")


def broken(text: str, edits: list[Edit]) -> bytes:
    """Return a text after some edits, as the bytes of a file.

    >>> broken("a: 1", [("delete", 1, 0, 0)])
    b'a 1'
    """
    found: str | bytes = text
    for edit in edits:
        if isinstance(found, bytes):
            break
        found = _edited(found, edit)
    return found if isinstance(found, bytes) else found.encode("utf-8", "surrogatepass")


def _edited(text: str, edit: Edit) -> str | bytes:
    way, at, what, other = edit
    if way in ("value", "exchange", "drop", "rename"):
        return misplaced(text, edit)
    if way == "byte":
        raw = text.encode("utf-8", "surrogatepass")
        place = at % (len(raw) + 1)
        return raw[:place] + bytes([what % 256]) + raw[place + other % 2 :]
    if way == "cut":
        return text[: at % (len(text) + 1)]
    if way in ("line", "twice"):
        lines = text.splitlines(keepends=True) or [""]
        place = at % len(lines)
        return "".join(lines[:place] + (lines[place:][:1] * 2 if way == "twice" else []) + lines[place + 1 :])
    tokens = _TOKEN.findall(text) or [""]
    place, second, piece = at % len(tokens), other % len(tokens), NASTY[what % len(NASTY)]
    if way == "swap":
        tokens[place], tokens[second] = tokens[second], tokens[place]
    else:
        tokens[place] = {
            "delete": "",
            "insert": tokens[place] + piece,
            "replace": piece,
            "copy": tokens[second],
        }[way]
    return "".join(tokens)


def misplaced(text: str, edit: Edit) -> str:
    """Return a YAML text with a value of another kind, two values exchanged, one left out, or a key renamed."""
    way, at, what, other = edit
    try:
        data = yaml.load(text, Loader=getattr(yaml, "CBaseLoader", yaml.BaseLoader))
    except (yaml.YAMLError, ValueError, RecursionError):
        return text
    places = list(_places(data))
    if not places:
        return text
    (owner, key), (second, another) = places[at % len(places)], places[other % len(places)]
    if way == "value":
        owner[key] = VALUES[what % len(VALUES)]
    elif way == "exchange":
        owner[key], second[another] = second[another], owner[key]
    elif way == "drop":
        del owner[key]
    elif isinstance(owner, dict):
        owner[NASTY[what % len(NASTY)]] = owner.pop(key)
    try:
        return yaml.safe_dump(data, allow_unicode=True, default_flow_style=None, width=200)
    except (yaml.YAMLError, RecursionError, UnicodeEncodeError):
        return text


def _places(data: Any, depth: int = 0) -> Any:
    """Yield each value of some data as its owner and its key there."""
    for key in list(data) if isinstance(data, dict) else range(len(data)) if isinstance(data, list) else ():
        yield data, key
        if depth < 12:
            yield from _places(data[key], depth + 1)
