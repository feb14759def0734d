"""The ways in which an installation may be fitted where something of it is unknown: each with its share of vehicles.

An answer changes parts by their kind, as the rule base says; nothing is asked and nothing is weighed here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product
from typing import Any, NamedTuple

from diagnose.circuit.topology import start_batteries
from diagnose.model.installation import Installation
from diagnose.model.parts import Part
from diagnose.model.terminals import ends_of, points_of
from diagnose.model.unknowns import Change, Unknown, UnknownAnswer

__all__ = ["MOST_VERSIONS", "Version", "matters_in", "versions_of"]

#: versions that a script is made for
MOST_VERSIONS = 6
#: parts that lead nowhere once what they led to is gone
LEADS = ("cable", "fuse", "switch", "contact", "diode", "shunt")


class Version(NamedTuple):
    """One way in which an installation may be fitted: its share, and the answers that are true of it, by unknown."""

    installation: Installation
    share: float
    answers: Mapping[str, str]


def matters_in(unknown: Unknown, installation: Installation) -> bool:
    """Return whether an installation has a part that an unknown is about."""
    return any(_concerned(unknown, installation))


def _concerned(rule: Unknown | Change, installation: Installation) -> Iterator[str]:
    """Yield the names of the parts that a question, or a change, is about by kind, battery and keys."""
    start = start_batteries(installation)
    for name, part in installation.parts.items():
        other = part.kind != rule.kind or (rule.which == "second" and name in start)
        if not other and all(getattr(part, key) is not None for key in rule.has):
            yield name


def versions_of(
    installation: Installation, unknowns: Mapping[str, Unknown], most: int = MOST_VERSIONS
) -> tuple[Version, ...]:
    """Return the ways in which an installation may be fitted, the likeliest first; their shares sum to 1.

    Parameters: `unknowns`, those that are open, of which the installation has parts; `most` versions, the likeliest,
    but of each answer at least one.
    """
    every = [list(one.answers.items()) for one in unknowns.values()]
    mixes = sorted(product(*every), key=lambda mix: -_share(mix))
    kept = _kept(mixes, most)
    total = sum(_share(mix) for mix in kept)
    found = []
    for mix in kept:
        changed = installation
        for change in (change for _, answer in mix for change in answer.changes):
            changed = _changed(changed, change)
        words = {name: word for name, (word, _) in zip(unknowns, mix, strict=True)}
        found.append(Version(changed, _share(mix) / total, words))
    return tuple(found)


Mix = Sequence[tuple[str, UnknownAnswer]]


def _share(mix: Mix) -> float:
    share = 1.0
    for _, answer in mix:
        share *= answer.share
    return share


def _kept(mixes: Sequence[Mix], most: int) -> list[Mix]:
    """Return the likeliest mixes, in their order, each answer being in one of them."""
    chosen: list[int] = []
    known: set[tuple[int, str]] = set()
    for number, mix in enumerate(mixes):
        words = {(place, word) for place, (word, _) in enumerate(mix)}
        if not words <= known:
            chosen.append(number)
            known |= words
    rest = [number for number in range(len(mixes)) if number not in chosen]
    return [mixes[n] for n in sorted(chosen + rest[: max(most - len(chosen), 0)])]


def _changed(installation: Installation, change: Change) -> Installation:
    """Return an installation with a change at each part that it is about."""
    parts: dict[str, Part] = dict(installation.parts)
    for name in _concerned(change, installation):
        part = installation.parts[name]
        if not _holds(part, change):
            continue
        if change.gone:
            del parts[name]
        else:
            parts[name] = type(part).model_validate({**dict(part), **dict(_written(part, change))})
    before = _used(installation.parts.values())
    _without_loose_ends(parts, before)
    left = _used(parts.values())
    points = {name: point for name, point in installation.points.items() if name in left or name not in before}
    measured = {k: v for k, v in installation.measured.items() if k.partition("@")[0] in parts}
    return installation.model_copy(update={"parts": parts, "points": points, "measured": measured})


def _written(part: Part, change: Change) -> Iterator[tuple[str, Any]]:
    """Yield the keys that a change writes; null is what a part without the key has."""
    for key, value in change.keys.items():
        yield key, value if value is not None else type(part).model_fields[key].default


def _holds(part: Any, change: Change) -> bool:
    if any(getattr(part, key) not in words for key, words in change.holds.items()):
        return False
    if change.offers is None:
        return True
    return part.profile_lead is None and any(profile.name == change.offers for profile in part.profiles)


def _without_loose_ends(parts: dict[str, Part], before: Mapping[str, int]) -> None:
    """Take away what leads to a point that nothing else is joined to any more, and so on along the lead."""
    while True:
        used = _used(parts.values())
        lost = {point for point, count in before.items() if used.get(point, 0) < count}
        loose = [
            name for name, part in parts.items()
            if part.kind in LEADS and any(used[end] == 1 and end in lost for end in ends_of(part))
        ]  # fmt: skip
        if not loose:
            return
        for name in loose:
            del parts[name]


def _used(parts: Iterable[Part]) -> dict[str, int]:
    """Return by point how many parts are joined to it."""
    found: dict[str, int] = {}
    for part in parts:
        for point in points_of(part):
            found[point] = found.get(point, 0) + 1
    return found
