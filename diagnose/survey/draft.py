"""An installation while it is put together: the layout's parts with what has been written over them so far.

It lives only inside one call of `describe`; it must not know any question.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from diagnose.model.survey import Patch
from diagnose.model.surveyed import Value
from diagnose.survey.layout import Parts, key_of, pruned

__all__ = ["Draft"]


class Draft:
    """The parts of a layout (`parts`, as they are now) and what was written over them, with where it comes from."""

    def __init__(self, layout: Parts) -> None:
        self.layout = layout
        self.parts: dict[str, dict[str, Any]] = copy.deepcopy({name: dict(part) for name, part in layout.items()})
        self.over: dict[str, dict[str, Value]] = {}
        self.points: dict[str, dict[str, str]] = {}
        self.removed: dict[str, str] = {}

    def put(self, key: str, value: Any, origin: str) -> None:
        """Write a value at `PART.KEY`; None takes away what the layout has there."""
        part, _, name = key.partition(".")
        if value is None:
            if name not in self.parts.get(part, {}):
                return
            del self.parts[part][name]
        else:
            self.parts.setdefault(part, {})[name] = value
        self.over.setdefault(part, {})[name] = Value(value, origin)

    def replace(self, part: str, keys: Mapping[str, Any], origin: str) -> None:
        """Put a part of another kind, or a new one, in the place of what stands there."""
        self.parts[part] = dict(keys)
        self.over[part] = {name: Value(value, origin) for name, value in keys.items()}

    def remove(self, part: str, origin: str) -> None:
        """Take a part away."""
        if self.parts.pop(part, None) is None:
            return
        self.over.pop(part, None)
        if part in self.layout:
            self.removed[part] = origin

    def prune(self, origin: str) -> None:
        """Take away the cables, fuses and the like that lead nowhere any more."""
        for part in sorted(pruned(self.parts, self.layout)):
            self.remove(part, origin)

    def apply(self, patch: Patch, origin: str) -> None:
        """Apply what an answer changes beyond its own keys."""
        self.points |= {name: dict(point) for name, point in patch.points.items()}
        for part, keys in patch.parts.items():
            if keys is None:
                self.remove(part, origin)
                continue
            filled = {name: self._filled(value) for name, value in keys.items()}
            if "kind" in filled and filled["kind"] != self.parts.get(part, {}).get("kind"):
                self.replace(part, filled, origin)
                continue
            for name, value in filled.items():
                self.put(f"{part}.{name}", value, origin)

    def _filled(self, value: Any) -> Any:
        """Return a value of a patch, with `=PART.KEY` looked up."""
        if isinstance(value, str) and value.startswith("="):
            return copy.copy(key_of(self.parts, value[1:]))
        return value
