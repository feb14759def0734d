"""What must hold in a rule beyond its form, alone and together with the others, each defect with its place.

One small check a defect. The checks must not read files and must not judge wording beyond what can be counted.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Any, get_args

from diagnose.basics.errors import Problem, did_you_mean
from diagnose.circuit.faults import LAWS
from diagnose.model.figures import NO_SOURCE
from diagnose.model.parts import Part, chemistries
from diagnose.model.reading import QUANTITIES, STATES
from diagnose.model.rules import Caution, ComplaintRule, FaultRule, RuleBase, TestRule
from diagnose.model.words import WORDS
from diagnose.store.yaml_text import Document, Loc

__all__ = ["ACTIONS", "KINDS", "MOST_OWNER_WORDS", "Rule", "check_alone", "check_together", "owner_lines"]

Rule = FaultRule | TestRule | ComplaintRule | Caution
Found = Iterator[tuple[Loc, str, str]]
#: what can be fitted while a reading is taken; it costs minutes beside those of the reading
ACTIONS = ("jumper", "swap")
KINDS = tuple(kind for form in get_args(get_args(Part)[0]) for kind in get_args(form.model_fields["kind"].annotation))
MOST_OWNER_WORDS = 15


def check_alone(stem: str, document: Document, rule: Rule) -> list[Problem]:
    """Return what is wrong in one rule by itself.

    Parameters: `stem`, the file's name without its ending; `document` and `rule`, what stands in it.
    """
    found = [*_id(stem, rule), *_owner(rule), *_bound(rule)]
    if isinstance(rule, FaultRule):
        found += [*_law(rule), *_size(rule), *_sights(rule), *_examples(rule)]
    return [document.problem(*each) for each in found]


def check_together(document: Document, rule: Rule, rules: RuleBase, sources: Collection[str]) -> list[Problem]:
    """Return the links of a rule that lead nowhere.

    Parameters: `rules`, all rules; `sources`, the ids of all listed sources.
    """
    found = [*_sources(document.data, (), sources), *_links(rule, rules)]
    if isinstance(rule, Caution):
        found += _shown(rule, rules)
    return [document.problem(*each) for each in found]


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
        if len(line.split()) > MOST_OWNER_WORDS:
            yield loc, f"{len(line.split())} words for an owner", f"say it in {MOST_OWNER_WORDS} words"
        if " and " in line.lower():
            yield loc, "two things at once for an owner", "leave `and` out: one act, or one thought, at a time"
    if isinstance(rule, TestRule) and rule.owner_may and rule.owner_how is None:
        yield ("owner_may",), "an owner may take this test and is not told how", "write owner_how:"


def _bound(rule: Rule) -> Found:
    """Words of other forms: states, quantities, kinds, chemistries."""
    yield from _known(("states",), getattr(rule, "states", ()), STATES, "state")
    if isinstance(rule, Caution):
        yield from _known(("quantities",), rule.quantities, QUANTITIES, "quantity")
        yield from _known(("kinds",), rule.kinds, KINDS, "kind")
        yield from _known(("chemistries",), rule.chemistries, chemistries, "chemistry")
    elif isinstance(rule, ComplaintRule):
        for number, favour in enumerate(rule.favours):
            yield from _known(("favours", number, "kinds"), favour.kinds, KINDS, "kind")
    elif isinstance(rule, FaultRule):
        for number, place in enumerate(rule.sits_at):
            yield from _known(("sits_at", number, "kinds"), place.kinds, KINDS, "kind")


def _law(rule: FaultRule) -> Found:
    yield from _known(("change",), (rule.change,), LAWS, "change")


def _size(rule: FaultRule) -> Found:
    if rule.size is not None:
        if rule.size.low >= rule.size.high:
            yield ("size", "low"), "the range of sizes is empty", "write the lower number as `low`"
        if rule.size.spread == "log_even" and rule.size.low <= 0:
            yield ("size", "low"), "no logarithm of a number that is not above 0", "write more than 0, or spread: even"


def _sights(rule: FaultRule) -> Found:
    for number, sight in enumerate(rule.sights):
        loc: Loc = ("sights", number)
        yield from _known((*loc, "word"), (sight.word,), WORDS[sight.quantity], f"word of {sight.quantity}")
        if sight.chance <= sight.sound:
            yield (*loc, "chance"), "no commoner with the fault than without", "leave it out, or mend the chances"


def _examples(rule: FaultRule) -> Found:
    for ranks_first, name in ((True, "example that ranks this fault first"), (False, "look-alike that must not")):
        if not any(example.ranks_first is ranks_first for example in rule.examples):
            yield ("examples",), f"no {name}", f"add one with ranks_first: {str(ranks_first).lower()}"
    for number, example in enumerate(rule.examples):
        loc: Loc = ("examples", number, "place")
        if example.place is None or {"fault", "part"} - example.place.keys():
            yield loc, "no place", f"write place: {{fault: {rule.id}, part: ..., at: ...}}"
        elif example.place["fault"] != rule.id:
            yield (*loc, "fault"), f"an example of `{example.place['fault']}`", f"write fault: {rule.id}"


def _sources(data: Any, loc: Loc, sources: Collection[str]) -> Found:
    """Every `source` is listed or says that there is none, and its confidence agrees."""
    steps = enumerate(data) if isinstance(data, list) else data.items() if isinstance(data, dict) else ()
    for step, value in steps:
        if step != "source":
            yield from _sources(value, (*loc, step), sources)
        elif value != NO_SOURCE:
            yield from _known((*loc, "source"), (value,), sources, "source")
    if isinstance(data, dict) and (data.get("source") == NO_SOURCE) != (data.get("confidence") == "judgement"):
        yield (*loc, "source"), "`source` and `confidence` disagree", f"judgement goes with `{NO_SOURCE}`"


def _links(rule: Rule, rules: RuleBase) -> Found:
    families = {fault.family for fault in rules.faults.values()}
    yield from _known(("cautions",), getattr(rule, "cautions", ()), rules.cautions, "caution")
    if isinstance(rule, Caution):
        yield from _known(("faults",), rule.faults, rules.faults, "fault")
    elif isinstance(rule, ComplaintRule):
        for number, favour in enumerate(rule.favours):
            yield from _known(("favours", number, "faults"), favour.faults, rules.faults, "fault")
            yield from _known(("favours", number, "families"), favour.families, families, "family")


def _shown(rule: Caution, rules: RuleBase) -> Found:
    """A caution that nothing leads to is never shown."""
    bindings = (rule.states, rule.quantities, rule.kinds, rule.faults, rule.chemistries, rule.actions)
    pointing: list[FaultRule | TestRule | ComplaintRule] = [
        *rules.faults.values(), *rules.tests.values(), *rules.complaints.values()
    ]  # fmt: skip
    if not any(bindings) and not any(rule.id in other.cautions for other in pointing):
        yield ("id",), "a caution that is never shown", "bind it to states, quantities, kinds, faults or actions"


def _known(loc: Loc, words: Collection[Any], known: Collection[str], what: str) -> Found:
    """Yield each word that is not known; `loc` is that of the list, or of the word where it stands alone."""
    for word in words:
        if word not in known:
            close = did_you_mean(str(word), known)
            right = f"did you mean {close}?" if close else f"write one of {', '.join(sorted(known))}"
            yield loc, f"no {what} `{word}`", right
