"""The steps of commissioning one installation, made from the rules: only those that apply, in their order.

A rule and what it is asked of make a step; a step is dropped where the installation has no such place or state.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.commissioning.subjects import Flow, Subject, charging_state, subjects
from diagnose.inference.cautions import for_take
from diagnose.model.checks import FigureReference
from diagnose.model.commissioning import CommissioningStep
from diagnose.model.commissioning_rules import StepRule
from diagnose.model.expected import Limit
from diagnose.model.figures import Figure, Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.rules import RuleBase
from diagnose.model.terminals import ends_of, points_of
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.limits import limit_of
from diagnose.prediction.predictor import Predictor
from diagnose.prediction.streams import Streams

__all__ = ["Planned", "charging_path", "number_of", "planned_steps"]

#: vehicles drawn to see which parts carry the charging current, and the share of the greatest current that counts
DRAWN, CARRIES = 40, 0.15
#: what the phase of charging is called, by the state in which this installation charges
CHARGING_PHASES = {"engine_running": "engine running", "sun_only": "sun", "mains_on": "mains"}
_OPEN = re.compile(r"\{([a-z_]+)\}")


class Planned(NamedTuple):
    """A step with the rule it was made from and the names that filled it."""

    step: CommissioningStep
    rule: StepRule
    subject: Subject


def charging_path(installation: Installation, tables: Tables) -> tuple[Flow, ...]:
    """Return the parts that carry the charging current, each in the direction of the current, in the file's order.

    Parts that join two points and carry at least 15 % of the largest such current, on vehicles drawn for the purpose.
    """
    when = charging_state(installation)
    names = [n for n, p in installation.parts.items() if len(ends_of(p)) == 2 and p.kind != "diode"]
    takes = [Take("amps", (name,), when) for name in names]
    if not takes:
        return ()
    predicted = Predictor(installation, tables, (SOUND,), Streams(1, DRAWN)).predict(takes)
    amps = {name: float(np.quantile(p.high[0], 0.9, method="lower")) for name, p in zip(names, predicted, strict=True)}
    back = {name: float(np.quantile(p.high[0], 0.1, method="lower")) for name, p in zip(names, predicted, strict=True)}
    flow = {name: amps[name] if abs(amps[name]) >= abs(back[name]) else back[name] for name in names}
    least = CARRIES * max(abs(value) for value in flow.values())
    found = []
    for name in names:
        if abs(flow[name]) >= max(least, 1.0):
            first, last = ends_of(installation.parts[name])
            found.append(Flow(name, first, last) if flow[name] > 0 else Flow(name, last, first))
    return tuple(found)


def planned_steps(
    installation: Installation, rules: Sequence[StepRule], base: RuleBase, tables: Tables
) -> tuple[Planned, ...]:
    """Return the steps that apply to an installation, in order.

    Parameters: `rules` of commissioning, in their order; `base`, whose cautions go before the steps.
    """
    flows = charging_path(installation, tables)
    found: list[Planned] = []
    for rule in rules:
        for subject in subjects(rule.each, installation, flows):
            if rule.kinds and subject.get("kind") not in rule.kinds:
                continue
            if any(subject.get(key) != value for key, value in rule.only.items()):
                continue
            step = _step(rule, subject, installation, base, tables)
            if step is not None:
                found.append(Planned(step, rule, subject))
    known = {planned.step.id for planned in found}
    kept = []
    for planned in found:
        needs = tuple(name for name in planned.step.needs if name in known)
        worked_out = planned.step.take is None and not planned.step.question
        if not worked_out or {name.partition(":")[0] for name in needs} == set(planned.rule.needs):
            kept.append(planned._replace(step=planned.step._replace(needs=needs)))
    return tuple(kept)


def _filled(text: str, subject: Mapping[str, str]) -> str | None:
    """Return a text with its open places filled; None where one is missing or empty."""
    names = _OPEN.findall(text)
    if any(not subject.get(name) for name in names):
        return None
    return _OPEN.sub(lambda match: subject[match.group(1)], text)


def _step(
    rule: StepRule, subject: Subject, installation: Installation, base: RuleBase, tables: Tables
) -> CommissioningStep | None:
    title, how = _filled(rule.title, subject), _filled(rule.how, subject)
    take = _take(rule, subject)
    question = _filled(rule.asks, subject) if rule.asks else ""
    if title is None or how is None or question is None or (rule.take is not None and take is None):
        return None
    ids = {*rule.cautions, *(for_take(take, installation, base) if take is not None else ())}
    key = subject.get("key", "")
    return CommissioningStep(
        f"{rule.id}:{key}" if key else rule.id, rule.id, _opened(title), take, _opened(question),
        _state(rule, take, subject), tuple(name for name in base.cautions if name in ids), how,
        _limit(rule, take, installation, tables), _source(rule, tables), _judged(subject, take, installation),
        rule.judge == "drop", _phase(rule, subject), rule.judge, rule.wants or "", _needs(rule, subject, installation),
        rule.why, rule.makes_valid or "", rule.id if rule.group else "",
        _opened(_filled(rule.recheck, subject) or "") if rule.recheck else "",
    )  # fmt: skip


def _opened(text: str) -> str:
    return text[:1].upper() + text[1:]


def _take(rule: StepRule, subject: Subject) -> Take | None:
    if rule.take is None:
        return None
    where = [_filled(place, subject) for place in rule.take.where]
    when = _filled(rule.take.when, subject)
    if when is None or any(place is None for place in where) or len(set(where)) < len(where):
        return None
    return Take(rule.take.quantity, tuple(str(place) for place in where), when)


def _state(rule: StepRule, take: Take | None, subject: Subject) -> str:
    return take.when if take is not None else subject["charging"] if rule.needs else "at_rest"


def _phase(rule: StepRule, subject: Subject) -> str:
    return CHARGING_PHASES[subject["charging"]] if rule.phase == "charging" else rule.phase


def _needs(rule: StepRule, subject: Subject, installation: Installation) -> tuple[str, ...]:
    """Return the ids that the steps needed may have: of the same key, of the charger, for a drop of any charger."""
    chargers = [n for n, p in installation.parts.items() if p.kind == "charger"] if rule.judge == "drop" else []
    keys = dict.fromkeys(key for key in (subject.get("key"), subject.get("charger"), *chargers) if key)
    return tuple(f"{need}:{key}" for need in rule.needs for key in keys)


def number_of(figure: FigureReference | Figure | None, tables: Tables) -> tuple[float, Figure] | None:
    """Return a limit's number with its figure, or None where there is no bound."""
    if figure is None:
        return None
    found = tables.figure(figure.table, figure.figure) if isinstance(figure, FigureReference) else figure
    assert not isinstance(found.value, tuple)
    return found.value, found


