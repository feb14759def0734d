"""What must hold in a rule beyond its form, alone and together with the others, each defect with its place.

One small check a defect. The checks must not read files and must not judge wording beyond what can be counted.
"""

from __future__ import annotations

from collections.abc import Collection

from diagnose.basics.errors import Problem
from diagnose.circuit.faults import LAWS
from diagnose.model.causes import Brought, CauseRule, OperatingState
from diagnose.model.parts import chemistries
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, RuleBase, TestRule
from diagnose.model.words import WORDS
from diagnose.store.rule_marks import PART_KEYS, Found, cited, known_words, owner_line
from diagnose.store.yaml_text import Document, Loc

__all__ = ["ACTIONS", "KINDS", "Named", "Rule", "check_alone", "check_together", "owner_lines"]

Rule = FaultRule | TestRule | ComplaintRule | Caution | CauseRule | OperatingState
#: a defect with the name of the check that found it
Named = tuple[str, Problem]
#: what can be fitted while a reading is taken; it costs minutes beside those of the reading
ACTIONS = ("jumper", "swap")
KINDS = tuple(PART_KEYS)
#: what the chances of the words of one quantity may come to, so that something else can be found
MOST_WORDS = 0.99


def check_alone(stem: str, document: Document, rule: Rule) -> list[Named]:
    """Return what is wrong in one rule by itself, each with the name of its check.

    Parameters: `stem`, the file's name without its ending; `document` and `rule`, what stands in it.
    """
    found = {"id": _id(stem, rule), "owner_words": _owner(rule), "links": _bound(rule)}
    if isinstance(rule, FaultRule):
        found |= {"law": _law(rule), "size": _size(rule), "sights": _sights(rule)}
        found["examples"] = _examples(rule, (rule.id,))
    elif isinstance(rule, CauseRule):
        found |= {"sights": _cause_words(rule), "examples": _examples(rule, tuple(b.fault for b in rule.brings))}
    return [(name, document.problem(*each)) for name, defects in found.items() for each in defects]


def check_together(document: Document, rule: Rule, rules: RuleBase, sources: Collection[str]) -> list[Named]:
    """Return the links of a rule that lead nowhere, each with the name of its check.

    Parameters: `rules`, all rules; `sources`, the ids of all listed sources.
    """
    found = {"sources": cited(document.data, (), sources), "links": _links(rule, rules)}
    if isinstance(rule, Caution):
        found["unseen_caution"] = _shown(rule, rules)
    return [(name, document.problem(*each)) for name, defects in found.items() for each in defects]


def owner_lines(rule: Rule) -> tuple[tuple[Loc, str], ...]:
    """Return the lines of a rule that an owner hears or reads, each with its path."""
    lines: list[tuple[Loc, str | None]] = []
    if isinstance(rule, FaultRule):
        lines = [(("owner", "tell"), rule.owner.tell), (("owner", "ask"), rule.owner.ask)]
    elif isinstance(rule, TestRule):
        lines = [(("owner_how",), part) for part in (rule.owner_how or "").split(". ")]
    return tuple((loc, line) for loc, line in lines if line)


def _id(stem: str, rule: Rule) -> Found:
    if rule.id != stem:
        yield ("id",), f"`{rule.id}` in the file {stem}.yaml", f"write id: {stem}, or rename the file"
    if isinstance(rule, TestRule) and rule.id not in (*QUANTITIES, *ACTIONS):
        yield ("id",), f"no quantity `{rule.id}`", f"write one of {', '.join((*QUANTITIES, *ACTIONS))}"


def _owner(rule: Rule) -> Found:
    for loc, line in owner_lines(rule):
        yield from owner_line(loc, line)
    if isinstance(rule, TestRule) and rule.owner_may and rule.owner_how is None:
        yield ("owner_may",), "an owner may take this test and is not told how", "write owner_how:"


def _bound(rule: Rule) -> Found:
    """Words of other forms: states, quantities, kinds, chemistries."""
    yield from known_words(("states",), getattr(rule, "states", ()), STATES, "state")
    if isinstance(rule, Caution):
        yield from known_words(("quantities",), rule.quantities, QUANTITIES, "quantity")
        yield from known_words(("kinds",), rule.kinds, KINDS, "kind")
        yield from known_words(("chemistries",), rule.chemistries, chemistries, "chemistry")
    elif isinstance(rule, ComplaintRule):
        for number, favour in enumerate(rule.favours):
            yield from known_words(("favours", number, "kinds"), favour.kinds, KINDS, "kind")
        for number, symptom in enumerate(rule.shows):
            yield from known_words(("shows", number, "when"), symptom.when, STATES, "state")
            if symptom.lost[0] >= symptom.lost[1]:
                yield ("shows", number, "lost"), "the range of what is lost is empty", "write the lower share first"
    elif isinstance(rule, FaultRule):
        for number, place in enumerate(rule.sits_at):
            yield from known_words(("sits_at", number, "kinds"), place.kinds, KINDS, "kind")
    elif isinstance(rule, CauseRule):
        for number, brought in enumerate(rule.brings):
            yield from known_words(("brings", number, "kinds"), brought.kinds, KINDS, "kind")
            yield from known_words(("brings", number, "chemistries"), brought.chemistries, chemistries, "chemistry")


def _law(rule: FaultRule) -> Found:
    yield from known_words(("change",), (rule.change,), LAWS, "change")


