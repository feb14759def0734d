"""Puts a file's own keys over those of the layout it starts from, and remembers who wrote what.

Works on plain data; must not validate it.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from diagnose.basics.errors import Problem, meant
from diagnose.store.yaml_text import Document, Loc

__all__ = ["Layered", "merge"]

_SECTIONS = ("zones", "points", "parts")


class Layered(NamedTuple):
    """A document, the path in it where the installation begins, and the layout below it, if any."""

    own: Document
    start: Loc
    base: Document | None = None

    def problem(self, loc: Loc, what: str, right: str, *, key: bool = False) -> Problem:
        """Return a problem at `loc`, in the file that wrote it: its own where it did, else the layout's."""
        if self.base is not None and self._depth_own(loc) < len(self.base.resolve(loc)):
            return self.base.problem(loc, what, right, key=key)
        return self.own.problem((*self.start, *loc), what, right, key=key)

    def _depth_own(self, loc: Loc) -> int:
        return len(self.own.resolve((*self.start, *loc))) - len(self.start)


def merge(own: dict[str, Any], base: dict[str, Any], layers: Layered) -> tuple[dict[str, Any], list[Problem]]:
    """Return the data of `base` with `own` put over it, and the problems met.

    Title, ambient and the like are replaced; zones, points and parts are merged by name and then key by key. A part of
    another kind is replaced whole; a part or a key set to null is removed.
    """
    problems: list[Problem] = []
    merged = _over({key: value for key, value in own.items() if key not in _SECTIONS}, base)
    for section in _SECTIONS:
        written, below = own.get(section), base.get(section)
        if not isinstance(written, dict):
            merged[section] = below if written is None else written
            continue
        result = dict(below) if isinstance(below, dict) else {}
        for name, value in written.items():
            if section == "parts" and value is None and name not in result and (base or not own.get("layout")):
                problems.append(_nothing_to_remove(name, result, layers))
            _put(result, name, value, section)
        merged[section] = result
    return {key: value for key, value in merged.items() if value is not None or key not in _SECTIONS}, problems


def _over(own: dict[str, Any], below: dict[str, Any]) -> dict[str, Any]:
    """Return `below` with the keys of `own` over it; null takes a key away that is there."""
    return {key: value for key, value in {**below, **own}.items() if value is not None or key not in below}


def _put(result: dict[str, Any], name: str, value: Any, section: str) -> None:
    """Put one zone, point or part over what stands there already."""
    below = result.get(name)
    if value is None and section == "parts":
        result.pop(name, None)
    elif value is None:
        result.setdefault(name, {})  # `tray:` with nothing behind it declares a zone or a point
    elif isinstance(value, dict):
        same = isinstance(below, dict) and value.get("kind", below.get("kind")) == below.get("kind")
        result[name] = _over(value, below) if same and isinstance(below, dict) else value
    else:
        result[name] = value


def _nothing_to_remove(name: str, known: dict[str, Any], layers: Layered) -> Problem:
    right = meant(name, known, "take the line out, or describe the part")
    return layers.problem(("parts", name), f"there is no part `{name}` to remove", right, key=True)
