"""Writes learnt frequencies as a folder that is laid over the rules: one small file a fault, and the source they name.

It writes into no file that another hand made, and changes nothing that ships.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

from diagnose.basics.errors import BadInput, Problem
from diagnose.inference.learning import Lesson
from diagnose.store.new_file import write_new

__all__ = ["MARK", "SOURCE", "weight_words", "write_learnt"]

#: first line of every file, by which it is known again
MARK = "# Learnt from own jobs by `diagnose learn`, which may write over this file."
#: id of the source that the frequencies name
SOURCE = "own_jobs"


def weight_words(weight: float) -> str:
    """Return a frequency as it is written: four significant digits.

    >>> weight_words(0.61234567)
    '0.6123'
    """
    return f"{weight:.4g}"


def write_learnt(into: str, lessons: Sequence[Lesson], force: bool) -> tuple[str, ...]:
    """Write the frequencies that differ from those that ship.

    Parameters: `into`, the folder, made where it is missing; `force`, whether files that were learnt before may be
    written over.
    Returns: the files written, the source first, so that what is there is whole at any moment.
    Raises: BadInput where a file stands in the way, or the folder is a whole rule base; nothing is written then.
    """
    base = into.rstrip("/") or into
    if not into or "\0" in into or (Path(base).exists() and not Path(base).is_dir()):
        raise BadInput([Problem(into or "--into", None, None, "this is no folder", "give the name of a folder")])
    if (Path(base) / "MARKER.yaml").exists():
        what = "this is a whole rule base, which is not changed"
        raise BadInput([Problem(into, None, None, what, "give another folder, and lay it over with --rules")])
    texts = {f"{base}/sources.yaml": _source(lessons)}
    for lesson in lessons:
        file = f"{base}/faults/{lesson.fault}.yaml"
        if weight_words(lesson.weight_after) != weight_words(lesson.weight_before) or os.path.lexists(file):
            texts[file] = _frequency(lesson)
    if problems := [problem for file in texts if (problem := _in_the_way(file, force)) is not None]:
        raise BadInput(problems)
    _make(Path(base) / "faults")
    for file, text in texts.items():
        write_new(file, text, force)
    return tuple(texts)


def _frequency(lesson: Lesson) -> str:
    weight = weight_words(lesson.weight_after)
    return (
        f"{MARK}\n# Proved repairs of this fault: {lesson.proved}. What ships: {weight_words(lesson.weight_before)}.\n"
        f"frequency: {{weight: {weight}, unit: relative, source: {SOURCE}, confidence: computed}}\n"
    )


def _source(lessons: Sequence[Lesson]) -> str:
    proved = sum(lesson.proved for lesson in lessons)
    edition = "1 repair" if proved == 1 else f"{proved} repairs"
    return (
        f"{MARK}\n{SOURCE}: {{title: repairs proved in own jobs, edition: {edition}, kind: judgement, "
        "note: counts of repairs on top of the frequencies that ship}\n"
    )


def _in_the_way(file: str, force: bool) -> Problem | None:
    """Return what is wrong with writing a file: it is there, and is no learnt one or may stay."""
    if not os.path.lexists(file):
        return None
    try:
        with Path(file).open(encoding="utf-8", errors="replace") as stream:
            learnt = stream.readline(len(MARK) + 1).rstrip("\n") == MARK
    except OSError:
        learnt = False
    if not learnt:
        right = "learn into a folder of its own, and take over by hand what you want"
        return Problem(file, None, None, "it exists already and was not learnt, nothing was written", right)
    right = "give another folder, or --force to learn anew"
    return None if force else Problem(file, None, None, "it exists already, nothing was written", right)


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or "unknown reason"
        right = "give a folder that can be written to with --into"
        raise BadInput([Problem(str(folder), None, None, f"the folder cannot be made ({reason})", right)]) from None
