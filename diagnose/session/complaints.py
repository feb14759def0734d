"""From people's words, typing errors among them, to complaints of the rule base; and the nearest where none is clear.

The engine has its own, stricter reading of free words; this one is for a dialogue, which says what it understood.
"""

from __future__ import annotations

import difflib
import re

from diagnose.model.rules import ComplaintRule, RuleBase

__all__ = ["nearest_complaints", "understood_complaint"]

#: words that mean the same at the vehicle -> the one that the rules use
SAME = {
    "accu": "battery", "aux": "house", "auxiliary": "house", "leisure": "house", "second": "house", "cooler": "fridge",
    "esky": "fridge", "icebox": "fridge", "refrigerator": "fridge", "panel": "solar", "panels": "solar", "sun": "solar",
    "dead": "flat", "empty": "flat", "drained": "flat", "blows": "blowing", "blown": "blowing", "trips": "blowing",
    "led": "light", "lamp": "light", "indicator": "light", "lifepo4": "lithium", "motor": "engine",
    "drive": "driving", "road": "driving", "heats": "hot", "warm": "hot",
    "isn": "not", "doesn": "not", "doesnt": "not", "dosnt": "not", "wont": "not", "cant": "not", "never": "not",
    "no": "not", "nothing": "not", "clicking": "clicks", "click": "clicks", "cycling": "clicks", "slow": "slowly",
}  # fmt: skip
_SMALL = (
    "a an and are at but by does do for has have i in is it its just my of off on or so that the then there this to up "
    "very was when while with all time work works working"
)
SMALL = frozenset(_SMALL.split())
CLEAR, NEAR, LEAD = 0.5, 0.25, 0.04


def understood_complaint(text: str, rules: RuleBase) -> ComplaintRule | None:
    """Return the complaint that words mean clearly, or None.

    Parameters: `text`, free words, an id, or a number counted from 1 in the order of the rule base.
    """
    said = text.strip()
    ordered = list(rules.complaints.values())
    if said.isdecimal() and len(said) < 4:
        return ordered[int(said) - 1] if 1 <= int(said) <= len(ordered) else None
    if said in rules.complaints:
        return rules.complaints[said]
    scored = _scored(said, rules)
    clear = scored and scored[0][0] >= CLEAR and (len(scored) < 2 or scored[0][0] - scored[1][0] >= LEAD)
    return scored[0][1] if clear else None


def nearest_complaints(text: str, rules: RuleBase, most: int = 3) -> tuple[ComplaintRule, ...]:
    """Return the complaints that come nearest to words, the nearest first; none where nothing is near."""
    return tuple(rule for score, rule in _scored(text, rules)[:most] if score >= NEAR)


def _scored(text: str, rules: RuleBase) -> list[tuple[float, ComplaintRule]]:
    said = _words(text)
    found = [(max(_alike(said, _words(p)) for p in (r.says, *r.words)), r) for r in rules.complaints.values()]
    return sorted(found, key=lambda pair: -pair[0])


def _alike(said: list[str], phrase: list[str]) -> float:
    """Return how alike two lists of words are, 0 to 1: what both share, over what either has; `not` counts half."""
    if not said or not phrase:
        return 0.0
    shared = sum(_weight(w) for w in phrase if w in said or difflib.get_close_matches(w, said, 1, 0.74))
    return 2.0 * shared / (sum(map(_weight, said)) + sum(map(_weight, phrase)))


def _weight(word: str) -> float:
    return 0.5 if word in ("not", "battery", "charge", "charger") else 1.0


def _words(text: str) -> list[str]:
    raw = re.findall(r"[a-z0-9]+", text.lower().replace("n't", " not"))
    return list(dict.fromkeys(SAME.get(w, w) for w in raw if w not in SMALL))
