"""What is done at an end: send a person or not, with which parts, or let the owner put it right; by belief alone.

Words are made elsewhere; sizes come from the installation.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, NamedTuple

import numpy as np

from diagnose.basics.quantities import Span, format_span
from diagnose.circuit.elimination import Array
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["THOUGHT_OF", "Decision", "act_for", "decide", "needs", "owner_acts", "part_for", "size_of"]

#: parts on a van list at most, and the least chance that one is wanted
MOST, LEAST = 3, 0.02
#: chance of a fault from which on it is thought of: named at an end, and what is unsafe with it is not done
THOUGHT_OF = 0.05
JOINTS = ("open_circuit", "high_resistance", "intermittent")
#: kind of part -> what is brought along for it
BY_KIND = {
    "bond": "strap", "contact": "plug", "switch": "switch", "relay": "relay", "diode": "relay", "shunt": "relay",
    "battery": "battery", "charger": "charger", "supply": "charger", "panel": "panel", "alternator": "alternator",
}  # fmt: skip


class Decision(NamedTuple):
    """What follows from a belief.

    `send`; `bring`, names of at most three kinds of part, likeliest first; `owner`, the fault that an owner puts right
    alone, where that is the likeliest; `visit`, `alone`, chances that a person is needed and that the owner can do it;
    `costs` [min] of sending and of not sending; `minutes` [min] of the repair.
    """

    send: bool
    bring: tuple[str, ...]
    owner: str | None
    visit: float
    alone: float
    costs: tuple[float, float]
    minutes: float


def part_for(hypothesis: Hypothesis, installation: Installation) -> str | None:
    """Return what is brought along for a fault, None where a repair needs no part.

    Parameters: `hypothesis`, a fault at a place.
    """
    fault, rule = hypothesis.fault, hypothesis.rule
    if fault is None or rule is None or rule.repair.parts == "none":
        return None
    kind = installation.parts[fault.part].kind
    if kind in ("cable", "fuse") and fault.fault in JOINTS and fault.at is not None:
        return "connections"
    if kind == "fuse":
        return "fuses" if fault.fault in ("blown", "wrong_rating") else "connections"
    if kind == "cable":
        return "cable"
    return BY_KIND.get(kind)


def size_of(name: str, fault: FaultAt, installation: Installation) -> str | None:
    """Return the size that a part must have, in words, or None where it has none."""
    part: Any = installation.parts[fault.part]
    if name == "connections" and part.kind == "fuse":
        return f"{_span(part.rating, 'current')} {part.style} fuses"
    if name in ("connections", "cable"):
        return _span(part.area, "area") if part.kind == "cable" else None
    if name == "fuses":
        return f"{_span(part.rating, 'current')} {part.style}"
    if name == "battery":
        return f"{part.chemistry} {_span(part.capacity, 'capacity')}"
    if name == "charger":
        return _span(part.rating, "current")
    return _span(part.power, "power") if name == "panel" else None


def _span(span: Span, dimension: str) -> str:
    return format_span(span, dimension, 6)


def decide(
    belief: Array, unlisted: float, hypotheses: Collection[Hypothesis], installation: Installation, tables: Tables,
    owner_can: Collection[str], danger: bool, not_with: Mapping[str, Collection[str]],
) -> Decision:  # fmt: skip
    """Return what is done.

    Parameters: `belief` (hypotheses,) with `unlisted`, summing to 1; `owner_can`, faults an owner puts right alone;
    `danger`, whether a sign of it was told; `not_with`, by such a fault the others of which none may be thought of
    meanwhile.
    """
    parts: dict[str, float] = {}
    alone: dict[str, float] = {}
    visit, minutes = unlisted, 0.0
    for chance, hypothesis in zip(np.asarray(belief).tolist(), hypotheses, strict=True):
        if hypothesis.fault is None or hypothesis.rule is None:
            continue
        if not needs(hypothesis, installation, owner_can):
            alone[hypothesis.fault.fault] = alone.get(hypothesis.fault.fault, 0.0) + chance
            continue
        visit += chance
        minutes += chance * hypothesis.rule.repair.minutes
        name = part_for(hypothesis, installation)
        if name is not None:
            parts[name] = parts.get(name, 0.0) + chance
    way, missed = tables.number("scripts", "visit"), tables.number("scripts", "missed")
    costs = way + minutes, visit * (missed + way) + minutes
    send = danger or costs[0] < costs[1]
    best = sorted(parts, key=lambda name: (-parts[name], name))[:MOST]
    bring = tuple(name for name in best if parts[name] >= LEAST)
    by_owner = max(alone, key=lambda name: alone[name], default=None)
    own = sum(alone.values())
    sound = float(belief[0])
    right = by_owner if not send and by_owner is not None and own > max(sound, 0.2) else None
    if right is not None:
        unsafe = [h.fault is not None and h.fault.fault in not_with.get(right, ()) for h in hypotheses]
        if float(np.asarray(belief)[unsafe].sum()) >= THOUGHT_OF:
            send, right = True, None
    return Decision(send, bring, right, visit, own, costs, minutes / max(visit, 1e-9))


def _by_hand_only(hypothesis: Hypothesis, installation: Installation) -> bool:
    """Return whether it takes a person after all: a low output of anything but a panel, a fuse that is bolted in."""
    fault = hypothesis.fault
    if fault is None:
        return False
    part: Any = installation.parts[fault.part]
    return (fault.fault == "low_output" and part.kind != "panel") or (fault.fault == "blown" and part.style != "blade")


def needs(hypothesis: Hypothesis, installation: Installation, owner_can: Collection[str]) -> bool:
    """Return whether a person must come for what is wrong: not for nothing, nor for what an owner puts right."""
    fault = hypothesis.fault
    if fault is None:
        return False
    return fault.fault not in owner_can or _by_hand_only(hypothesis, installation)


def owner_acts(known: Collection[str], allowed: Collection[str]) -> tuple[str, ...]:
    """Return the faults that an owner puts right alone: a blown fuse only where one may be put in.

    >>> owner_acts(("blown", "discharged"), ("covers",))
    ('discharged',)
    """
    return tuple(name for name in known if name != "blown" or "fuse" in allowed)


def act_for(hypothesis: Hypothesis, installation: Installation, owner_can: Collection[str]) -> str:
    """Return what is done for a fault: nothing for none, what the owner does, or who comes with which part."""
    fault = hypothesis.fault
    if fault is None:
        return ""
    if not needs(hypothesis, installation, owner_can):
        return f"owner {fault.fault}"
    return f"visit {part_for(hypothesis, installation) or ''}"