def _size(rule: FaultRule) -> Found:
    if rule.size is not None:
        if rule.size.low >= rule.size.high:
            yield ("size", "low"), "the range of sizes is empty", "write the lower number as `low`"
        if rule.size.spread == "log_even" and rule.size.low <= 0:
            yield ("size", "low"), "no logarithm of a number that is not above 0", "write more than 0, or spread: even"


def _sights(rule: FaultRule) -> Found:
    for number, sight in enumerate(rule.sights):
        loc: Loc = ("sights", number)
        yield from known_words((*loc, "word"), (sight.word,), WORDS[sight.quantity], f"word of {sight.quantity}")
        if sight.chance <= sight.sound:
            yield (*loc, "chance"), "no commoner with the fault than without", "leave it out, or mend the chances"


def _cause_words(rule: CauseRule) -> Found:
    for number, each in enumerate(rule.words):
        loc: Loc = ("words", number, "word")
        yield from known_words(loc, (each.word,), WORDS[each.quantity], f"word of {each.quantity}")
    for quantity in dict.fromkeys(each.quantity for each in rule.words):
        total = sum(each.chance for each in rule.words if each.quantity == quantity)
        if total > MOST_WORDS:
            what = f"the words of {quantity} have chances of {total:.2f} in all"
            yield ("words",), what, f"leave room for other words: {MOST_WORDS} at most"


def _examples(rule: FaultRule | CauseRule, faults: tuple[str, ...]) -> Found:
    """Yield what is missing beside a rule whose examples speak of one of some faults."""
    what = "fault" if isinstance(rule, FaultRule) else "cause"
    for ranks_first, name in ((True, f"example that ranks this {what} first"), (False, "look-alike that must not")):
        if not any(example.ranks_first is ranks_first for example in rule.examples):
            yield ("examples",), f"no {name}", f"add one with ranks_first: {str(ranks_first).lower()}"
    for number, example in enumerate(rule.examples):
        loc: Loc = ("examples", number, "place")
        if example.place is None or {"fault", "part"} - example.place.keys():
            yield loc, "no place", f"write place: {{fault: {faults[0]}, part: ..., at: ...}}"
        elif example.place["fault"] not in faults:
            right = " or ".join(dict.fromkeys(faults))
            yield (*loc, "fault"), f"an example of `{example.place['fault']}`", f"write fault: {right}"


def _links(rule: Rule, rules: RuleBase) -> Found:
    families = {fault.family for fault in rules.faults.values()}
    yield from known_words(("cautions",), getattr(rule, "cautions", ()), rules.cautions, "caution")
    if isinstance(rule, Caution):
        yield from known_words(("faults",), rule.faults, rules.faults, "fault")
    elif isinstance(rule, ComplaintRule):
        for number, favour in enumerate(rule.favours):
            yield from known_words(("favours", number, "faults"), favour.faults, rules.faults, "fault")
            yield from known_words(("favours", number, "families"), favour.families, families, "family")
    elif isinstance(rule, OperatingState):
        yield from known_words(("complaints",), rule.complaints, rules.complaints, "complaint")
    elif isinstance(rule, CauseRule):
        for number, told in enumerate(rule.complaints):
            loc: Loc = ("complaints", number, "complaint")
            yield from known_words(loc, (told.complaint,), rules.complaints, "complaint")
        for number, brought in enumerate(rule.brings):
            yield from known_words(("brings", number, "fault"), (brought.fault,), rules.faults, "fault")
            yield from _brought(("brings", number), brought, rules)


def _brought(loc: Loc, brought: Brought, rules: RuleBase) -> Found:
    """Yield a place where the fault cannot sit, and shares of one fault at one place that come to more than all."""
    if (fault := rules.faults.get(brought.fault)) is None:
        return
    for kind in brought.kinds:
        if not any(kind in place.kinds and place.where == brought.where for place in fault.sits_at):
            yield (*loc, "kinds"), f"`{fault.id}` has no {brought.where} at a {kind}", "choose what `sits_at` names"
        for lead in brought.leads or (None,):
            total = sum(_share(cause, brought, kind, lead) for cause in rules.causes.values())
            if total > 1.0 + 1e-9:
                at = f"a {kind}" + (f" ({lead})" if lead else "")
                yield (*loc, "share"), f"shares of `{fault.id}` at {at} come to {total:.2f}", "bring them to 1 or less"


def _share(cause: CauseRule, brought: Brought, kind: str, lead: str | None) -> float:
    """Return the largest share a cause has of a fault at one kind of place."""
    alike = (b for b in cause.brings if (b.fault, b.where) == (brought.fault, brought.where) and kind in b.kinds)
    apart = (b for b in alike if not b.to or not brought.to or set(b.to) & set(brought.to))
    return max((b.share for b in apart if not b.leads or lead in b.leads), default=0.0)


def _shown(rule: Caution, rules: RuleBase) -> Found:
    """A caution that nothing leads to is never shown."""
    bindings = (rule.states, rule.quantities, rule.kinds, rule.faults, rule.chemistries, rule.actions)
    pointing: list[FaultRule | TestRule | ComplaintRule | CauseRule] = [
        *rules.faults.values(), *rules.tests.values(), *rules.complaints.values(), *rules.causes.values()
    ]  # fmt: skip
    if not any(bindings) and not any(rule.id in other.cautions for other in pointing):
        yield ("id",), "a caution that is never shown", "bind it to states, quantities, kinds, faults or actions"
