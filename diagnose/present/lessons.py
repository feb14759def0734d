"""What closed jobs teach of how often faults occur: a table of before and after, and the same as JSON.

Shows what was learnt and computes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.basics.errors import printable
from diagnose.inference.learning import Lesson
from diagnose.present.json_forms import rounded
from diagnose.present.walk_words import wrapped

__all__ = ["lessons_json", "lessons_lines"]

FORM = "{:26.26} {:12.12} {:>6} {:>7} {:>7} {:>9} {:>7}"


def lessons_lines(
    lessons: Sequence[Lesson], weight: float, left_out: Sequence[tuple[str, str]], width: int = 80
) -> list[str]:
    """Return what is learnt as lines, the faults that were repaired most often first.

    Parameters: `weight` [0 to 1], of the repairs against what ships; `left_out`, jobs that teach nothing, each with
    the reason.
    """
    proved = sum(lesson.proved for lesson in lessons)
    lines = [f"Proved repairs: {proved}. Jobs left out: {len(left_out)}."]
    for job, why in left_out:
        lines += wrapped(f"- {printable(job)}: {printable(why)}", width, hang="  ")
    if not proved:
        return [*lines, "", "Without a proved repair nothing is learnt: what ships stays as it is."]
    told = f"The repairs weigh {weight:.0%}, what ships {1 - weight:.0%}. A fault moves with its family."
    lines += ["", *wrapped(told, width), ""]
    lines.append(FORM.format("", "", "", "share", "of jobs", "frequency", "").rstrip())
    lines.append(FORM.format("fault", "family", "proved", "before", "after", "before", "after"))
    for lesson in sorted(lessons, key=lambda each: (-each.proved, -each.share_before)):
        shares = (f"{lesson.share_before:.1%}", f"{lesson.share_after:.1%}")
        weights = (f"{lesson.weight_before:.3g}", f"{lesson.weight_after:.3g}")
        lines.append(FORM.format(lesson.fault, lesson.family, lesson.proved or "", *shares, *weights).rstrip())
    told = "Shares are those of repairs on the installations of these jobs; a frequency is that at one place."
    return [*lines, "", *wrapped(told, width)]


def lessons_json(lessons: Sequence[Lesson], weight: float, left_out: Sequence[tuple[str, str]]) -> dict[str, Any]:
    """Return what is learnt as one JSON object."""
    numbers = ("share_before", "share_after", "weight_before", "weight_after")
    return {
        "schema": "diagnose/learnt/1",
        "proved": sum(lesson.proved for lesson in lessons),
        "weight": rounded(weight),
        "left_out": [{"job": job, "why": why} for job, why in left_out],
        "faults": [each._asdict() | {name: rounded(getattr(each, name)) for name in numbers} for each in lessons],
    }
