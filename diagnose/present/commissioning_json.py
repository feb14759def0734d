"""The hand-over record as JSON with plain names, for other programs; it words and computes nothing."""

from __future__ import annotations

from typing import Any

from diagnose.model.commissioning import Baseline, CommissioningRecord, CommissioningStep, Judgement, StepResult
from diagnose.model.reading import QUANTITIES, Reading
from diagnose.present.commissioning_words import NOT_A_CERTIFICATE
from diagnose.present.json_forms import rounded, take_json

__all__ = ["baseline_json", "record_json"]


def record_json(record: CommissioningRecord) -> dict[str, Any]:
    """Return a record as one JSON object; resistances in ohm, currents in A, temperatures in degC."""
    return {
        "schema": "diagnose/commissioning/1",
        "says": NOT_A_CERTIFICATE,
        "title": record.title,
        "cautions": list(record.cautions),
        "installation": [{"name": name, "value": value} for name, value in record.installation],
        "instruments": list(record.instruments),
        "steps": [_result(row) for row in record.rows],
        "baseline": [baseline_json(one) for one in record.baseline],
        "open_points": list(record.open_points),
        "look_again": list(record.recheck),
        "name": record.name,
        "date": record.date,
        "program": record.version,
        "rule_base_hash": record.rules_hash,
        "installation_hash": record.installation_hash,
    }


def baseline_json(one: Baseline) -> dict[str, Any]:
    """Return the resistance of one joint and its standard uncertainty.

    >>> baseline_json(Baseline("strap", ("tray", "chassis"), 0.0005, 0.0001))
    {'part': 'strap', 'between': ['tray', 'chassis'], 'ohms': 0.0005, 'standard_uncertainty': 0.0001}
    """
    return {
        "part": one.part, "between": list(one.between), "ohms": rounded(one.ohms),
        "standard_uncertainty": rounded(one.uncertainty),
    }  # fmt: skip


def _result(row: StepResult) -> dict[str, Any]:
    return _step(row.step) | {
        "verdict": row.verdict,
        "says": row.says,
        "against_limit": _judgement(row.by_limit),
        "expected_here": _judgement(row.by_model),
        "read": _read(row.reading),
        "time": row.time or None,
        "temperature": rounded(row.temperature),
        "current": rounded(row.current),
        "meter": row.meter or None,
        "probes": list(row.probes),
        "makes_valid": row.makes_valid or None,
    }


def _step(step: CommissioningStep) -> dict[str, Any]:
    limit = step.limit
    unit = QUANTITIES[step.take.quantity][1] if step.take is not None else None
    return {
        "id": step.id,
        "rule": step.rule,
        "title": step.title,
        "phase": step.phase or None,
        "caution_ids": list(step.cautions),
        "test": take_json(step.take) if step.take is not None else None,
        "question": step.question or None,
        "good_answer": step.wants or None,
        "state": step.state,
        "how": step.how,
        "why": step.why,
        "unit": unit,
        "limit": None if limit is None else {"low": rounded(limit.low), "high": rounded(limit.high), "why": limit.why},
        "grows_with_current": step.scales,
        "source": step.source,
        "judges": list(step.judges),
    }


def _judgement(found: Judgement | None) -> dict[str, Any] | None:
    if found is None:
        return None
    return {"verdict": found.verdict, "low": rounded(found.low), "high": rounded(found.high), "says": found.says}


def _read(reading: Reading | None) -> dict[str, Any] | None:
    """Return what was read: its kind, the text as typed, and its numbers and word where it has them."""
    if reading is None or reading.read is None:
        return None
    read = reading.read
    form: dict[str, Any] = {"kind": read.kind, "text": read.text}
    ends = (("value", read.value), ("high", read.high))
    form |= {name: rounded(value) for name, value in ends if value is not None}
    return form | ({"word": read.word} if read.word is not None else {})
