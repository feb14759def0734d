"""Tables of practice for a terminal: the library, somebody's progress, a class; each row stands by itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from diagnose.practice.progress import Standing
from diagnose.present.walk_words import wrapped

__all__ = ["case_rows", "class_lines", "progress_lines"]


def case_rows(rows: Sequence[tuple[str, int, str, str, float | None]], width: int) -> list[str]:
    """Return the library, a case a line: id, level, layout, best minutes, title."""
    lines = []
    for name, level, layout, title, minutes in rows:
        best = "" if minutes is None else f"{minutes:.0f} min"
        lines += wrapped(f"{name:<18}{level}  {layout:<19}{best:>7}  {title}", width, hang=" " * 20)
    return lines


def progress_lines(
    name: str, cases: int, found: Sequence[Standing], says: Mapping[str, str], advice: Sequence[tuple[str, str]],
    width: int,
) -> list[str]:  # fmt: skip
    """Return somebody's progress: a line a skill, and what to practise next, weakest first."""
    lines = [f"{name}: {cases} case{'' if cases == 1 else 's'}"]
    if not cases:
        lines += wrapped(f"Nothing is kept yet; begin with: diagnose practice --random --level 1 --name {name}", width)
    for one in found:
        if one.cases:
            state = "due" if one.due else "well"
            text = f"{says[one.skill]}: {one.passed} of {one.cases} passed, {one.points:.0f} points lately, {state}"
            lines += wrapped(text, width, "  ", "  ")
    lines += ["Practise next:"]
    for text, case in advice:
        lines += wrapped(f"{text}:" if case else text, width, "  ", "  ")
        lines += [f"    diagnose practice {case}"] if case else []  # a command is not broken over lines
    return lines


def class_lines(rows: Sequence[tuple[str, str, Mapping[str, Any], bool]], width: int) -> list[str]:
    """Return the table of a class; a result whose mark does not fit says so instead of its points."""
    lines = [f"{'name':<16}{'case':<14}{'points':>7}{'passed':>8}{'min':>7}{'best':>7}"]
    for name, case, score, sound in rows:
        head = f"{name[:15]:<16}{case[:13]:<14}"
        if not sound:
            lines += wrapped(f"{head} CHANGED, or marked with another word: it does not count", width, hang="  ")
            continue
        passed = "yes" if score.get("passed") else "NO"
        minutes, best = (float(score.get(key) or 0.0) for key in ("minutes", "best_minutes"))
        lines.append(f"{head}{score.get('points', 0):>7}{passed:>8}{minutes:>7g}{best:>7g}")
    counted = [score for _, _, score, sound in rows if sound]
    if counted:
        mean = sum(float(s.get("points", 0)) for s in counted) / len(counted)
        passed_all = sum(bool(s.get("passed")) for s in counted)
        lines.append(f"{len(counted)} results count: {passed_all} passed, {mean:.0f} points on the mean")
    return lines
