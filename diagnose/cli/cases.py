"""`diagnose cases`: the library of practice cases listed, checked, added to, or sealed for an examination."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem

if TYPE_CHECKING:
    from diagnose.store.practice_cases import LoadedPractice

__all__ = ["cases"]

ACTIONS = ("list", "check", "new", "seal")


def cases(
    action: Annotated[str, typer.Argument(help="list, check, new or seal.")] = "list",
    files: Annotated[list[str] | None, typer.Argument(help="Cases: ids or files; for new and seal, the file.")] = None,
    level: Annotated[int | None, typer.Option("--level", help="Only cases of this level.", min=1, max=5)] = None,
    layout: Annotated[str | None, typer.Option("--layout", help="Only cases of this layout.")] = None,
    fault: Annotated[str | None, typer.Option("--fault", help="Only cases with this fault.")] = None,
    skill: Annotated[str | None, typer.Option("--skill", help="Only cases that teach this skill.")] = None,
    solve: Annotated[bool, typer.Option("--solve", help="With check: let the engine solve each; takes long.")] = False,
    answers: Annotated[
        str | None, typer.Option("--answers", help="With new: a file of answers, one a line.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> int:
    """List the practice cases; check that each can be solved; write a new one; seal one for an examination.

    Example: diagnose cases list --level 1
    """
    if action not in ACTIONS:
        raise BadInput([Problem("ACTION", None, None, f"`{action[:40]}` is none", f"write {' or '.join(ACTIONS)}")])
    if action == "check":
        return _check(files or [], solve)
    if action in ("new", "seal"):
        from diagnose.cli.cases_new import new_case, seal_case

        if not files or len(files) != (1 if action == "new" else 2):
            right = "give the file to write" if action == "new" else "give the case and the file to write"
            raise BadInput([Problem("FILE", None, None, f"`cases {action}` needs a file", right)])
        return new_case(files[0], answers, force, plain) if action == "new" else seal_case(files[0], files[1], force)
    return _list(level, layout, fault, skill)


def _list(level: int | None, layout: str | None, fault: str | None, skill: str | None) -> int:
    from diagnose.cli.practice_pick import fitting, listed
    from diagnose.present.practice_tables import case_rows
    from diagnose.store.practice_figures import load_figures

    known = load_figures()
    rows = []
    for path, data in listed():
        if not fitting(data, level, layout, fault) or (skill is not None and skill not in (data.get("teaches") or ())):
            continue
        fitted = data.get("installation")
        base = fitted.get("layout") if isinstance(fitted, dict) else fitted
        best = known[path.stem].best_minutes if path.stem in known else None
        rows.append((path.stem, int(data.get("level", 0)), str(base), str(data.get("title")), best))
    rows.sort(key=lambda row: (row[1], row[0]))
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    typer.echo("\n".join(case_rows(rows, width)) if rows else "no case like that; diagnose cases lists all")
    return 0


def _check(names: list[str], solve: bool) -> int:
    """Check cases: they load, their kept figures are of the files as they are, and each was solved with its tools."""
    from diagnose.cli.loading import rule_base
    from diagnose.store.practice_cases import case_path, case_paths, load_practice_case, load_practice_rules
    from diagnose.store.practice_figures import load_figures

    rules, practice, known = rule_base(), load_practice_rules(), load_figures()
    paths = [case_path(name) for name in names] or list(case_paths())
    problems: list[Problem] = []
    loaded: list[tuple[Path, LoadedPractice]] = []
    for path in paths:
        try:
            loaded.append((path, load_practice_case(path, rules, practice)))
        except BadInput as error:
            problems += error.problems
    if problems:  # said before anything else: a refusal leaves standard output empty
        raise BadInput(problems)
    wrong = 0
    for path, case in loaded:
        figures = known.get(case.case.id)
        if solve:
            said = _solved(path)
        elif figures is None:
            said = "LOOK: not in the library's figures; check it with --solve"
        elif figures.digest != case.digest:
            said = "FAIL: edited since its figures were worked out; a case is never edited, only replaced"
        else:
            said = "PASS" if figures.solved and figures.level == case.case.level else "FAIL: not solved with its tools"
        wrong += said.startswith("FAIL")
        if not said.startswith("PASS") or solve or names:
            typer.echo(f"{case.case.id}: {said}")
    typer.echo(f"{len(paths)} cases, {wrong} failed")
    sys.stdout.flush()
    return 1 if wrong else 0


def _solved(path: Path) -> str:
    """Let the engine solve a case with its tools, and say how it went."""
    from diagnose.cli.practice_case import opened
    from diagnose.practice.policy import played, solved

    case = opened(path)
    found = played(case.game.examiner, case.game.room.vehicle, case.loaded.lies)
    well = solved(found, case.game.hidden)
    how = f"{found.minutes:g} min, {found.tests} tests, ended: {found.end.replace('_', ' ')}"
    return f"PASS: {how}" if well else f"FAIL: the engine does not solve it ({how})"