def _limit(rule: StepRule, take: Take | None, installation: Installation, tables: Tables) -> Limit | None:
    """Return the published limit of a step: the rule's own, else that of its test."""
    if rule.limits is None:
        return limit_of(take, installation, tables) if take is not None else None
    low, high = number_of(rule.limits.low, tables), number_of(rule.limits.high, tables)
    bounds = [each for each in (high, low) if each is not None]
    if not bounds:
        return None
    why = next((each[1].note for each in bounds if each[1].note), None) or rule.why
    return Limit(low[0] if low else None, high[0] if high else None, f"{why} ({bounds[0][1].source.replace('_', ' ')})")


def _source(rule: StepRule, tables: Tables) -> str:
    title = tables.sources[rule.source].title if rule.source in tables.sources else rule.source
    return f"{title} ({rule.confidence.replace('_', ' ')})"


def _judged(subject: Subject, take: Take | None, installation: Installation) -> tuple[str, ...]:
    """Return the parts a step speaks of: those named, and those that have one of its places among their points."""
    named = [subject[key] for key in ("part", "charger", "battery", "cable") if subject.get(key)]
    if take is not None and take.quantity in ("volts", "ohms"):
        places = {place.partition("@")[0] for place in take.where}
        named += [name for name, part in installation.parts.items() if name in places or places & set(points_of(part))]
    return tuple(dict.fromkeys(name for name in named if name in installation.parts))
