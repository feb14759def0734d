"""Which cautions of the rule base apply to a test, to a repair or to a place where the vehicle stands.

A caution is bound to states, quantities, kinds of part, chemistries, faults, acts, or to where the vehicle stands. It
is shown in full when it first applies and when the vehicle is put into another state, and in brief while it still
holds.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from diagnose.inference.cautions import for_repair, for_take
from diagnose.model.rules import RuleBase
from diagnose.session.steps import Reminder

__all__ = ["for_complaint", "for_repair", "for_standing", "for_take", "reminders"]


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
