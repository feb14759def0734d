"""What a layout says, as plain data that a survey can compare answers with and write over; must not judge it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.model.installation import Installation
from diagnose.model.survey import SurveyField

__all__ = ["Parts", "by_layout", "key_of", "plain_parts", "pruned", "targets"]

#: part -> key -> value as a file would write it
Parts = Mapping[str, Mapping[str, Any]]

_POINT_KEYS = ("pos", "neg", "ends", "coil", "input", "output", "negative", "ignition", "solar", "profile_lead")
_GOES_WITH = ("cable", "fuse", "switch", "contact", "bond", "diode")


def plain_parts(installation: Installation) -> dict[str, dict[str, Any]]:
    """Return the parts of an installation with the keys it writes, quantities as text."""
    return {
        name: {key: list(value) if isinstance(value, tuple) else value for key, value in plain.items()}
        for name, plain in ((name, part.model_dump(exclude_unset=True)) for name, part in installation.parts.items())
    }


def key_of(parts: Parts, key: str) -> Any:
    """Return the value of `PART.KEY`, or None.

    >>> key_of({"fridge": {"power": "55 W"}}, "fridge.power"), key_of({}, "fridge.power")
    ('55 W', None)
    """
    part, _, name = key.partition(".")
    return parts.get(part, {}).get(name)


def by_layout(choices: Mapping[str, Any], layout: str) -> Any:
    """Return what is written for a layout, else what is written for any, else None."""
    return choices.get(layout, choices.get("any"))


def targets(field: SurveyField, layout: str) -> tuple[tuple[str, ...], ...]:
    """Return the keys that a field goes to in a layout, share by share."""
    found: tuple[tuple[str, ...], ...] = by_layout(field.sets, layout) or ()
    return found


def pruned(parts: Parts, before: Parts) -> set[str]:
    """Return the parts that lead nowhere any more: cables, fuses and the like with an end that nothing else names.

    Parameters: `parts` as they are now; `before`, as the layout had them: an end that was free there may stay so.

    >>> lamp = {"lamp": {"pos": "lamp_pos"}, "lamp_cable": {"kind": "cable", "ends": ["fuse", "lamp_pos"]}}
    >>> rest = {"feed": {"kind": "fuse", "ends": ["post", "fuse"]}, "battery": {"pos": "post"}}
    >>> sorted(pruned({"lamp_cable": lamp["lamp_cable"]} | rest, lamp | rest))
    ['feed', 'lamp_cable']
    """
    free_before = {point for point, uses in _uses(before).items() if uses == 1}
    left, gone = dict(parts), set[str]()
    while True:
        uses = _uses(left)
        dead = {
            name for name, part in left.items()
            if part.get("kind") in _GOES_WITH
            and any(uses[point] == 1 and point not in free_before for point in part.get("ends", ()))
        }  # fmt: skip
        if not dead:
            return gone
        gone |= dead
        left = {name: part for name, part in left.items() if name not in dead}


def _uses(parts: Parts) -> Counter[str]:
    return Counter(point for part in parts.values() for point in _points(part))


def _points(part: Mapping[str, Any]) -> Iterator[str]:
    for key in _POINT_KEYS:
        value = part.get(key)
        if isinstance(value, str):
            yield value
        elif value is not None:
            yield from value
