"""From a fault at its place, and what eyes, nose and hands found there, to its likely causes.

Causes compete with one another within the fault they bring about, never with other faults: shares come from the rule
base, words and the complaint weigh them, and what no cause of the rule base explains stays with a cause that has no
name. No circuit is solved here.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.causes import Brought, CauseRule, LikelyCause
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Charger, Load, Part
from diagnose.model.reading import Reading
from diagnose.model.rules import ComplaintRule, RuleBase
from diagnose.model.terminals import ends_of, points_of
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.prediction.sights import SOUND_WORD, Sights

__all__ = ["LEADING", "leads_of", "likely_causes"]

#: chance at which a leading cause's own remedy stands in for the general one of its fault
LEADING = 0.6
#: least share left to a cause that has no name, and least chance of a word under a cause
NAMELESS, STRAY = 0.02, 0.004
#: causes below this chance are not worth naming
NAMED = 0.01


def likely_causes(
    fault: FaultAt,
    installation: Installation,
    rules: RuleBase,
    sights: Sights,
    readings: Sequence[Reading] = (),
    complaint: ComplaintRule | None = None,
) -> tuple[LikelyCause, ...]:
    """Return the causes of a fault at its place with their chances, likeliest first.

    Parameters: `fault`, taken as given; `sights`, of the same rules; `readings`, of which only words found by looking,
    smelling, tugging or wiggling at this part count, up to its repair; `complaint`, what people said.
    Returns: causes of the rule base; what is missing to 1 is a cause that has no name.
    """
    here = Hypothesis(fault, rules.faults[fault.fault], 1.0)
    words = _words_at(fault, readings)
    leads = leads_of(fault, installation)
    shares = {name: _share(rule, fault, installation, leads) for name, rule in rules.causes.items()}
    weights = {n: s * _chance(rules.causes[n], here, words, sights, complaint) for n, s in shares.items() if s > 0.0}
    if not weights:
        return ()
    nameless = max(1.0 - sum(shares.values()), NAMELESS)
    for quantity, place, word in words:
        nameless *= sights.chance(quantity, place, word, here)
    total = sum(weights.values()) + nameless
    order = sorted(weights, key=lambda name: (-weights[name], name))
    return tuple(_likely(rules.causes[n], weights[n] / total) for n in order if weights[n] / total >= NAMED)


def _share(rule: CauseRule, fault: FaultAt, installation: Installation, leads: frozenset[str]) -> float:
    """Return the share a cause has of a fault at its place; 0 where it cannot bring it about."""
    return max((b.share for b in rule.brings if _fits(b, fault, installation, leads)), default=0.0)


def leads_of(fault: FaultAt, installation: Installation) -> frozenset[str]:
    """Return what the faulty end of a cable (or the whole cable) serves: ignition, profile, earth and the like.

    What it belongs to is told by either end of the cable, and so is `free_end`; `earth` by the faulty end alone.
    """
    part = installation.parts[fault.part]
    ends = ends_of(part)
    at = (fault.at,) if fault.at is not None else ends
    serves = {p: role for each in installation.parts.values() for p, role in _terminals(each)}
    found = {serves[end] for end in ends if end in serves}
    if found & {"ignition", "profile"}:  # a lead that only senses is no return, wherever it is tied
        found &= {"ignition", "profile"}
    others = [p for name, p in installation.parts.items() if name != fault.part]
    joined = {point for p in others for point in points_of(p)}
    bonded = {end for p in others if p.kind == "bond" for end in ends_of(p)}
    found |= {"earth"} if bonded.intersection(at) else set()
    if part.kind == "cable" and not joined.issuperset(ends):
        found.add("free_end")
    return frozenset(found)


def _terminals(part: Part) -> list[tuple[str, str]]:
    """Return the points of a part that give a lead its purpose."""
    if isinstance(part, Charger):
        named = ((part.ignition, "ignition"), (part.profile_lead, "profile"), (part.negative, "negative"))
        return [(point, role) for point, role in named if point]
    return [(part.pos, "load_feed")] if isinstance(part, Load) else []


def _fits(brought: Brought, fault: FaultAt, installation: Installation, leads: frozenset[str]) -> bool:
    part = installation.parts[fault.part]
    where = "part" if fault.at is None else "termination"
    if (brought.fault, brought.where) != (fault.fault, where) or part.kind not in brought.kinds:
        return False
    if brought.chemistries and getattr(part, "chemistry", None) not in brought.chemistries:
        return False
    if brought.to and _gone_to(fault, installation) not in brought.to:
        return False
    return not brought.leads or bool(leads.intersection(brought.leads))


def _gone_to(fault: FaultAt, installation: Installation) -> str:
    """Return what a lead on the wrong place was put on: a battery's post, a port of a charger, or elsewhere."""
    for part in installation.parts.values():
        if isinstance(part, Battery) and fault.to in (part.pos, part.neg):
            return "post"
        if isinstance(part, Charger) and fault.to in (part.input, part.output, part.negative):
            return "port"
    return "elsewhere"


def _words_at(fault: FaultAt, readings: Sequence[Reading]) -> list[tuple[str, str, str]]:
    """Return (quantity, place, word) of what was found at the fault's part, each once, until it was repaired."""
    found = []
    for reading in readings:
        if reading.repaired is not None and reading.repaired.part == fault.part:
            break
        take, read = reading.take, reading.read
        if take is None or read is None or read.word is None or take.quantity not in SOUND_WORD:
            continue
        if take.where[0].partition("@")[0] == fault.part:
            found.append((take.quantity, take.where[0], read.word))
    return list(dict.fromkeys(found))


def _chance(
    rule: CauseRule,
    here: Hypothesis,
    words: list[tuple[str, str, str]],
    sights: Sights,
    complaint: ComplaintRule | None,
) -> float:
    """Return the chance of what was found under a cause, up to a factor that all causes share."""
    chance = 1.0
    for quantity, place, word in words:
        chance *= max(_word_chances(rule, here, quantity, place, sights).get(word, 0.0), STRAY)
    if complaint is not None:
        for told in rule.complaints:
            chance *= told.ratio if told.complaint == complaint.id else 1.0
    return chance


def _word_chances(rule: CauseRule, here: Hypothesis, quantity: str, place: str, sights: Sights) -> dict[str, float]:
    """Return the chances of all words of a quantity under a cause.

    Where the cause names words of the quantity, the others are found as often as on a sound part; where it names none,
    or the look reaches another end of the part, the fault speaks for it.
    """
    own = {w.word: w.chance for w in rule.words if w.quantity == quantity}
    point = place.partition("@")[2]
    elsewhere = bool(point) and here.fault is not None and point != here.fault.at
    nothing = SOUND_WORD[quantity]
    base = SOUND if own and not elsewhere else here
    others = {w: sights.chance(quantity, place, w, base) for w in sights.words(quantity) if w != nothing}
    others |= {} if elsewhere else {w: c for w, c in own.items() if w != nothing}
    left = 1.0 - (own[nothing] if nothing in own and not elsewhere else 0.0)
    total = sum(others.values())
    scale = min(1.0, 0.98 * left / total) if nothing not in own or elsewhere else left / total if total else 1.0
    chances = {w: c * scale for w, c in others.items()}
    return chances | {nothing: max(1.0 - sum(chances.values()), 0.0)}


def _likely(rule: CauseRule, chance: float) -> LikelyCause:
    return LikelyCause(rule.id, rule.name, chance, rule.says, rule.remedy, rule.proof)
