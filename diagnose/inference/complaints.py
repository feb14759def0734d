"""From people's own words to a complaint of the rule base, and what it makes likelier."""

from __future__ import annotations

import difflib
import re
from functools import lru_cache

from diagnose.model.installation import Installation
from diagnose.model.rules import ComplaintRule, RuleBase
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["complaint_ratio", "match_complaint"]

SMALL_WORDS = frozenset({
    "a", "an", "and", "are", "at", "but", "does", "in", "is", "it", "its", "my", "no", "not", "of", "off", "on", "or",
    "the", "then", "to", "up", "when", "while", "with",
})  # fmt: skip
#: words that turn round what is said
NEGATIONS = (
    "cannot", "cant", "dead", "didnt", "doesnt", "dont", "empty", "failed", "fails", "flat", "isnt", "never", "no",
    "not", "nothing", "only", "refuses", "stopped", "stops", "without", "wont", "zero",
)  # fmt: skip
#: letters of a word up to which one letter makes it another word: `no` is not `now`
SHORTEST = 3
#: how much a phrase counts that says that something does not happen, where nothing of the kind was said
TURNED = 0.6


@lru_cache(1024)
def _words(text: str) -> tuple[str, ...]:
    """Return the words that count; the phrases of the rules are cut up once."""
    found = re.findall(r"[a-z0-9]+", text.lower().replace("n't", " not"))
    return tuple(w for w in found if w not in SMALL_WORDS or w in ("no", "not"))


@lru_cache(4096)
def _was_said(word: str, said: tuple[str, ...]) -> bool:
    """Return whether a word was said, typing errors forgiven but in the shortest; many phrases share a word."""
    return word in said or (len(word) > SHORTEST and bool(difflib.get_close_matches(word, said, 1, 0.8)))


@lru_cache(1024)
def _negated(words: tuple[str, ...]) -> bool:
    """Return whether it is said that something does not happen, typing errors forgiven."""
    return any(_was_said(word, words) for word in NEGATIONS)


def _overlap(said: tuple[str, ...], phrase: tuple[str, ...]) -> float:
    """Return how much of a phrase was said, typing errors forgiven, less what was said beside it."""
    if not phrase or not said:
        return 0.0
    hits = sum(_was_said(word, said) for word in phrase)
    turned = TURNED if hits and not _negated(said) and _negated(phrase) else 1.0
    return turned * hits / len(phrase) - 0.02 * max(len(said) - hits, 0)


def match_complaint(text: str | None, rules: RuleBase) -> ComplaintRule | None:
    """Return the complaint that free words (or an id) mean, or None where they mean none of them clearly."""
    if not text:
        return None
    if text.strip() in rules.complaints:
        return rules.complaints[text.strip()]
    said = _words(text)
    best, score = None, 0.55
    for rule in rules.complaints.values():
        for phrase in (rule.says, *rule.words):
            overlap = _overlap(said, _words(phrase))
            if overlap > score:
                best, score = rule, overlap
    return best


def complaint_ratio(rule: ComplaintRule | None, hypothesis: Hypothesis, installation: Installation) -> float:
    """Return how much likelier a complaint makes a hypothesis than it was."""
    ratio = 1.0
    if rule is None or hypothesis.fault is None or hypothesis.rule is None:
        return ratio
    kind = installation.parts[hypothesis.fault.part].kind
    for favour in rule.favours:
        named = hypothesis.fault.fault in favour.faults or hypothesis.rule.family in favour.families
        if favour.kinds and (favour.faults or favour.families):
            named = named and kind in favour.kinds
        elif favour.kinds:
            named = kind in favour.kinds
        ratio *= favour.ratio if named else 1.0
    return ratio
