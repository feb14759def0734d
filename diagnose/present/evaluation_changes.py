"""Two runs on the same vehicles as a table for 80 columns, and as JSON: by fault, what got better and what worse.

Shows what was compared and computes nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.evaluation.comparing import Change
from diagnose.present.json_forms import rounded
from diagnose.present.walk_words import wrapped

__all__ = ["changes_json", "changes_lines"]

FORM = "{:24.24} {:>4} {:>5} {:>5} {:>6} {:>6} {:>5} {:>5} {:>5} {:>6}"


def changes_lines(changes: Sequence[Change], width: int = 80) -> list[str]:
    """Return what changed as lines, all vehicles first.

    Parameters: `changes`, of all vehicles and then by fault; `width` [columns].
    """
    every = changes[0]
    told = (
        f"{every.out_of} vehicles, the same in both. The right place is further in front in {every.better}, less far "
        f"in {every.worse}; fewer minutes in {every.faster}, more in {every.slower}."
    )
    lines = wrapped(told, width)
    beyond = [f"{change.name} {' and '.join(change.verdicts)}" for change in changes if change.verdicts]
    lines += wrapped(f"More than chance (p under 0.05): {', '.join(beyond) or 'nothing'}.", width)
    lines += ["", FORM.format("", "", "first", "", "", "in 3", "", "min.", "", "").rstrip()]
    lines.append(FORM.format("", "n", "old", "new", "p", "old", "new", "old", "new", "p"))
    for change in changes:
        lines.append(
            FORM.format(
                change.name, change.out_of, *_pair(change.first, 3), _p(change.chance_first),
                *_pair(change.in_three, 2), *_pair(change.minutes, 1), _p(change.chance_minutes),
            )
        )  # fmt: skip
    notes = (
        "p of first: McNemar's exact test (a sign test where a group shares a place). p of minutes: Wilcoxon's "
        "signed ranks; minutes are medians. Those of single faults are corrected for how many there are (Holm)."
    )
    return [*lines, "", *wrapped(notes, width)]


def changes_json(changes: Sequence[Change]) -> dict[str, Any]:
    """Return what changed as one JSON object."""
    return {
        "schema": "diagnose/evaluation-changes/1",
        "vehicles": changes[0].out_of,
        "all": _form(changes[0]),
        "by_fault": [_form(change) for change in changes[1:]],
    }


def _form(change: Change) -> dict[str, Any]:
    form: dict[str, Any] = {"name": change.name, "vehicles": change.out_of}
    for name in ("first", "in_three", "minutes"):
        old, new = getattr(change, name)
        form[name] = {"old": rounded(old), "new": rounded(new)}
    form |= {name: getattr(change, name) for name in ("better", "worse", "faster", "slower")}
    form |= {"p_first": rounded(change.chance_first), "p_minutes": rounded(change.chance_minutes)}
    return form | {"more_than_chance": list(change.verdicts)}


def _pair(values: tuple[float, float], digits: int) -> tuple[str, str]:
    return f"{values[0]:.{digits}f}", f"{values[1]:.{digits}f}"


def _p(chance: float) -> str:
    return "<.0005" if chance < 0.0005 else f"{chance:.3f}"
