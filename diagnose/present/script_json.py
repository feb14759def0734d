"""A phone script as JSON, key by key as its form says; computes nothing."""

from __future__ import annotations

import json
from typing import Any

from diagnose.model.script import Answer, End, Question, Script
from diagnose.present.json_forms import rounded, take_json

__all__ = ["script_json"]


def script_json(script: Script) -> str:
    """Return a script as one JSON object."""
    form = {
        "schema": "diagnose/script/1", "title": script.title, "complaint": script.complaint,
        "understood": {"complaint": script.known, "says": script.heard} if script.known else None,
        "for": "owner" if script.owner else "installer", "tools": list(script.tools), "allowed": list(script.allowed),
        "root": script.root, "cautions": list(script.cautions), "first": script.first,
        "steps": {k: _question(s) if isinstance(s, Question) else _end(s) for k, s in script.steps.items()},
    }  # fmt: skip
    return json.dumps(form, ensure_ascii=False, indent=1)


def _answer(answer: Answer) -> dict[str, Any]:
    if answer.read is not None:
        return {"label": answer.label, "read": answer.read, "go": answer.go}
    return {"label": answer.label, "low": answer.low, "high": answer.high, "unit": answer.unit, "go": answer.go}


def _question(question: Question) -> dict[str, Any]:
    return {
        "say": question.say, "how": question.how,
        **({"take": take_json(question.take)} if question.unknown is None else
           {"take": None, "unknown": question.unknown}),
        "cautions": list(question.cautions), "minutes": question.minutes, "more": question.more,
        "danger": question.danger, "answers": [_answer(a) for a in question.answers],
    }  # fmt: skip


def _end(end: End) -> dict[str, Any]:
    faults: list[dict[str, Any]] = [
        {
            "fault": s.fault.fault, "part": s.fault.part, "at": s.fault.at,
            **({"to": s.fault.to} if s.fault.to is not None else {}),
            "probability": rounded(s.probability), "name": s.name,
        }
        for s in end.faults
    ]  # fmt: skip
    return {
        "end": end.end, "faults": faults, "no_fault": rounded(end.no_fault), "unlisted": rounded(end.unlisted),
        "say": end.say, "send": end.send, "bring": list(end.bring), "tools": list(end.tools), "tell": list(end.tell),
        "costs": {"visit": end.costs.visit, "no_visit": end.costs.no_visit, "unit": "min", "says": end.costs.says},
        "minutes": end.minutes, "photos": list(end.photos), "meanwhile": list(end.meanwhile),
        "not_safe": list(end.not_safe), "cautions": list(end.cautions),
    }  # fmt: skip
