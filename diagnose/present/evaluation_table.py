"""The figures of an evaluation as a table for 80 columns, and as JSON.

Shows one record and computes nothing.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Sequence
from typing import Any

from diagnose.evaluation.run import Result
from diagnose.evaluation.summary import Bin, Floor, Line, Rate, Summary
from diagnose.present.json_forms import rounded

__all__ = ["evaluation_json", "evaluation_lines"]

HEADS = ("", "n", "first", "95 %", "in 3", "Brier", "minutes", "tests")
#: vehicles that went wrong are told of one by one, up to so many
TOLD = 40


def evaluation_lines(summary: Summary, told: Sequence[str], width: int = 80, readings: bool = False) -> list[str]:
    """Return the figures as lines.

    Parameters: `told`, what was played, one sentence each; `readings`, whether those of vehicles that went wrong are
    shown.
    """
    lines = [row for text in told for row in textwrap.wrap(text, width)]
    lines += ["", f"{summary.vehicles} vehicles; minutes and tests: median, (mean)", ""]
    lines += _table("player", summary.players)
    lines += ["", *[_floor(f) for f in summary.floors]]
    lines += ["", f"a sound part would have been replaced: {_rate(summary.condemned)}"]
    lines += ["how it ended: " + ", ".join(f"{end} {count}" for end, count in summary.ends)]
    lines += ["", "chance given   n    said   right (95 %)"]
    lines += [_bin(b) for b in summary.calibration]
    lines += ["", *_table("by fault", summary.by_fault), "", *_table("by layout", summary.by_layout)]
    if summary.failures:
        lines += ["", "where it failed:"]
        for result in summary.failures[:TOLD]:
            lines += _failure(result, width, readings)
        if len(summary.failures) > TOLD:
            lines.append(f"and {len(summary.failures) - TOLD} more")
    return [line.rstrip() for line in lines]


def _table(title: str, rows: Sequence[Line]) -> list[str]:
    form = "{:23.23} {:>4} {:>5} {:>9} {:>5} {:>5} {:>11} {:>9}"
    lines = [form.format(title, *HEADS[1:])]
    for row in rows:
        first = row.first
        lines.append(
            form.format(
                row.name, first.out_of, f"{first.value:.3f}", f"{first.low:.2f}-{first.high:.2f}",
                f"{row.in_three.value:.3f}", f"{row.brier:.3f}", f"{row.minutes_median:.1f} ({row.minutes_mean:.1f})",
                f"{row.tests_median:.0f} ({row.tests_mean:.1f})",
            )
        )  # fmt: skip
    return lines


def _rate(rate: Rate) -> str:
    return f"{rate.value:.3f} ({rate.low:.3f} to {rate.high:.3f} of {rate.out_of})"


def _floor(floor: Floor) -> str:
    sign = "at most" if floor.at_most else "at least"
    verdict = "reached" if floor.reached else "MISSED"
    return f"{verdict:7} {floor.what} {floor.value:.3f} ({floor.low:.3f}-{floor.high:.3f}), {sign} {floor.floor:g}"


def _bin(row: Bin) -> str:
    mark = "" if row.agrees else "  does not agree"
    return (
        f"{row.low:.3f}-{row.high:.3f} {row.right.out_of:>4}  {row.said:.3f}   "
        f"{row.right.value:.3f} ({row.right.low:.3f} to {row.right.high:.3f}){mark}"
    )


def _failure(result: Result, width: int, readings: bool) -> list[str]:
    case, score = result.case, result.score
    truth = " and ".join(_named(f) for f in case.faults) or "nothing wrong"
    text = (
        f"{case.number} {case.layout} (seed {case.seed}): {truth}; complaint {case.complaint or 'none'}; "
        f"leading {score.leader} {score.leading:.2f}, truth {score.chance:.4f}, nothing wrong {result.no_fault:.2f}; "
        f"{result.tests} tests, {result.minutes:.1f} min, end: {result.end}"
    )
    lines = textwrap.wrap(text, width, initial_indent="- ", subsequent_indent="  ")
    return lines + [f"    {reading}" for reading in (result.readings if readings else ())]


def _named(fault: Any) -> str:
    words = [fault.fault, fault.part, fault.at or "", f"to {fault.to}" if fault.to else ""]
    words += [f"{fault.size:.3g}"] if fault.size is not None else []
    return " ".join(w for w in words if w)


def evaluation_json(summary: Summary) -> str:
    """Return the figures as one JSON object."""
    form = {
        "schema": "diagnose/evaluation/1",
        "vehicles": summary.vehicles,
        "players": [_line_form(line) for line in summary.players],
        "floors": [_numbers(f._asdict()) for f in summary.floors],
        "ends": dict(summary.ends),
        "condemned": _numbers(summary.condemned._asdict()),
        "calibration": [_numbers(b._asdict()) | {"right": _numbers(b.right._asdict())} for b in summary.calibration],
        "by_fault": [_line_form(line) for line in summary.by_fault],
        "by_layout": [_line_form(line) for line in summary.by_layout],
        "failures": [_failure_form(r) for r in summary.failures],
    }
    return json.dumps(form, ensure_ascii=False, indent=1)


def _numbers(form: dict[str, Any]) -> dict[str, Any]:
    return {k: rounded(v) if isinstance(v, float) else v for k, v in form.items()}


def _line_form(line: Line) -> dict[str, Any]:
    form = _numbers(line._asdict())
    return form | {key: _numbers(getattr(line, key)._asdict()) for key in ("first", "in_three")}


def _failure_form(result: Result) -> dict[str, Any]:
    case = result.case
    return {
        "vehicle": case.number,
        "layout": case.layout,
        "seed": case.seed,
        "complaint": case.complaint,
        "faults": [_numbers(f._asdict()) for f in case.faults],
        "leader": result.score.leader,
        "leading": rounded(result.score.leading),
        "chance_of_truth": rounded(result.score.chance),
        "no_fault": rounded(result.no_fault),
        "unlisted": rounded(result.unlisted),
        "tests": result.tests,
        "minutes": rounded(result.minutes),
        "end": result.end,
        "readings": list(result.readings),
        "mended": [_numbers(f._asdict()) for f in result.mended],
    }
