"""The JSON that others build on: rankings and expected readings, key by key as their forms say.

Numbers are rounded to six significant digits here and nowhere else.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from typing import Any

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry, Ranking, Reason
from diagnose.model.reading import Take

__all__ = ["expected_json", "ranking_json", "rounded", "take_json"]


def rounded(value: float | None) -> float | None:
    """Return a number rounded to six significant digits; None stays None.

    >>> rounded(0.123456789)
    0.123457
    """
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.6g}")


def take_json(take: Take) -> dict[str, Any]:
    """Return a test as the readings form writes it, without `read`."""
    where: Any = list(take.where) if len(take.where) > 1 else take.where[0]
    form: dict[str, Any] = {}
    if take.jumper:
        form["jumper"] = list(take.jumper)
    if take.swap:
        form["swap"] = take.swap
    form |= {take.quantity: where, "when": take.when}
    if take.meter != "multimeter":
        form["meter"] = take.meter
    return form


def _fault(fault: FaultAt) -> dict[str, Any]:
    form: dict[str, Any] = {"fault": fault.fault, "part": fault.part, "at": fault.at}
    if fault.to is not None:
        form["to"] = fault.to
    return form


def _reasons(reasons: Sequence[Reason]) -> list[dict[str, Any]]:
    return [{"reading": r.reading, "db": rounded(r.db), "says": r.says} for r in reasons]


def _entry(entry: Entry) -> dict[str, Any]:
    size = entry.size
    form = _fault(entry.fault) | {"probability": entry.probability, "evidence_db": rounded(entry.evidence_db)}
    form["size"] = None if size is None else {
        "value": rounded(size.value), "low": rounded(size.low), "high": rounded(size.high), "unit": size.unit
    }  # fmt: skip
    form |= {
        "convicted": entry.convicted,
        "for": _reasons(entry.reasons_for),
        "against": _reasons(entry.reasons_against),
        "remedy": entry.remedy,
        "proof": entry.proof,
    }
    form["causes"] = [
        {"cause": c.cause, "probability": rounded(c.probability), "says": c.says, "remedy": c.remedy, "proof": c.proof}
        for c in entry.causes
    ]
    if entry.together:
        form["with"] = [_fault(f) for f in entry.together]
    if entry.alternatives:
        form["or"] = [_fault(f) for f in entry.alternatives]
    return form


def _operating(ranking: Ranking) -> list[dict[str, Any]]:
    says = ranking.no_fault_says or ("",) * len(ranking.no_fault_because)
    return [
        {"state": state, "probability": rounded(chance)} | ({"says": text} if text else {})
        for (state, chance), text in zip(ranking.no_fault_because, says, strict=True)
    ]


def _closed(chances: list[float]) -> list[float]:
    """Return chances rounded; what hundreds of roundings add up to goes to the largest."""
    found = [float(f"{chance:.6g}") for chance in chances]
    largest = max(range(len(found)), key=found.__getitem__)
    found[largest] = float(f"{found[largest] + sum(chances) - sum(found):.6g}")
    return found


def ranking_json(ranking: Ranking) -> str:
    """Return a ranking as one JSON object; probabilities sum to 1 after rounding, to within a millionth."""
    *chances, sound, unlisted = _closed([*(e.probability for e in ranking.faults), ranking.no_fault, ranking.unlisted])
    faults = [_entry(e) | {"probability": p} for e, p in zip(ranking.faults, chances, strict=True)]
    form = {
        "schema": "diagnose/ranking/1",
        "readings_used": ranking.readings_used,
        "faults": faults,
        "no_fault": sound,
        "no_fault_because": _operating(ranking),
        "unlisted": unlisted,
        "doubtful_readings": [
            {"reading": d.reading, "chance_wrong": rounded(d.chance_wrong), "expected": d.expected, "says": d.says}
            for d in ranking.doubtful
        ],
        "next": [
            {
                "take": take_json(t.take),
                "minutes": rounded(t.minutes),
                "information_bits": rounded(t.information_bits),
                "expect": [{"if": label, "read": text} for label, text in t.expect],
                "why": t.why,
                "cautions": list(t.cautions),
            }
            for t in ranking.next
        ],
        "stop": None if ranking.stop is None else {"because": ranking.stop.because, "says": ranking.stop.says},
    }
    return json.dumps(form, ensure_ascii=False, indent=1)


def _expected(one: Expected) -> dict[str, Any]:
    form: dict[str, Any] = {"take": take_json(one.take)}
    form |= {"value": rounded(one.value), "low": rounded(one.low), "high": rounded(one.high), "unit": one.unit}
    limit = one.limit
    form["limit"] = None if limit is None else {"low": limit.low, "high": limit.high, "why": limit.why}
    if one.chances:
        form["chances"] = {word: rounded(chance) for word, chance in one.chances}
    return form


def expected_json(expected: Sequence[Expected], fault: FaultAt | None) -> str:
    """Return expected readings as one JSON object."""
    form = {
        "schema": "diagnose/expected/1",
        "fault": None if fault is None else _fault(fault) | ({"size": fault.size} if fault.size is not None else {}),
        "expected": [_expected(one) for one in expected],
    }
    return json.dumps(form, ensure_ascii=False, indent=1)
