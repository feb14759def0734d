"""Which points a part touches, and under which key of the form each is written.

One table for all kinds; must not judge whether a point is right.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.model.installation import Installation
from diagnose.store.yaml_text import Loc

__all__ = ["JOINS", "NEGATIVE_KEYS", "NOTHING", "POSITIVE_KEYS", "all_points", "lugs", "points_of", "raw_points_of"]

NOTHING = "nothing"  # what a profile lead is tied to when it is left free
POSITIVE_KEYS = ("pos", "input", "output", "solar")
NEGATIVE_KEYS = ("neg", "negative")
JOINS = ("cable", "bond", "switch", "contact", "shunt")  # parts that carry a jumper's current without protecting it
_SINGLE = (*POSITIVE_KEYS, *NEGATIVE_KEYS, "ignition", "profile_lead")
_PAIRS = ("ends", "coil")


def points_of(part: Any) -> Iterator[tuple[Loc, str]]:
    """Yield (path below the part, point) for every point a part touches."""
    return raw_points_of({key: getattr(part, key, None) for key in (*_SINGLE, *_PAIRS)} | {"profiles": _profiles(part)})


def raw_points_of(written: dict[str, Any]) -> Iterator[tuple[Loc, str]]:
    """Yield the same from a part as written, whether or not the rest of it is right."""
    for key in _SINGLE:
        if isinstance(written.get(key), str):
            yield (key,), written[key]
    for key in _PAIRS:
        pair = written.get(key)
        if isinstance(pair, list | tuple):
            yield from (((key, index), point) for index, point in enumerate(pair) if isinstance(point, str))
    profiles = written.get("profiles")
    for index, profile in enumerate(profiles if isinstance(profiles, list | tuple) else ()):
        tied = profile.get("tied_to") if isinstance(profile, dict) else None
        if isinstance(tied, str) and tied != NOTHING:
            yield ("profiles", index, "tied_to"), tied


def all_points(installation: Installation) -> set[str]:
    """Return every point that a part touches or that is declared."""
    used = {point for part in installation.parts.values() for _, point in points_of(part)}
    return used | set(installation.points)


def lugs(installation: Installation) -> dict[str, tuple[str, str]]:
    """Return `PART@POINT` -> (part, point) for both ends of every cable and fuse."""
    return {
        f"{name}@{end}": (name, end)
        for name, part in installation.parts.items()
        if part.kind in ("cable", "fuse")
        for end in part.ends
    }


def _profiles(part: Any) -> list[dict[str, Any]]:
    return [{"tied_to": profile.tied_to} for profile in getattr(part, "profiles", ())]
