"""The hand-over record as plain lines for a terminal, and as Markdown.

Shows one record and computes nothing; no colour is needed to read it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from diagnose.model.commissioning import CommissioningRecord
from diagnose.model.installation import Installation
from diagnose.present.commissioning_words import (
    NOT_A_CERTIFICATE,
    Cells,
    cells_of,
    counts,
    gathered,
    joint_words,
    ohms_words,
)
from diagnose.present.terminal import FIRST_WORDS
from diagnose.present.walk_words import wrapped

__all__ = ["record_lines", "record_markdown"]

PAINT = {"FAIL": "\x1b[1;31m", "LOOK": "\x1b[1;33m", "INVALID": "\x1b[1;33m", "NOT DONE": "\x1b[1m"}
#: the column that the words of a step stand in, right of its verdict
HANG = " " * 10


def record_lines(
    record: CommissioningRecord, installation: Installation, width: int = 80, colour: bool = False
) -> list[str]:
    """Return a record as lines: cautions and what is open first, then each step, baseline, and what to look at again.

    Parameters: `width` [columns]; `colour`, whether a verdict that is not PASS is painted.
    """
    cells, sources = cells_of(record, installation)
    lines = [*wrapped(f"{record.title}: hand-over record", width), *wrapped(NOT_A_CERTIFICATE, width)]
    lines += [row for text in (FIRST_WORDS, *record.cautions) for row in wrapped(f"Caution: {text}", width, hang="  ")]
    lines += ["", *wrapped(counts(record), width)]
    lines += _section("OPEN POINTS", record.open_points, width)
    lines += _section("INSTALLATION", (f"{name}: {value}" for name, value in record.installation), width)
    lines += _section("INSTRUMENTS", record.instruments, width)
    steps = (row for one in gathered(cells) for row in _step(one, width, colour))
    lines += ["", "STEPS", *(row.replace("\u00a0", " ") for row in steps)]
    lines += _section("SOURCES", (f"{number}. {text}" for number, text in enumerate(sources, 1)), width)
    joints = (f"{joint_words(one, installation)}: {ohms_words(one)}" for one in record.baseline)
    lines += _section("BASELINE: resistance ± standard uncertainty", joints, width)
    lines += _section("TO LOOK AT AGAIN IN SOME WEEKS", record.recheck, width)
    return [*lines, "", *(row for name, value in _made(record) for row in wrapped(f"{name}: {value}", width))]


def _section(title: str, rows: Iterable[str], width: int) -> list[str]:
    shown = [line for row in rows for line in wrapped(row, width, "  ", "  ")]
    return ["", *wrapped(title, width), *shown] if shown else []


def _made(record: CommissioningRecord) -> Iterator[tuple[str, str]]:
    """Yield who made the record, when, and with what."""
    yield "Name, as typed", record.name or "not given"
    yield "Date, as typed", record.date or "not given"
    yield "Made with", f"program {record.version}"
    yield "Hash of the rule base", record.rules_hash
    yield "Hash of the installation", record.installation_hash


def _step(one: Cells, width: int, colour: bool) -> list[str]:
    """Return a step: its verdict and reading, where, bounds, and where it is not passed why."""
    when = ", ".join(text for text in (one.conditions, one.time) if text)
    at = f" ({when})" if when else ""
    rows = wrapped(f"{one.verdict:9} {one.number}. {one.title}: {one.read}{at}", width, hang=HANG)
    if colour and one.verdict in PAINT:
        size = len(one.verdict)
        rows[0] = f"{PAINT[one.verdict]}{rows[0][:size]}\x1b[0m{rows[0][size:]}"
    limit = one.limit if one.limit.startswith("answer") else f"limit {one.limit}"
    bounds = [text for text in (limit, f"expected here {one.here}") if not text.endswith(" -")]
    source = [f"source {one.source}"] if one.source else []
    rows += wrapped("; ".join([*([one.where] if one.where else []), *bounds, *source]), width, HANG)
    if one.verdict == "PASS":
        return rows
    told = [f"{one.judged}." if one.judged else "", *one.says, one.why]
    rows += wrapped(" ".join(text for text in told if text), width, HANG)
    if one.makes_valid:
        rows += wrapped(f"To make it valid: {one.makes_valid}", width, HANG, "  ")
    return rows


def record_markdown(record: CommissioningRecord, installation: Installation) -> str:
    """Return a record as Markdown, what was typed escaped so that it stays text."""
    cells, sources = cells_of(record, installation)
    lines = [f"# {_plain(record.title)}: hand-over record", "", f"**{NOT_A_CERTIFICATE}**", ""]
    lines += [f"- **Caution:** {_plain(text)}" for text in (FIRST_WORDS, *record.cautions)]
    lines += ["", f"**{counts(record)}**", *_list("Open points", record.open_points)]
    lines += _table("Installation, and who made this record", ("What", "Value"), (*record.installation, *_made(record)))
    heads = (
        "No.", "Verdict", "Step", "Where, and state", "Limit", "Expected here", "Read", "At", "Time", "Why", "Source",
    )  # fmt: skip
    lines += _table("Steps", heads, (_row(one) for one in cells))
    lines += _list("Sources", sources, "1.")
    lines += _list("Instruments", record.instruments)
    joints = ((joint_words(one, installation), ohms_words(one)) for one in record.baseline)
    lines += _table("Baseline", ("Joint or part", "Resistance ± standard uncertainty"), joints)
    lines += _list("To look at again in some weeks", record.recheck)
    return "\n".join(lines) + "\n"


def _row(one: Cells) -> tuple[str, ...]:
    verdict = f"{one.verdict} ({one.judged})" if one.judged else one.verdict
    valid = [f"To make it valid: {one.makes_valid}"] if one.makes_valid else []
    why = " ".join([*one.says, one.why, *valid])
    source = str(one.source or "-")
    return (
        one.number, verdict, one.title, one.where, one.limit, one.here, one.read, one.conditions, one.time, why, source,
    )  # fmt: skip


def _list(title: str, rows: Iterable[str], sign: str = "-") -> list[str]:
    return ["", f"## {title}", "", *([f"{sign} {_plain(row)}" for row in rows] or ["None."])]


def _table(title: str, heads: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> list[str]:
    lines = [" | ".join(heads), " | ".join("---" for _ in heads), *(" | ".join(map(_plain, row)) for row in rows)]
    return ["", f"## {title}", "", *(f"| {line} |" for line in lines)]


def _plain(text: str) -> str:
    """Return text that Markdown shows as it stands: on one line, its signs escaped.

    Every sign of the set has an escape in all common kinds of Markdown; `<` and `&` are written as in a page.
    """
    line = " ".join(text.split()).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
    return re.sub(r"([\\`*_{}\[\]|#~!])", r"\\\1", line)
