"""Every fault of the rule base at every place of an installation where it can sit.

A hypothesis is a fault at a place, with the weight the rule base gives it there; the first one is always that nothing
is wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from diagnose.circuit.topology import negative_side
from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.parts import Battery, Cable, Charger
from diagnose.model.rules import FaultRule, RuleBase
from diagnose.model.terminals import ends_of

__all__ = ["SOUND", "Hypothesis", "all_hypotheses", "spread_over_kinds"]


class Hypothesis(NamedTuple):
    """One fault at one place, or no fault; `weight` is relative to the other faults of the installation."""

    fault: FaultAt | None
    rule: FaultRule | None
    weight: float

    @property
    def label(self) -> str:
        """Return a short name such as ``high_resistance tray_strap``."""
        if self.fault is None:
            return "nothing wrong"
        return " ".join(str(p) for p in (self.fault.fault, self.fault.part, self.fault.at, self.fault.to) if p)

    @property
    def place(self) -> str:
        """Return the part and end that would be repaired; nothing for no fault."""
        return "" if self.fault is None else f"{self.fault.part}@{self.fault.at or ''}"


SOUND = Hypothesis(None, None, 0.0)


def all_hypotheses(installation: Installation, rules: RuleBase) -> tuple[Hypothesis, ...]:
    """Return no fault and every fault at every place, in a fixed order."""
    negative = negative_side(installation)
    found = [SOUND]
    for rule in rules.faults.values():
        for place in rule.sits_at:
            weight = rule.frequency.weight * place.weight
            for name, part in installation.parts.items():
                if part.kind in place.kinds and getattr(part, "position", "closed") == "closed":
                    for fault, share in _at(rule, place.where, name, installation, negative):
                        found.append(Hypothesis(fault, rule, weight * share))
    return tuple(found)


def spread_over_kinds(hypotheses: Sequence[Hypothesis], share: float) -> tuple[Hypothesis, ...]:
    """Return the hypotheses with some weight given to each kind of fault alike whose frequency is judgement.

    Parameters: `share` of the weight of those kinds, from 0 to 1; within a kind the weights keep their proportions, and
    a frequency that was counted stays as it is.

    >>> faults = [Hypothesis(FaultAt(kind, part), None, w) for kind, part, w in (("a", "p", 6.0), ("b", "p", 2.0))]
    >>> [h.weight for h in spread_over_kinds([SOUND, *faults], 0.5)]
    [0.0, 5.0, 3.0]
    """
    kinds: dict[str, float] = {}
    for one in hypotheses:
        if one.fault is not None and (one.rule is None or one.rule.frequency.confidence == "judgement"):
            kinds[one.fault.fault] = kinds.get(one.fault.fault, 0.0) + one.weight
    each = share * sum(kinds.values()) / max(len(kinds), 1)
    factor = {kind: (1.0 - share) + each / weight for kind, weight in kinds.items() if weight > 0.0}
    return tuple(
        one if one.fault is None else one._replace(weight=one.weight * factor.get(one.fault.fault, 1.0))
        for one in hypotheses
    )


def _at(
    rule: FaultRule, where: str, name: str, installation: Installation, negative: frozenset[str]
) -> Iterator[tuple[FaultAt, float]]:
    """Yield the places of one fault at one part, each with its share of the weight."""
    part = installation.parts[name]
    if rule.change == "disconnect" and not getattr(part, "protection", False):
        return
    if rule.change == "join_negative" and any(end in negative for end in ends_of(part)):
        return
    if rule.change == "reverse" and isinstance(part, Charger) and part.input is None:
        return
    if rule.change == "profile" and (not isinstance(part, Charger) or part.profile_lead or len(part.profiles) < 2):
        return
    if rule.change == "move_end":
        targets = list(_misplaced(name, installation, negative))
        for at, to in targets:
            yield FaultAt(rule.id, name, at, to), 1.0 / len(targets)
    elif where == "termination":
        for end in ends_of(part):
            yield FaultAt(rule.id, name, end), 1.0
    else:
        yield FaultAt(rule.id, name), 1.0


def _misplaced(name: str, installation: Installation, negative: frozenset[str]) -> Iterator[tuple[str, str]]:
    """Yield where the far end of a charger's lead or of a load's feed could have gone by mistake.

    Only posts and charger ports of the same polarity are taken: they are what an installer has before them.
    """
    cable = installation.parts[name]
    if not isinstance(cable, Cable):
        return
    parts = installation.parts.values()
    chargers = [p for p in parts if isinstance(p, Charger)]
    signal = {p for c in chargers for p in (c.ignition, c.profile_lead) if p}
    own = signal | {c.negative for c in chargers} | {p.pos for p in parts if p.kind == "load"}
    posts = [p for b in parts if isinstance(b, Battery) for p in (b.pos, b.neg)]
    ports = [p for c in chargers for p in (c.input, c.output, c.negative) if p]
    ties = [p.tied_to for c in chargers for p in c.profiles if p.tied_to and p.tied_to != "nothing"]
    for near, far in (cable.ends, cable.ends[::-1]):
        if near in signal or (near in own and far not in own):
            for to in dict.fromkeys(posts + ports + ties):
                if to not in (near, far) and (near in signal or (to in negative) == (far in negative)):
                    yield far, to
