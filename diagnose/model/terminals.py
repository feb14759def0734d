"""Which points a part joins: its two ends, its two poles, what two probes go across, all the points that it names."""

from __future__ import annotations

from functools import cache
from typing import Any

from diagnose.model.parts import Charger, Part

__all__ = ["ends_of", "pairs_of", "points_of", "poles_of"]

POINT_KEYS = ("pos", "neg", "input", "output", "negative", "ignition", "solar", "profile_lead")


def ends_of(part: Part) -> tuple[str, ...]:
    """Return the two ends of a part that carries current from end to end, or nothing for another part."""
    return tuple(getattr(part, "ends")) if "ends" in type(part).model_fields else ()  # noqa: B009


def poles_of(part: Part) -> tuple[str, ...]:
    """Return the positive and the negative point of a two-pole part, or nothing for another part."""
    pos: Any = getattr(part, "pos") if "pos" in type(part).model_fields else None  # noqa: B009
    return (pos, part.neg) if pos else ()  # type: ignore[union-attr]


def pairs_of(part: Part) -> dict[str, tuple[str, str]]:
    """Return what two probes go across at a part: the sides of a charger by name, the poles of another without one."""
    if isinstance(part, Charger):
        sides = {"input": part.input, "output": part.output, "solar": part.solar}
        return {name: (point, part.negative) for name, point in sides.items() if point}
    poles = poles_of(part)
    return {"": (poles[0], poles[1])} if poles else {}


def points_of(part: Part) -> tuple[str, ...]:
    """Return every point that a part names, without repeats, in the order of its keys."""
    found = [getattr(part, key) for key in _keys_of(type(part))]
    return tuple(dict.fromkeys([p for p in found if p] + [*ends_of(part), *getattr(part, "coil", ())]))


@cache
def _keys_of(kind: type[Part]) -> tuple[str, ...]:
    """Return the keys by which parts of a kind name points; asking each part for a key it lacks is slow."""
    return tuple(key for key in POINT_KEYS if key in kind.model_fields)
