"""`diagnose practice`: a vehicle with a hidden fault, acts as typed, a score, and the debrief."""

from __future__ import annotations

from typing import Annotated

import typer

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.words import RULES_HELP

__all__ = ["practice"]


def practice(
    case: Annotated[str | None, typer.Argument(help="A case: its id, as `diagnose cases` lists it, or a file.")] = None,
    random: Annotated[bool, typer.Option("--random", help="Any case that fits --level, --layout, --fault.")] = False,
    level: Annotated[int | None, typer.Option("--level", help="Level of the case, 1 to 5.", min=1, max=5)] = None,
    layout: Annotated[str | None, typer.Option("--layout", help="The vehicle's layout.")] = None,
    fault: Annotated[str | None, typer.Option("--fault", help="A fault that the case has.")] = None,
    answers: Annotated[
        str | None, typer.Option("--answers", help="A file of acts, one a line, in place of typing them.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    worked: Annotated[bool, typer.Option("--worked", help="Show the case solved, with reasons.")] = False,
    coach: Annotated[
        bool | None, typer.Option("--coach/--no-coach", help="Ask before each test for suspects and expectations.")
    ] = None,
    html: Annotated[str | None, typer.Option("--html", help="Write the debrief as a page, FILE.")] = None,
    exam: Annotated[str | None, typer.Option("--exam", help="An examination: write its result to FILE.")] = None,
    word: Annotated[str, typer.Option("--word", help="The instructor's word that marks the result.")] = "",
    name: Annotated[str | None, typer.Option("--name", help="Who practises: keeps the result for `progress`.")] = None,
    folder: Annotated[str | None, typer.Option("--progress", help="The folder that progress is kept in.")] = None,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    seed: Annotated[int, typer.Option("--seed", help="Which of the cases that fit.", min=0)] = 1,
    force: Annotated[bool, typer.Option("--force", help="Write over a file that is there already.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Do without the cache folder.")] = False,
) -> int:
    """Find the fault of a simulated vehicle, whose meter answers; then see your score and the best way.

    Example: diagnose practice sun-fuse-01 --answers cases/examples/sun_fuse_acts.txt
    """
    from diagnose.cli.practice_case import Wanted
    from diagnose.cli.practice_run import run_case

    wanted = Wanted(
        answers, as_json, worked, coach, html, exam, word, name, folder, plain, not no_cache, force, rules_from
    )  # fmt: skip
    return run_case(_chosen(case, random, level, layout, fault, seed, name, folder), wanted)


def _chosen(
    case: str | None, random: bool, level: int | None, layout: str | None, fault: str | None, seed: int,
    name: str | None, folder: str | None,
) -> str:  # fmt: skip
    """Return the path of the case that is wanted."""
    from diagnose.cli.practice_pick import picked
    from diagnose.store.practice_cases import case_path

    if case is not None:
        if random or level or layout or fault:
            right = "leave --random, --level, --layout and --fault out, or CASE"
            raise BadInput([Problem("CASE", None, None, "a case is named and chosen at random", right)])
        return str(case_path(case))
    return str(picked(level, layout, fault, seed, name, folder))
