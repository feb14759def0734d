"""What must hold between the parts of an installation: names that exist, a battery, no mistyped point.

Each check goes from the installation to findings (path, what is wrong, what would be right). Must not open files.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from diagnose.basics.errors import meant
from diagnose.model.installation import Installation
from diagnose.model.terminals import ends_of
from diagnose.store.part_checks import Finding, check_part
from diagnose.store.part_points import NOTHING, points_of, raw_points_of
from diagnose.store.yaml_text import Loc

__all__ = ["check_installation"]


def check_installation(
    installation: Installation, refused: Mapping[str, Any], *, whole: bool = True
) -> Iterator[Finding]:
    """Yield every finding.

    Parameters: `installation`; `refused`, parts that stand in the file but whose form is wrong, as written: they still
    count as users of points; `whole`, False where the layout could not be found, so that much may be missing.
    """
    for name, part in installation.parts.items():
        yield from ((("parts", name, *loc), what, right) for loc, what, right in check_part(part))
    if whole:
        yield from _zones(installation)
        yield from _measured(installation)
    yield from _reserved(installation)
    yield from _mistyped_points(installation, refused)
    if whole and not refused and not any(part.kind == "battery" for part in installation.parts.values()):
        yield ("parts",), "there is no battery", "describe at least one part with kind: battery"


def _zones(installation: Installation) -> Iterator[Finding]:
    named: list[tuple[Loc, str | None]] = []
    named += [(("points", name, "zone"), point.zone) for name, point in installation.points.items()]
    named += [(("parts", name, "routed"), getattr(part, "routed", None)) for name, part in installation.parts.items()]
    for loc, zone in named:
        if zone is not None and zone not in installation.zones:
            right = meant(zone, installation.zones, "describe it under `zones:`")
            yield loc, f"no zone `{zone}`", right


def _measured(installation: Installation) -> Iterator[Finding]:
    """Yield places of a baseline that are none: `PART`, or `PART@POINT` with a point that is an end of the part."""
    for place in installation.measured:
        name, _, point = place.partition("@")
        part = installation.parts.get(name)
        if part is None:
            right = meant(name, installation.parts, "write PART or PART@POINT of a part that is described")
            yield ("measured", place), f"no part `{name}`", right
        elif (point or "@" in place) and point not in ends_of(part):
            ends = " or ".join(ends_of(part)) or "a part with two ends"
            yield ("measured", place), f"`{name}` has no end `{point}`", f"write {ends}"


def _reserved(installation: Installation) -> Iterator[Finding]:
    for name, part in installation.parts.items():
        for loc, point in points_of(part):
            if point == NOTHING:
                yield ("parts", name, *loc), f"`{NOTHING}` is no point", "give the point another name"


def _mistyped_points(installation: Installation, refused: Mapping[str, Any]) -> Iterator[Finding]:
    """Yield points that only one part names and that look like a slip for another point."""
    users = _users(installation, refused)
    uses = Counter(point for points in users.values() for point in points)
    declared = set(installation.points)
    words = Counter(word for name in [*uses, *installation.parts, *refused] for word in name.split("_"))

    def familiar(point: str) -> int:
        """How often the rarest word of a name occurs: of two names used once, the odder one is the slip."""
        return min(words[word] for word in point.split("_"))

    for name, part in installation.parts.items():
        for loc, point in points_of(part):
            if uses[point] > 1 or point in declared:
                continue
            others = {other for other in uses.keys() | declared if other not in users[name]}
            close = sorted(other for other in others if _slip(point, other))
            if close and (uses[close[0]] > 1 or close[0] in declared or familiar(point) <= familiar(close[0])):
                right = f"did you mean {close[0]}? a place of its own is named under `points:`"
                yield ("parts", name, *loc), f"only this part names the point `{point}`", right


def _users(installation: Installation, refused: Mapping[str, Any]) -> dict[str, set[str]]:
    users = {name: {point for _, point in points_of(part)} for name, part in installation.parts.items()}
    return users | {
        name: {point for _, point in raw_points_of(part)} for name, part in refused.items() if isinstance(part, dict)
    }


def _slip(one: str, other: str) -> bool:
    """Whether one name may be a slip of the finger for the other.

    Names that differ in a number, a letter or a short word (`fuse_1` and `fuse_2`, `load_a` and `load_b`, `charger_in`
    and `charger_ign`) are told apart on purpose.
    """
    if one.replace("_", "") == other.replace("_", ""):
        return True
    ours, theirs = one.split("_"), other.split("_")
    if len(ours) != len(theirs):
        return False
    unlike = [(mine, yours) for mine, yours in zip(ours, theirs, strict=True) if mine != yours]
    if len(unlike) != 1:
        return False
    mine, yours = unlike[0]
    if max(len(mine), len(yours)) < 4 or mine.strip("0123456789") == yours.strip("0123456789"):
        return False
    return _one_edit(mine, yours)


def _one_edit(one: str, other: str) -> bool:
    """Whether one letter left out, added, changed or swapped with its neighbour turns one word into the other."""
    short, long = sorted((one, other), key=len)
    start = 0
    while start < len(short) and short[start] == long[start]:
        start += 1
    if len(short) + 1 == len(long):
        return short[start:] == long[start + 1 :]
    if len(short) != len(long):
        return False
    swapped = short[start + 1 : start + 2] + short[start : start + 1] + short[start + 2 :]
    return short[start + 1 :] == long[start + 1 :] or swapped == long[start:]
