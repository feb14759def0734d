"""`diagnose progress`: how practice went, skill by skill, and what to take next; or a class from result files."""

from __future__ import annotations

import os
import shutil
from typing import Annotated

import typer

__all__ = ["progress"]


def progress(
    name: Annotated[str | None, typer.Argument(help="Whose progress, as given to `practice --name`.")] = None,
    results: Annotated[
        list[str] | None, typer.Option("--results", help="A result of an examination; repeat for a class table.")
    ] = None,
    word: Annotated[str, typer.Option("--word", help="The instructor's word that marked the results.")] = "",
    folder: Annotated[str | None, typer.Option("--progress", help="The folder that progress is kept in.")] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> int:
    """Show which skills are well and which are weak, and what to practise next; or the table of a class.

    Example: diagnose progress kim
    """
    from diagnose.present.practice_tables import class_lines, progress_lines
    from diagnose.store.practice_cases import load_practice_rules
    from diagnose.store.practice_progress import load_progress, progress_folder
    from diagnose.store.practice_results import load_result

    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    if results:
        found = [load_result(path, word) for path in results]
        rows = [(r.name, r.case, r.score, r.sound) for r in found]
        lines = class_lines(rows, width)
        typer.echo("\n".join(lines))
        return 0 if all(r.sound for r in found) else 1
    from diagnose.practice.progress import next_skills, standings

    skills = load_practice_rules().skills
    done = load_progress(progress_folder(folder, os.environ), name or "me")
    found_now = standings(done, tuple(skills))
    known, advice = {str(line.get("case")) for line in done}, []
    for skill in next_skills(found_now):
        case = _case_for(skill, known)
        advice.append((skills[skill].says, case))
        known.add(case)  # no case is advised twice while there is another
    says = {key: skill.says for key, skill in skills.items()}
    typer.echo("\n".join(progress_lines(name or "me", len(done), found_now, says, advice, width)))
    return 0


def _case_for(skill: str, done: set[str]) -> str:
    """Return the easiest case that teaches a skill and is not done yet, or the easiest of all."""
    from diagnose.cli.practice_pick import listed

    fits = [
        (path.stem in done, int(data.get("level", 9)), path.stem)
        for path, data in listed() if skill in (data.get("teaches") or ()) and not data.get("exam")
    ]  # fmt: skip
    return min(fits)[2] if fits else ""
