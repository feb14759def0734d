"""Which cautions of the rule base come before a test or a repair.

A caution is bound to states, quantities, kinds of part, chemistries, faults or acts, or named by the test itself. Those
of a place where the vehicle stands are not looked for here.
"""

from __future__ import annotations

from collections.abc import Collection

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.reading import Take
from diagnose.model.rules import Caution, RuleBase
from diagnose.model.terminals import points_of

__all__ = ["for_repair", "for_take"]


def for_take(take: Take, installation: Installation, rules: RuleBase) -> tuple[str, ...]:
    """Return the ids of the cautions that precede a test, in the order of the rule base."""
    fitted = (*(take.jumper or ()), *((take.swap,) if take.swap else ()))
    names = {place.partition("@")[0] for place in (*take.where, *fitted)}
    kinds, chemistries = _touched(names, installation)
    actions = {act for act, used in (("jumper", take.jumper), ("swap", take.swap)) if used}
    listed = rules.tests[take.quantity].cautions
    listed += tuple(i for act in actions if act in rules.tests for i in rules.tests[act].cautions)
    found = []
    for caution in rules.cautions.values():
        bound = take.when in caution.states or take.quantity in caution.quantities
        bound = bound or _of(caution, kinds, chemistries, actions)
        fits = not caution.meters or take.meter in caution.meters
        if caution.where is None and fits and (bound or caution.id in listed):
            found.append(caution.id)
    return tuple(found)


def for_repair(fault: FaultAt, installation: Installation, rules: RuleBase) -> tuple[str, ...]:
    """Return the ids of the cautions that precede a repair: those of the fault, the part, and of mending at all."""
    rule = rules.faults.get(fault.fault)
    listed = rule.cautions if rule is not None else ()
    kinds, chemistries = _touched({fault.part}, installation)
    found = []
    for caution in rules.cautions.values():
        bound = fault.fault in caution.faults or _of(caution, kinds, chemistries, {"repair"})
        if caution.where is None and (bound or caution.id in listed):
            found.append(caution.id)
    return tuple(found)


def _of(caution: Caution, kinds: Collection[str], chemistries: Collection[str], actions: Collection[str]) -> bool:
    by_part = bool(set(kinds) & set(caution.kinds) or set(chemistries) & set(caution.chemistries))
    return by_part or bool(set(actions) & set(caution.actions))


def _touched(names: Collection[str], installation: Installation) -> tuple[set[str], set[str]]:
    """Return kinds and battery chemistries of the parts named, or that have a point named."""
    parts = [p for n, p in installation.parts.items() if n in names or set(names) & set(points_of(p))]
    return {p.kind for p in parts}, {p.chemistry for p in parts if isinstance(p, Battery)}
