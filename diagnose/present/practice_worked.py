"""A worked practice case for a terminal: each test with its reason, what the suspects would read, what it read.

It words what it is given and computes nothing.
"""

from __future__ import annotations

from diagnose.model.fault import FaultAt
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES
from diagnose.model.rules import RuleBase
from diagnose.practice.policy import Played
from diagnose.present.terminal import take_words
from diagnose.present.walk_words import fault_words, suspect_words, wrapped

__all__ = ["worked_lines"]

SUSPECTS = 3


def worked_lines(found: Played, width: int, installation: Installation, rules: RuleBase) -> list[str]:
    """Return the whole solution, step by step."""
    lines: list[str] = []
    number = 0
    for move in found.moves:
        lines.append("")
        if isinstance(move, FaultAt):
            lines += wrapped(f"Convicted and mended: {fault_words(move, installation, rules)}.", width)
            lines += wrapped(f"How: {rules.faults[move.fault].remedy}", width, "   ", "  ")
            continue
        number += 1
        unit = QUANTITIES[move.test.take.quantity][1] or ""
        read = f"{move.read.text} {unit}".rstrip() if move.read.kind == "number" else move.read.text
        lines += wrapped(f"{number}. {take_words(move.test.take)}", width, "", "   ")
        lines += wrapped(f"Suspects: {_suspects(move.before.faults, installation, rules)}", width, "   ", "  ")
        lines += wrapped(f"Why: {_why(move.test.why, move.test.expect, installation, rules)}", width, "   ", "  ")
        for label, text in move.test.expect[:SUSPECTS]:
            lines += wrapped(f"if {suspect_words(label, installation, rules)}: {text}", width, "   ", "  ")
        lines += wrapped(f"It reads {read}.", width, "   ", "  ")
    stop = found.last.stop
    proved = "the repair is proved, and that something else is wrong as well is unlikely"
    says = stop.says if stop is not None else proved if found.end == "repaired" else ""
    lines += ["", *wrapped(f"Done in {found.minutes:g} minutes and {found.tests} tests.", width)]
    return [*lines, *(wrapped(f"{says[:1].upper()}{says[1:].rstrip('.')}.", width) if says else [])]


def _suspects(entries, installation: Installation, rules: RuleBase) -> str:  # type: ignore[no-untyped-def]
    told = [f"{fault_words(e.fault, installation, rules)} ({e.probability:.0%})" for e in entries[:SUSPECTS]]
    return "; ".join(told) or "none"


def _why(why: str, expect: tuple[tuple[str, str], ...], installation: Installation, rules: RuleBase) -> str:
    """Return the reason with suspects in words."""
    for label, _ in expect:
        why = why.replace(label, suspect_words(label, installation, rules))
    return why
