"""The design check and the build sheet as plain lines for a terminal or a printer, and the check as JSON.

Shows records and computes nothing.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from diagnose.model.build_sheet import BuildSheet
from diagnose.model.checks import Assumptions, CheckLine
from diagnose.present.json_forms import rounded
from diagnose.present.terminal import FIRST_WORDS

__all__ = ["build_sheet_lines", "check_json", "check_lines"]

VERDICTS = ("FAIL", "LOOK", "PASS")


def _wrapped(text: str, width: int, first: str = "", rest: str = "  ") -> list[str]:
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=rest, break_long_words=False) or [""]


def check_lines(
    title: str, lines: Sequence[CheckLine], asks: Mapping[str, str], width: int = 80, colour: bool = False
) -> list[str]:
    """Return the design check as lines: a count, then what fails, what wants a look, and what passes.

    Parameters: `asks`, what each rule asks, by its id; `width` [columns].
    """
    shown = [*_wrapped(title, width), _count(lines), ""]
    for verdict in VERDICTS[:2]:
        for rule in dict.fromkeys(line.rule for line in lines if line.verdict == verdict):
            found = [line for line in lines if (line.verdict, line.rule) == (verdict, rule)]
            shown += [row for line in found for row in _finding(line, width, colour)]
            shown += [*_reasons(found, width), ""]
    for rule, question in asks.items():
        passed = [line for line in lines if line.verdict == "PASS" and line.rule == rule]
        if passed:
            shown += [*_wrapped(question, width), *(row for line in passed for row in _passed(line, width))]
            for source in dict.fromkeys(line.source for line in passed):
                shown += _wrapped(f"Source: {source}", width, "        ", "          ")
    return [*shown, "", *_wrapped(FIRST_WORDS, width, rest="")]


def _count(lines: Sequence[CheckLine]) -> str:
    count = {verdict: sum(line.verdict == verdict for line in lines) for verdict in VERDICTS}
    return ", ".join(f"{count[verdict]} {verdict}" for verdict in VERDICTS)


PAINT = {"FAIL": "\x1b[1;31m", "LOOK": "\x1b[1;33m"}


def _finding(line: CheckLine, width: int, colour: bool) -> list[str]:
    """Return what is found of one part, with its figures."""
    rows = _wrapped(f"{line.verdict}  {line.subject}: {line.says}.", width, rest="      ")
    if colour:
        rows[0] = f"{PAINT[line.verdict]}{rows[0][:4]}\x1b[0m{rows[0][4:]}"
    if line.limit is not None and line.value is not None:
        rows += _wrapped(f"{_number(line.value, line.unit)}, limit {_number(line.limit, line.unit)}", width, "      ")
    return rows


def _reasons(found: Sequence[CheckLine], width: int) -> list[str]:
    """Return why findings of one rule matter and where their limits come from, each once."""
    rows = _wrapped(f"Why ({found[0].rule}): {found[0].why}", width, "      ", "        ")
    for source in dict.fromkeys(line.source for line in found):
        rows += _wrapped(f"Source: {source}", width, "      ", "        ")
    return rows


def _passed(line: CheckLine, width: int) -> list[str]:
    return _wrapped(f"PASS  {line.subject}: {line.says}", width, "  ", "        ")


def _number(value: float, unit: str) -> str:
    return f"{value:.3g} {unit}".strip() if abs(value) < 1000 else f"{value:.0f} {unit}"


def check_json(title: str, lines: Iterable[CheckLine], assumed: Assumptions) -> str:
    """Return the design check as one JSON object."""
    rows: list[dict[str, Any]] = [
        line._asdict() | {"value": rounded(line.value), "limit": rounded(line.limit), "parts": list(line.parts)}
        for line in lines
    ]
    form = {
        "schema": "diagnose/check/1",
        "title": title,
        "failed": sum(row["verdict"] == "FAIL" for row in rows),
        "assumed": assumed._asdict() | {"load_hours": dict(assumed.load_hours)},
        "lines": rows,
    }
    return json.dumps(form, ensure_ascii=False, indent=1)


def build_sheet_lines(sheet: BuildSheet, width: int = 80) -> list[str]:
    """Return the build sheet as plain text, cautions first; every row to be ticked begins with a box."""
    lines = [*_wrapped(f"BUILD SHEET: {sheet.title}", width), "", "READ FIRST"]
    lines += [row for text in sheet.cautions for row in _wrapped(text, width, "  ! ", "    ")]
    if sheet.unfinished:
        lines += ["", *_wrapped("DO NOT BUILD YET. The design check fails:", width)]
        lines += [row for text in sheet.unfinished for row in _wrapped(text, width, "  ! ", "    ")]
    lines += _section("PARTS", (f"{p.name}: {p.kind}, {p.what}; {p.place}" for p in sheet.parts), width)
    lines += _section("FUSES AND HOLDERS", (
        f"{f.name}: {f.rating}, {f.style}, breaks {f.breaks}; {f.place}" for f in sheet.fuses), width)  # fmt: skip
    lines += _section("CABLES, measured on the vehicle before they are cut", (
        f"{c.name}: {c.size}, {c.length}; {c.ends[0]} to {c.ends[1]}" + (f"; through {c.runs}" if c.runs else "")
        for c in sheet.cables), width)  # fmt: skip
    lines += _section("CABLE TO BUY, with a tenth to spare", sheet.totals, width)
    lines += _section("LUGS, their holes by the studs measured", sheet.lugs, width)
    lines += ["", "TORQUE on brass and copper studs", *_wrapped(sheet.torque_note, width, "  ", "  ")]
    for row in sheet.torques:
        text = f"[ ] {row.stud}: {row.torque}, and a drag of up to {row.drag}, measured ______"
        lines += _wrapped(text, width, "  ", "      ")
    lines += _section("ORDER OF WORK", sheet.order, width)
    lines += _section("HOLD POINTS, each signed before work goes on", sheet.hold_points, width)
    lines += _section("CONSUMABLES", sheet.consumables, width)
    return [*lines, "", "Done by ______________", "Date    ______________", "", *_wrapped(FIRST_WORDS, width, rest="")]


def _section(title: str, rows: Iterable[str], width: int) -> list[str]:
    shown = [line for row in rows for line in _wrapped(row, width, "  [ ] ", "      ")]
    return ["", *_wrapped(title, width), *shown] if shown else []
