"""One step of commissioning at the terminal: what to do and what it should be, and afterwards the verdict.

It shows what it is given and computes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.model.commissioning import CommissioningStep, StepResult
from diagnose.model.expected import Limit
from diagnose.model.installation import Installation
from diagnose.model.reading import QUANTITIES
from diagnose.present.walk_words import where_words, wrapped
from diagnose.session.steps import Reminder

__all__ = ["group_lines", "help_lines", "sheet_lines", "step_lines", "verdict_lines"]

_HELP = """\
Type the reading, with or without its unit; OL, unsteady, <0.1 and cannot are readings too. `0.04 at 35` tells the
current that flowed, `0.03 within 0.01` how far your meter may be off. To a question: yes or no. Several places asked
together: yes for all, or the numbers of those that are not, with what you found: 2 loose, 5 corroded.
back takes the last answer back, skip leaves a step undone, why and how explain, list shows what was found so far,
repaired PART tells of a repair: what it could have disturbed is asked again; find looks for the cause of what failed
with all readings carried over; stop keeps everything for another day."""


def help_lines(width: int) -> list[str]:
    """Return what can be typed at a step."""
    return wrapped(" ".join(_HELP.split("\n")), width)


def _cautions(reminders: Sequence[Reminder], width: int) -> list[str]:
    return [line for r in reminders for line in wrapped(f"Caution: {r.says if r.new else r.brief}", width, hang="  ")]


def _limit(limit: Limit | None, unit: str) -> str:
    if limit is None:
        return ""
    low, high = (None if b is None else f"{b:g} {unit}".strip() for b in (limit.low, limit.high))
    bounds = f"{low} to {high}" if low and high else f"at most {high}" if high else f"at least {low}"
    return f"Limit: {bounds}, {limit.why}"


def step_lines(
    step: CommissioningStep, count: tuple[int, int], expected: str, reminders: Sequence[Reminder],
    installation: Installation, own_current: bool, width: int,
) -> list[str]:  # fmt: skip
    """Return a step as it is asked.

    Parameters: `count`, which step of how many; `expected`, what it should read here, in words; `reminders`, the
    cautions, which come first; `own_current`, whether the current must be typed with the reading.
    """
    lines = ["", *wrapped(f"[{count[0]} of {count[1]}] {step.title}", width), *_cautions(reminders, width)]
    if step.question:
        lines += wrapped(step.question, width)
    lines += wrapped(f"How: {step.how}", width, hang="     ")
    if step.take is not None and step.take.quantity in ("volts", "ohms", "ripple"):
        red, black = (where_words(place, installation) for place in step.take.where)
        lines += [*wrapped(f"Red:   {red}", width, hang="       "), *wrapped(f"Black: {black}", width, hang="       ")]
    unit = (QUANTITIES[step.take.quantity][1] or "") if step.take is not None else ""
    if expected:
        lines += wrapped(f"Expected here: {expected}", width, hang="  ")
    if (limit := _limit(step.limit, unit)) and step.judge in ("value", "drop"):
        lines += wrapped(limit, width, hang="  ")
    if own_current:
        lines += wrapped("Type the current of this part with the reading, for example 0.04 at 35.", width)
    return lines


def sheet_lines(
    step: CommissioningStep, count: tuple[int, int], expected: str, installation: Installation, width: int
) -> list[str]:
    """Return a step of the sheet that is filled in by hand, with room for reading, current and verdict."""
    lines = step_lines(step, count, expected, (), installation, False, width)
    worked = step.take is None and not step.question
    blank = "Worked out: ________" if worked else "Read: ________"
    return [*lines, f"{blank}{'   at ______ A' if step.scales else ''}   verdict: ________"]


def group_lines(
    steps: Sequence[CommissioningStep], count: tuple[int, int], reminders: Sequence[Reminder], width: int
) -> list[str]:
    """Return several steps of one kind that are asked together."""
    last = count[0] + len(steps) - 1
    lines = ["", f"[{count[0]} to {last} of {count[1]}]", *_cautions(reminders, width)]
    for number, step in enumerate(steps, 1):
        lines += wrapped(f"{number:>2}. {step.question or step.title}", width, hang="    ")
    lines += wrapped(f"How: {steps[0].how}", width, hang="     ")
    other = "no" if steps[0].question else "what you found"
    rest = f"or the numbers of those that are not, with {other}"
    return [*lines, *wrapped(f"Type {steps[0].wants} if all are, {rest}.", width)]


def verdict_lines(result: StepResult, width: int) -> list[str]:
    """Return what a reading means: the verdict in a word, the reading, and why."""
    read = result.reading.read.text if result.reading is not None and result.reading.read is not None else ""
    lines = wrapped(f"{result.verdict}: {read}{', ' if read else ''}{result.says}", width, hang="  ")
    if result.makes_valid:
        lines += wrapped(f"To make it count: {result.makes_valid}", width, hang="  ")
    if result.verdict == "FAIL":
        lines += wrapped("Type find to look for the cause, or repaired PART once it is mended; or go on.", width)
    return lines
