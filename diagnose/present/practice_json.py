"""The JSON of practice: what was done and read, and the score, key by key as the forms say."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from diagnose.model.fault import FaultAt
from diagnose.model.practice import PracticeCase, Score, Step
from diagnose.model.rules import RuleBase
from diagnose.present.json_forms import rounded, take_json

__all__ = ["practice_form", "practice_json", "score_form"]


def score_form(score: Score) -> dict[str, Any]:
    """Return the score as its form says: the keys of the record, `brier` and `textbook_minutes` where known."""
    form: dict[str, Any] = score._asdict()
    for key in ("minutes", "best_minutes", "textbook_minutes", "brier"):
        form[key] = rounded(form[key])
    form["gates"] = list(score.gates)
    form["notes"] = [{"act": n, "line": line, "says": says} for n, line, says in score.notes]
    return form


def _step(step: Step, rules: RuleBase) -> dict[str, Any]:
    act = step.act
    form: dict[str, Any] = {"act": step.number, "typed": act.text, "kind": act.kind}
    if act.take is not None:
        form["take"] = take_json(act.take)
    if act.kind in ("repair", "diagnosis", "suspects"):
        form["named"] = [_fault(f) for f in act.named]
    if act.confidence is not None:
        form["confidence"] = act.confidence
    form["read"] = None if step.read is None else step.read.text
    form |= {"minutes": step.minutes, "clock": step.clock}
    form["cautions"] = [rules.cautions[name].brief for name in step.cautions]
    form |= {"says": list(step.lessons), "flags": [flag for flag in step.flags if flag != "lied"]}
    return form


def _fault(fault: FaultAt) -> dict[str, Any]:
    form: dict[str, Any] = {"fault": fault.fault, "part": fault.part, "at": fault.at}
    return form | ({"to": fault.to} if fault.to else {})


def practice_form(
    case: PracticeCase, steps: Sequence[Step], score: Score, truth: Sequence[FaultAt] | None, rules: RuleBase
) -> dict[str, Any]:
    """Return the whole form; `truth` is None where an examination does not tell it."""
    form: dict[str, Any] = {
        "schema": "diagnose/practice/1", "case": case.id, "title": case.title, "complaint": case.complaint,
        "level": case.level, "tools": list(case.tools), "acts": [_step(step, rules) for step in steps],
        "score": score_form(score),
    }  # fmt: skip
    if truth is not None:
        form["faults"] = [_fault(fault) for fault in truth]
    return form


def practice_json(form: dict[str, Any]) -> str:
    """Return a form as text."""
    return json.dumps(form, indent=1, ensure_ascii=False)
