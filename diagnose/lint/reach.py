"""Checks of what a rule base reaches: faults that nobody would come to, tests that nobody can take, unused sources.

Each is one small function over the whole base. They must not judge one rule by itself: that is done on loading.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.basics.errors import Problem, meant
from diagnose.inference.candidates import ALL_TOOLS, candidates
from diagnose.lint.base import Base
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.model.rules import ComplaintRule, FaultRule

__all__ = ["unasked_tests", "uncited_sources", "unheard_faults", "untaken_tests"]


def unheard_faults(base: Base) -> Iterator[Problem]:
    """Yield each fault that no complaint favours and no eye, nose or hand finds."""
    for rule in base.rules.faults.values():
        heard = any(_favours(complaint, rule) for complaint in base.rules.complaints.values())
        if not heard and not rule.sights:
            right = "let a complaint favour it, or write what is seen under sights:"
            text = base.texts[f"rules/faults/{rule.id}.yaml"]
            yield text.problem(("id",), "no complaint and no sight leads here", right)


def _favours(complaint: ComplaintRule, rule: FaultRule) -> bool:
    kinds = {kind for place in rule.sits_at for kind in place.kinds}
    return any(
        rule.id in favour.faults or rule.family in favour.families or bool(kinds & set(favour.kinds))
        for favour in complaint.favours
    )


def untaken_tests(base: Base) -> Iterator[Problem]:
    """Yield each test whose tools nobody can have, or which fits no state.

    What is fitted while a reading is taken, a jumper or a known-good part, is no tool of the list.
    """
    for rule in base.rules.tests.values():
        if rule.id not in QUANTITIES:
            continue
        text = base.texts[f"rules/tests/{rule.id}.yaml"]
        for tool in rule.tools:
            if tool not in ALL_TOOLS:
                right = meant(tool, ALL_TOOLS, f"write one of {', '.join(ALL_TOOLS)}")
                yield text.problem(("tools",), f"no tool `{tool}`", right)
        if not set(rule.states) & set(STATES):
            yield text.problem(("states",), "it may be taken in no state", "write states:")


def unasked_tests(base: Base) -> Iterator[Problem]:
    """Yield each test that is never proposed on any layout, whatever the tools."""
    asked = {take.quantity for layout in base.layouts.values() for take in candidates(layout, ALL_TOOLS)}
    for rule in base.rules.tests.values():
        if rule.id in QUANTITIES and rule.id not in asked:
            text = base.texts[f"rules/tests/{rule.id}.yaml"]
            yield text.problem(("id",), "no layout is asked for this test", "add a layout with a place for it")


def uncited_sources(base: Base) -> Iterator[Problem]:
    """Yield each source that no file of the rule base names."""
    cited = {each for name, text in base.texts.items() for each in _named(text.data, name)}
    for source in base.sources:
        if source not in cited:
            text = base.texts["rules/sources.yaml"]
            yield text.problem((source,), f"nobody cites `{source}`", "leave it out", key=True)


def _named(data: Any, name: str) -> Iterator[str]:
    """Yield every text under a key `source`, wherever it stands."""
    if name == "rules/sources.yaml":
        return
    for key, value in data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ():
        if key == "source" and isinstance(value, str):
            yield value
        yield from _named(value, name)
