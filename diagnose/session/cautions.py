"""Which cautions of the rule base apply to a test, to a repair or to a place where the vehicle stands.

A caution is bound to states, quantities, kinds of part, chemistries, faults, acts, or to where the vehicle stands. It
is shown in full when it first applies and when the vehicle is put into another state, and in brief while it still
holds.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery
from diagnose.model.reading import Take
from diagnose.model.rules import Caution, RuleBase
from diagnose.model.terminals import points_of
from diagnose.session.steps import Reminder

__all__ = ["for_complaint", "for_repair", "for_standing", "for_take", "reminders"]


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
        if caution.where is None and (bound or caution.id in listed):
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


def for_standing(standing: str | None, rules: RuleBase) -> tuple[str, ...]:
    """Return the ids of the cautions of a place, such as the roadside."""
    return tuple(c.id for c in rules.cautions.values() if c.where is not None and c.where == standing)


def for_complaint(complaint: str | None, rules: RuleBase) -> tuple[str, ...]:
    """Return the ids of the cautions of a complaint given by its id."""
    rule = rules.complaints.get(complaint or "")
    return rule.cautions if rule is not None else ()


def reminders(
    ids: Iterable[str], rules: RuleBase, given: Collection[str] = (), state_bound_anew: bool = False
) -> tuple[Reminder, ...]:
    """Return cautions in full or in brief.

    Parameters: `given`, those shown already; `state_bound_anew`, whether the vehicle is put into another state, so that
    what is bound to a state is said in full again.
    """
    found = []
    for name in dict.fromkeys(ids):
        caution = rules.cautions[name]
        new = name not in given or (state_bound_anew and bool(caution.states))
        found.append(Reminder(name, caution.says, caution.brief, new))
    return tuple(found)


def _of(caution: Caution, kinds: Collection[str], chemistries: Collection[str], actions: Collection[str]) -> bool:
    by_part = bool(set(kinds) & set(caution.kinds) or set(chemistries) & set(caution.chemistries))
    return by_part or bool(set(actions) & set(caution.actions))


def _touched(names: Collection[str], installation: Installation) -> tuple[set[str], set[str]]:
    """Return kinds and battery chemistries of the parts named, or that have a point named."""
    parts = [p for n, p in installation.parts.items() if n in names or set(names) & set(points_of(p))]
    return {p.kind for p in parts}, {p.chemistry for p in parts if isinstance(p, Battery)}
