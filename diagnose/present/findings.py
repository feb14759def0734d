"""What is found in a rule base, as plain lines and as JSON.

Shows records and computes nothing.
"""

from __future__ import annotations

import json
from collections.abc import Sequence

from diagnose.lint.base import Finding

__all__ = ["findings_json", "findings_lines"]


def findings_lines(found: Sequence[Finding]) -> list[str]:
    """Return a line for each finding, as an editor can follow it, and a count.

    >>> findings_lines([])
    ['0 FAIL, 0 LOOK']
    """
    lines = [f"{each.severity}  {each.check}  {each.problem.text()}" for each in found]
    count = ", ".join(f"{sum(f.severity == severity for f in found)} {severity}" for severity in ("FAIL", "LOOK"))
    return [*lines, count]


def findings_json(found: Sequence[Finding]) -> str:
    """Return the findings as one JSON object."""
    rows = [{"id": each.check, "severity": each.severity, **each.problem._asdict()} for each in found]
    failed = sum(each.severity == "FAIL" for each in found)
    return json.dumps({"schema": "diagnose/lint/1", "failed": failed, "findings": rows}, ensure_ascii=False, indent=1)
