"""What tells a thing from others that an owner calls the same: where a wire runs, what a fuse is nearest to.

It knows places by what is fitted there; what things are called is given.
"""

from __future__ import annotations

from collections.abc import Callable, Collection

from diagnose.circuit.topology import negative_side, parts_near
from diagnose.model.installation import Installation
from diagnose.model.terminals import ends_of, points_of

__all__ = ["place_among", "thing_at"]

#: kinds of part that an owner finds, and knows places by; the first of them better than the others
FOUND = ("battery", "charger", "load", "panel", "supply", "alternator", "starter", "contact", "fuse", "switch")
DEVICES = FOUND[:7]
#: kinds of which many are joined at one point, and how many parts a point has at most that is called after one of them
SMALL, AT_ONE = ("load", "panel", "supply"), 2
#: more steps than there are between any two parts
FAR = 99


def thing_at(point: str, beside: str, named: Callable[[str], str], installation: Installation) -> str:
    """Return what an owner finds at a point: a thing, else its name on the plan, or just a bolt where that is a name
    of the trade.

    Parameters: `beside`, the part whose point it is, which is not meant; `named`, what an owner calls a part, or a
    point.
    """
    here = [name for name, part in installation.parts.items() if name != beside and point in points_of(part)]
    for kind in FOUND:
        name = next((one for one in here if installation.parts[one].kind == kind), None)
        if name is not None and (kind not in SMALL or len(here) <= AT_ONE):
            return named(name)
    return named(point)


def place_among(name: str, like: Collection[str], named: Callable[[str], str], installation: Installation) -> str:
    """Return what tells a part from those that are called the same, with the space or comma before it; nothing where it
    is the only one, or where nothing tells it.

    Parameters: `like`, the names of all that are called the same; `named`, what an owner calls a part.
    """
    others = [other for other in like if other != name]
    part = installation.parts[name]
    if not others:
        return ""
    if part.kind in ("cable", "bond"):
        return _run(name, others, named, installation)
    if part.kind == "contact":
        return f", {_side(name, installation)} side"
    near = _near(name, others, named, installation)
    if not near and len(others) == 1:
        near = _near(others[0], [name], named, installation).replace(" near ", " far from ")
    return near


def _run(name: str, others: Collection[str], named: Callable[[str], str], installation: Installation) -> str:
    """Return from where to where a conductor runs, with its side where another runs between the same things."""

    def ends(one: str) -> list[str]:
        found = [thing_at(end, one, named, installation) for end in ends_of(installation.parts[one])]
        return [thing.removeprefix("the ").removeprefix("a ").partition(" in the ")[0] for thing in found]

    first, last = ends(name)
    if first == last:
        return ""
    twin = any(sorted(ends(other)) == sorted((first, last)) for other in others)
    return f", {first}{' ' + _side(name, installation) if twin else ''} to {last}"


def _side(name: str, installation: Installation) -> str:
    return "minus" if set(ends_of(installation.parts[name])) <= negative_side(installation) else "plus"


def _near(name: str, others: Collection[str], named: Callable[[str], str], installation: Installation) -> str:
    """Return the device that a part is nearer to than all others of its like, nothing where there is none."""
    nearest = {one: parts_near(installation, one, DEVICES) for one in (name, *others)}
    devices = [d for d in nearest[name] if d not in nearest]
    for device in sorted(devices, key=lambda d: nearest[name][d]):
        alone = not any(named(d) == named(device) for d in devices if d != device)
        if alone and all(nearest[name][device] < nearest[other].get(device, FAR) for other in others):
            return f" near {named(device)}"
    return ""
