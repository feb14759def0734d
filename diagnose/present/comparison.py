"""The joints of one installation then and now, as lines and as JSON; what has drifted is told it, not worked out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.model.commissioning import Baseline
from diagnose.model.installation import Installation
from diagnose.present.commissioning_json import baseline_json
from diagnose.present.commissioning_words import joint_words, ohms_words
from diagnose.present.walk_words import wrapped

__all__ = ["comparison_json", "comparison_lines"]

Pairs = Sequence[tuple[Baseline, Baseline | None, bool]]


def comparison_lines(pairs: Pairs, installation: Installation, width: int = 80) -> list[str]:
    """Return the comparison as lines: what has drifted first, then what has not, then what was not read again.

    Parameters: `pairs`, each joint then and now (None: not read again), and whether it has drifted; `width` [columns].
    """
    if not pairs:
        return wrapped("No joint was measured then, so there is nothing to compare.", width)
    groups = (
        ("DRIFTED", [p for p in pairs if p[2]]),
        ("as it was", [p for p in pairs if p[1] is not None and not p[2]]),
        ("not read again", [p for p in pairs if p[1] is None]),
    )
    lines = [*wrapped(", ".join(f"{len(found)} {word}" for word, found in groups), width), ""]
    for word, found in groups:
        for then, now, _ in found:
            lines += wrapped(f"{word:14} {joint_words(then, installation)}", width, hang=" " * 15)
            later = f"now {ohms_words(now)}" if now is not None else "now not read"
            lines += wrapped(f"then {ohms_words(then)}, {later}", width, " " * 15, "  ")
    told = "Resistance ± standard uncertainty. DRIFTED: changed by more than both uncertainties leave open (95 %)."
    return [*lines, "", *wrapped(told, width)]


def comparison_json(pairs: Pairs) -> dict[str, Any]:
    """Return the comparison as one JSON object; resistances in ohm."""
    return {
        "schema": "diagnose/comparison/1",
        "drifted": sum(drifted for _, _, drifted in pairs),
        "joints": [
            {
                "part": then.part, "between": list(then.between), "then": _figures(then), "now": _figures(now),
                "drifted": drifted if now is not None else None,
            }
            for then, now, drifted in pairs
        ],
    }  # fmt: skip


def _figures(one: Baseline | None) -> dict[str, Any] | None:
    if one is None:
        return None
    return {name: value for name, value in baseline_json(one).items() if name not in ("part", "between")}
