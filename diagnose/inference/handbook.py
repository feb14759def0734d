"""A page of the handbook: what the rule base says of one fault, gathered from all its rules, and how it reads here.

It gathers and computes nothing of its own but the readings; wording it is left to those who show it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import prod
from typing import Any

from diagnose.inference.cautions import for_repair, for_take
from diagnose.inference.telling import telling_tests
from diagnose.model.figures import NO_SOURCE, Source, Tables
from diagnose.model.handbook import HandbookPage, Here
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, RuleBase
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses

__all__ = ["handbook_page", "here_of", "places_of"]

#: how many times as often a complaint must be heard with a fault to be named
HEARD = 1.2


def places_of(rule: FaultRule, installation: Installation, rules: RuleBase) -> tuple[Hypothesis, ...]:
    """Return a fault at every place of an installation where it can sit, likeliest first."""
    found = [h for h in all_hypotheses(installation, rules) if h.fault is not None and h.fault.fault == rule.id]
    return tuple(sorted(found, key=lambda h: -h.weight))


def here_of(
    places: Sequence[Hypothesis], installation: Installation, rules: RuleBase, tables: Tables, seed: int, most: int
) -> Here:
    """Return where a fault can sit on an installation, and how it reads at the first of the places.

    Parameters: `places`, as `places_of` returns them; `seed` of the vehicles drawn; `most`, how many tests at most.
    """
    telling = telling_tests(installation, rules, tables, places[0], seed, most) if places else ()
    return Here(installation, tuple(h.fault for h in places if h.fault is not None), telling)


def handbook_page(rule: FaultRule, rules: RuleBase, sources: Mapping[str, Source], here: Here | None) -> HandbookPage:
    """Return the page of a fault.

    Parameters: `sources` of the rule base by id; `here`, how it reads on an installation, if one was named.
    """
    causes = tuple(c for c in rules.causes.values() if any(b.fault == rule.id for b in c.brings))
    heard = {c.says: _heard(c, rule) for c in rules.complaints.values()}
    complaints = sorted(((says, ratio) for says, ratio in heard.items() if ratio >= HEARD), key=lambda c: -c[1])
    quantities = _quantities(rule, here)
    backed = [*_backed(rule.model_dump(exclude={"examples"}))]
    for cause in causes:
        backed += _backed(cause.model_dump(exclude={"examples"}))
    cited = dict.fromkeys(source for source in backed if source != NO_SOURCE)
    return HandbookPage(
        rule,
        tuple(complaints),
        causes,
        tuple(rules.tests[quantity] for quantity in quantities),
        _known(_before_proof(quantities, rules, here), rules),
        _known(_before_repair(rule, rules, here), rules),
        tuple((source, sources[source]) for source in cited if source in sources),
        backed.count(NO_SOURCE),
        here,
    )


def _heard(complaint: ComplaintRule, rule: FaultRule) -> float:
    """Return how many times as often a complaint is heard with a fault, at the place where it is heard most, as with
    others; what a complaint says of kinds of part alone is not the fault's.
    """
    named = [f for f in complaint.favours if rule.id in f.faults or rule.family in f.families]
    kinds = {kind for place in rule.sits_at for kind in place.kinds}
    return max(prod(f.ratio for f in named if not f.kinds or kind in f.kinds) for kind in kinds)


def _quantities(rule: FaultRule, here: Here | None) -> tuple[str, ...]:
    """Return the tests that prove a fault: those that tell it here, else those of its examples and of its sights."""
    if here is not None and here.telling:
        return tuple(dict.fromkeys(each.sound.take.quantity for each in here.telling))
    first = [example for example in rule.examples if example.ranks_first]
    found = [key for example in first for reading in example.readings for key in reading if key in QUANTITIES]
    return tuple(dict.fromkeys([*found, *(sight.quantity for sight in rule.sights)]))


def _before_proof(quantities: Iterable[str], rules: RuleBase, here: Here | None) -> Iterator[str]:
    if here is not None:
        for each in here.telling:
            yield from for_take(each.sound.take, here.installation, rules)
    for quantity in quantities:
        yield from rules.tests[quantity].cautions
        yield from (c.id for c in rules.cautions.values() if quantity in c.quantities)


def _before_repair(rule: FaultRule, rules: RuleBase, here: Here | None) -> Iterator[str]:
    if here is not None and here.places:
        yield from for_repair(here.places[0], here.installation, rules)
    yield from (c.id for c in rules.cautions.values() if rule.id in c.faults or "repair" in c.actions)
    yield from rule.cautions


def _known(ids: Iterable[str], rules: RuleBase) -> tuple[Caution, ...]:
    """Return cautions each once, in the order of the rule base, without those of a place where one stands."""
    wanted = set(ids)
    return tuple(c for c in rules.cautions.values() if c.id in wanted and c.where is None)


def _backed(data: Any) -> Iterator[str]:
    """Yield the source of every number of a rule."""
    if isinstance(data, dict):
        if "source" in data:
            yield str(data["source"])
        for value in data.values():
            yield from _backed(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from _backed(value)
