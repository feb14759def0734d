"""A ranking and expected readings as plain lines for a terminal, whatever its width; no colour is needed to read
them.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from diagnose.model.expected import Expected
from diagnose.model.fault import FaultAt
from diagnose.model.ranking import Entry, Ranking, WhyNot
from diagnose.model.reading import Take
from diagnose.present.walk_words import no_minus_zero

__all__ = ["FIRST_WORDS", "expected_lines", "ranking_lines", "take_words", "why_not_lines"]

SHOWN = 5
#: causes shown beneath an entry, and the chance below which one is left out
CAUSES_SHOWN, WORTH_NAMING = 3, 0.1
#: chance of nothing wrong, and of an operating state, above which it is said why it may only look so
SOUND_WORTH_SAYING, STATE_WORTH_SAYING = 0.2, 0.3
FIRST_WORDS = (
    "Local wiring rules, the makers' instructions and licensed practice come first; "
    "if in doubt, stop and ask a competent person."
)


def _wrapped(text: str, width: int, indent: str = "") -> list[str]:
    return textwrap.wrap(text, width, initial_indent=indent, subsequent_indent=indent + "  ") or [""]


def place(fault: FaultAt) -> str:
    """Return where a fault sits: the part, and the end or the wrong place."""
    end = f", end at {fault.at}" if fault.at else ""
    return fault.part + end + (f", gone to {fault.to}" if fault.to else "")


def take_words(take: Take) -> str:
    """Return a test as one types it."""
    fitted = f", jumper {take.jumper[0]} {take.jumper[1]}" if take.jumper else ""
    fitted += f", known-good {take.swap}" if take.swap else ""
    meter = ", test lamp" if take.meter == "test_lamp" else ""
    return f"{take.quantity} {' '.join(take.where)} ({take.when.replace('_', ' ')}{fitted}{meter})"


def _entry(number: int, entry: Entry, width: int) -> list[str]:
    lines = _wrapped(f"{number}. {entry.probability:6.1%}  {entry.name}: {place(entry.fault)}", width)
    if entry.size is not None and entry.probability > 0.05:
        size = entry.size
        lines += _wrapped(f"about {size.value:.3g} {size.unit} ({size.low:.2g} to {size.high:.2g})", width, "     ")
    for other in entry.alternatives:
        lines += _wrapped(f"or, not to be told apart: {other.fault} {place(other)}", width, "     ")
    if number <= 2:
        for sign, reasons in (("for", entry.reasons_for), ("against", entry.reasons_against)):
            for reason in reasons[:3]:
                lines += _wrapped(f"{sign} {abs(reason.db):4.1f} dB: {reason.says}", width, "     ")
        for cause in [c for c in entry.causes if c.probability >= WORTH_NAMING][:CAUSES_SHOWN]:
            lines += _wrapped(f"cause {cause.probability:4.0%}: {cause.name}", width, "     ")
    return lines


def ranking_lines(ranking: Ranking, width: int = 80) -> list[str]:
    """Return a ranking as lines: dangers first, then suspects with reasons, doubts, what to do next."""
    lines: list[str] = []
    for danger in ranking.dangers:
        lines += _wrapped(f"DANGER: {danger}", width)
    lines += [f"{ranking.readings_used} reading{'s' if ranking.readings_used != 1 else ''} used.", ""]
    shown = [e for e in ranking.faults[:SHOWN] if e.probability >= 0.001]
    for number, entry in enumerate(shown, 1):
        lines += _entry(number, entry, width)
    lines += _wrapped(f"{ranking.no_fault:6.1%}  nothing is wrong", width, "   ")
    if ranking.no_fault >= SOUND_WORTH_SAYING:
        explained = zip(ranking.no_fault_because, ranking.no_fault_says, strict=False)
        for chance, says in [(p, text) for (_, p), text in explained if p >= STATE_WORTH_SAYING][:2]:
            lines += _wrapped(f"perhaps, {chance:.0%}: {says}", width, "     ")
    lines += _wrapped(f"{ranking.unlisted:6.1%}  a cause that is not in the rule base", width, "   ")
    for doubt in ranking.doubtful:
        lines += ["", *_wrapped(f"Doubtful, reading {doubt.reading}: {doubt.says}", width)]
    lines.append("")
    if ranking.stop is not None:
        lines += _wrapped(f"{ranking.stop.because.replace('_', ' ').upper()}: {ranking.stop.says}", width)
        if ranking.stop.because == "found" and shown:
            lines += _wrapped(f"Repair: {shown[0].remedy}", width) + _wrapped(f"Proof: {shown[0].proof}", width)
    if ranking.next and (ranking.stop is None or ranking.stop.because != "danger"):
        lines += _next(ranking, width)
    return [*lines, "", *_wrapped(FIRST_WORDS, width)]


def _next(ranking: Ranking, width: int) -> list[str]:
    """Return the best next test with its cautions first, then the others by name."""
    best = ranking.next[0]
    lines = [line for caution in best.cautions for line in _wrapped(f"Caution: {caution}", width)]
    lines += _wrapped(f"Next: {take_words(best.take)}, {best.minutes:g} min, {best.why}.", width)
    for label, text in best.expect:
        lines += _wrapped(f"{text} if {label}", width, "     ")
    if len(ranking.next) > 1:
        others = "; ".join(take_words(t.take) for t in ranking.next[1:4])
        lines += _wrapped(f"Otherwise: {others}", width)
    return lines


def why_not_lines(why: WhyNot, width: int = 80) -> list[str]:
    """Return what speaks against one suspect."""
    lines = _wrapped(f"{why.label}: {why.probability:.1%}", width)
    for reason in why.reasons[:5]:
        lines += _wrapped(f"against {abs(reason.db):4.1f} dB, reading {reason.reading}: {reason.says}", width, "  ")
    return [*lines, *_wrapped(f"It would come back if this were otherwise: {why.would_return}", width, "  ")]


def _figure(value: float | None, unit: str) -> str:
    if value is None:
        return "-"
    text = f"{value:.3f}" if abs(value) < 1 else f"{value:.2f}" if abs(value) < 100 else f"{value:.3g}"
    return no_minus_zero(f"{text} {unit}".strip())


def expected_lines(rows: Sequence[tuple[str, Expected]], width: int = 80) -> list[str]:
    """Return expected readings as lines.

    Parameters: `rows`, a label (healthy, or a suspect) with what is expected then.
    """
    lines: list[str] = []
    last: Take | None = None
    for label, one in rows:
        if one.take != last:
            lines += ["", *_wrapped(take_words(one.take), width)] if lines else _wrapped(take_words(one.take), width)
            last = one.take
            if one.limit is not None:
                ends = [
                    f"{name} {_figure(end, one.unit)}"
                    for name, end in (("from", one.limit.low), ("to", one.limit.high))
                    if end is not None
                ]
                lines += _wrapped(f"limit {' '.join(ends)}: {one.limit.why}", width, "  ")
        band = f"{_figure(one.low, one.unit)} to {_figure(one.high, one.unit)}, middle {_figure(one.value, one.unit)}"
        words = ", ".join(f"{word} {chance:.0%}" for word, chance in one.chances)
        text = "; ".join(t for t in (band if one.value is not None else "", words) if t)
        lines += _wrapped(f"{label}: {text}", width, "  ")
    return lines
