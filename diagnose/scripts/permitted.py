"""Which tests the person at the vehicle may take: an owner far fewer than an installer.

It reads the rule base's own permissions; it weighs nothing and words nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.circuit.topology import start_batteries
from diagnose.inference.candidates import candidates, minutes_of
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.script_words import Caller
from diagnose.model.terminals import pairs_of, points_of, poles_of

__all__ = ["ALLOWANCES", "danger_takes", "permitted_takes", "second_battery", "tool_of"]

#: what a caller may be allowed beyond looking -> what it is
ALLOWANCES = {
    "covers": "open a lid or a cover of the vehicle; never one of mains or inverter gear",
    "engine": "start the engine, in open air, with nothing near belts",
    "fuse": "put in one fuse like the old one, source off, nothing hot",
}
#: quantities that an installer's pocket page leaves out: leads would have to be lifted, or a word is all there is
_NOT_IN_POCKET = ("ohms", "ripple")


def second_battery(installation: Installation) -> str | None:
    """Return the battery that is charged through the charger, else any other battery; None without one."""
    batteries = [n for n, p in installation.parts.items() if isinstance(p, Battery)]
    others = [n for n in batteries if n not in start_batteries(installation)]
    return next(iter(others or batteries), None)


def danger_takes(installation: Installation, tools: tuple[str, ...]) -> tuple[Take, ...]:
    """Return the questions about danger, in their order: what is seen at the second battery, and what is smelled."""
    battery = second_battery(installation)
    if battery is None or "eyes" not in tools:
        return ()
    return Take("look", (battery,), "at_rest"), Take("smell", (battery,), "at_rest")


def permitted_takes(
    installation: Installation, rules: RuleBase, tables: Tables, tools: tuple[str, ...], caller: Caller,
    allowed: tuple[str, ...], owner: bool,
) -> tuple[Take, ...]:  # fmt: skip
    """Return the tests that tools, permissions and the words of the rule base leave, in a fixed order.

    Parameters: `caller`, what an owner may touch and in which states; `allowed`, of `ALLOWANCES`; `owner`, whether the
    person is one.
    """
    takes = candidates(installation, tools)
    if "eyes" in tools:
        takes += tuple(Take("works", (n,), "cranking") for n, p in installation.parts.items() if p.kind == "starter")
    if not owner:
        return tuple(t for t in takes if t.quantity not in _NOT_IN_POCKET)
    lamps = tuple(_lamps(installation, caller)) if "test_lamp" in tools else ()
    return tuple(t for t in (*takes, *lamps) if _owner_may(t, installation, rules, caller, allowed))


def _lamps(installation: Installation, caller: Caller) -> Iterator[Take]:
    """Yield the tests with a test lamp: across the poles of whatever an owner may put a probe on."""
    for part in installation.parts.values():
        if part.kind in caller.probes_at and poles_of(part):
            for state in caller.lamp_states:
                yield Take("volts", poles_of(part), state, "test_lamp")


def _owner_may(
    take: Take, installation: Installation, rules: RuleBase, caller: Caller, allowed: tuple[str, ...]
) -> bool:
    rule = rules.tests[take.quantity]
    if not rule.owner_may or take.when not in caller.states or (take.when in caller.engine and "engine" not in allowed):
        return False
    if "@" in "".join(take.where) or (take.when == "cranking" and take.quantity != "works"):
        return False
    if "covers" not in allowed and minutes_of(take, 0.0, installation, take.when, frozenset(), (0.0, 0.0)) > 0.0:
        return False
    if take.quantity in ("volts", "ripple"):
        at = [p for p in installation.parts.values() if set(take.where) in map(set, pairs_of(p).values())]
        return any(p.kind in caller.probes_at and (p.kind != "charger" or "covers" in allowed) for p in at)
    if take.quantity == "lamp":
        return True
    part = installation.parts[take.where[0]]
    if take.quantity == "amps":
        return part.kind in caller.clamps_at and not _near_belts(take.where[0], installation)
    if take.quantity == "look":
        return part.kind in caller.looks_at and not (part.kind == "cable" and _near_belts(take.where[0], installation))
    return True


def _near_belts(name: str, installation: Installation) -> bool:
    """Return whether a part is joined to the alternator or the starter, beside which belts and fans turn."""
    own = set(points_of(installation.parts[name]))
    moving = [p for p in installation.parts.values() if p.kind in ("alternator", "starter")]
    return any(own & set(points_of(part)) for part in moving)


def tool_of(take: Take) -> str:
    """Return the tool a test needs.

    >>> tool_of(Take("volts", ("a", "b"), "at_rest", "test_lamp")), tool_of(Take("lamp", ("charging",), "at_rest"))
    ('test_lamp', 'eyes')
    """
    if take.meter == "test_lamp":
        return "test_lamp"
    return _TOOLS.get(take.quantity, "eyes")


_TOOLS = {
    "volts": "multimeter", "ohms": "multimeter", "ripple": "multimeter", "amps": "clamp", "tug": "hands",
    "wiggle": "hands", "celsius": "thermometer", "load_test": "load_tester", "gravity": "hydrometer",
}  # fmt: skip
