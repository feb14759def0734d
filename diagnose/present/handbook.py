"""A page of the handbook as lines for a terminal: what a fault is, how it reads here, how to prove and to repair it.

Shows one record and computes nothing. Cautions stand before the instruction they belong to.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.model.expected import Expected
from diagnose.model.handbook import HandbookPage, Here
from diagnose.model.rules import Caution, FaultRule, RuleBase
from diagnose.present.terminal import FIRST_WORDS
from diagnose.present.walk_words import fault_words, figure, test_words, wrapped

__all__ = ["handbook_lines"]

#: places of an installation that are named
PLACES = 8
#: chance from which a word is named
NAMED = 0.01


def handbook_lines(page: HandbookPage, rules: RuleBase, width: int = 80) -> list[str]:
    """Return the page of a fault as lines.

    Parameters: `rules`, for the names of faults; `width` of the terminal [columns].
    """
    rule = page.rule
    lines = wrapped(f"{rule.name[:1].upper()}{rule.name[1:]} ({rule.id}, family {rule.family})", width)
    lines += _part("What it is", [rule.says, *_size(rule), f"To an owner: {rule.owner.tell}"], width)
    lines += _part("Where it can sit, the likeliest first", _sits(rule), width)
    if page.here is not None:
        lines += _part(f"Where it can sit on: {page.here.installation.title}", _places(page.here, rules), width)
    lines += _part("What people notice", rule.noticed, width)
    said = [f'"{says.rstrip(".")}", {ratio:.2g} times as often as with other faults' for says, ratio in page.complaints]
    lines += _part("What people say", said, width)
    lines += _part("What eyes, nose and hands find", _sights(rule), width)
    lines += _part("What brings it about", [f"{cause.name}: {cause.says}" for cause in page.causes], width)
    lines += _here(page, rules, width)
    hows = [f"{test.name}: {test.how}" for test in page.tests]
    lines += _part("How to prove it", hows, width, page.to_prove)
    minutes = f"It takes about {rule.repair.minutes:g} min; cost of parts: {rule.repair.parts}."
    lines += _part("How to repair it", [rule.remedy, minutes], width, page.to_repair)
    lines += _part("Proof of the repair", [rule.proof], width)
    lines += _part("Examples", _examples(rule), width)
    return [*lines, *_part("Sources", _sources(page), width), "", *wrapped(FIRST_WORDS, width)]


def _part(heading: str, items: Sequence[str], width: int, cautions: Iterable[Caution] = ()) -> list[str]:
    """Return a heading, the cautions, and a line for each item; nothing where there is no item."""
    if not items:
        return []
    lines = ["", *wrapped(heading, width)]
    for caution in cautions:
        lines += wrapped(f"Caution: {caution.says}", width, "  ", "  ")
    for item in items:
        lines += wrapped(f"- {item}" if len(items) > 1 else item, width, "  ", "  ")
    return lines


def _size(rule: FaultRule) -> list[str]:
    if rule.size is None:
        return []
    return [f"How large: {rule.size.low:g} to {rule.size.high:g} {rule.size.unit}."]


def _sits(rule: FaultRule) -> list[str]:
    said = []
    for place in sorted(rule.sits_at, key=lambda place: -place.weight):
        kinds = " or ".join(kind.replace("_", " ") for kind in place.kinds)
        said.append(f"{'at either end of' if place.where == 'termination' else 'in'} a {kinds}")
    return said


def _places(here: Here, rules: RuleBase) -> list[str]:
    if not here.places:
        return ["nowhere: nothing is fitted that can have it"]
    name = rules.faults[here.places[0].fault].name
    said = [fault_words(p, here.installation, rules).removeprefix(f"{name} ") for p in here.places[:PLACES]]
    more = len(here.places) - PLACES
    return [*said, f"and {more} place{'s' if more > 1 else ''} more"] if more > 0 else said


def _sights(rule: FaultRule) -> list[str]:
    return [
        f"{sight.quantity}: {sight.word.replace('_', ' ')}, in {100 * sight.chance:.2g} of 100 with it and in "
        f"{100 * sight.sound:.2g} of 100 sound ones"
        for sight in rule.sights
    ]


def _here(page: HandbookPage, rules: RuleBase, width: int) -> list[str]:
    """Return how a fault reads on the installation, sound beside faulty."""
    here = page.here
    if here is None:
        right = f"diagnose rules show {page.rule.id} --on INSTALLATION"
        return _part("How it reads", [f"That depends on what is fitted: {right}"], width)
    if not here.places:
        return []
    heading = f"How it reads here: {fault_words(here.places[0], here.installation, rules)}"
    if not here.telling:
        return _part(heading, ["No usual test tells it from a sound one at this place."], width)
    lines = ["", *wrapped(heading, width)]
    for each in here.telling:
        lines += wrapped(f"{test_words(each.sound.take, here.installation)}:", width, "  ", "  ")
        lines += wrapped(f"sound:  {_expected(each.sound)}", width, "    ", "  ")
        lines += wrapped(f"faulty: {_expected(each.faulty)}", width, "    ", "  ")
        limit = each.sound.limit
        if limit is not None:
            ends = [figure(end, each.sound.unit) for end in (limit.low, limit.high) if end is not None]
            lines += wrapped(f"limit:  {' to '.join(ends)}, {limit.why}", width, "    ", "  ")
    return lines


def _expected(one: Expected) -> str:
    """Return a band, or the chances of words, or both."""
    said = []
    if one.low is not None and one.high is not None:
        said.append(f"{figure(one.low, one.unit)} to {figure(one.high, one.unit)}")
    words = sorted((each for each in one.chances if each[1] >= NAMED), key=lambda each: -each[1])
    said += [f"{word.replace('_', ' ')} {chance:.0%}" for word, chance in words]
    return ", ".join(said) or "nothing that can be told"


def _examples(rule: FaultRule) -> list[str]:
    return [
        f"{'It is this' if example.ranks_first else 'It only looks like this'}: {example.says} "
        f"({len(example.readings)} readings on {_named(example.installation)})"
        for example in rule.examples
    ]


def _named(installation: object) -> str:
    return installation if isinstance(installation, str) else "an installation of its own"


def _sources(page: HandbookPage) -> list[str]:
    said = [f"{name}: {source.title}, {source.edition} ({source.kind})" for name, source in page.sources]
    if page.judged:
        said.append(f"{page.judged} number{'s rest' if page.judged > 1 else ' rests'} on judgement: none is published")
    return said
