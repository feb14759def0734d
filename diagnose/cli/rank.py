"""`diagnose rank`: which faults are behind the readings, why, and which test to take next."""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.baseline import BASELINE_HELP, with_baseline
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.inference.ranking import Engine, Question
    from diagnose.model.installation import Installation
    from diagnose.model.reading import Reading
    from diagnose.model.rules import RuleBase
    from diagnose.store.readings import ReadingsFile
    from diagnose.store.rule_folders import RuleFolders

__all__ = ["rank", "recalled"]


def rank(
    file: Annotated[str, typer.Argument(help="The installation: a file, or the name of a layout that ships.")],
    readings: Annotated[
        str | None, typer.Option("--readings", help="A readings file; without it they are asked for.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    tools: Annotated[
        str | None, typer.Option("--tools", help="Tools at hand, for example multimeter,clamp,eyes,hands.")
    ] = None,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    why_not: Annotated[str | None, typer.Option("--why-not", help="A suspect: what speaks against it.")] = None,
    answers: Annotated[
        str | None, typer.Option("--answers", help="A file of answers, one a line, for the prompts.")
    ] = None,
    baseline: Annotated[str | None, typer.Option("--baseline", help=BASELINE_HELP)] = None,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Do without the cache folder.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> None:
    """Rank the faults behind readings, with reasons, and name the next test worth taking.

    Example: diagnose rank crew_cab_tray --readings cases/examples/crew_cab_tray_readings.yaml
    """
    from diagnose.cli.loading import chosen_tools, figures, installation_named, rule_base, rules_named
    from diagnose.inference.ranking import Engine, Question
    from diagnose.store.readings import load_readings

    chosen = chosen_tools(tools)
    folders = rules_named(rules_from)
    installation = with_baseline(installation_named(file, folders), baseline)
    rules, tables = rule_base(not no_cache, folders), figures(folders)
    taken = load_readings(readings, installation, faults=rules.faults) if readings is not None else None
    engine = Engine(installation, rules, tables, seed)
    recall = recalled(engine, installation, seed, folders) if not no_cache else None
    if taken is None:
        taken = _asked(installation, rules, as_json, plain, answers)
    question = Question(taken.readings, taken.complaint, chosen)
    try:
        if why_not is not None:
            _explain(engine, question, why_not)
        else:
            _answer(engine, question, as_json)
    finally:
        if recall is not None:
            recall()


def recalled(
    engine: Engine, installation: Installation, seed: int, rules: RuleFolders | None = None
) -> Callable[[], None]:
    """Give an engine what an earlier run worked out; return what keeps the rest, once it has answered."""
    from diagnose.store import cache_folder
    from diagnose.store.rules_kept import predictions_key

    key = predictions_key(installation, seed, rules)
    kept = cache_folder.read(key)
    if kept is not None:
        with contextlib.suppress(ValueError):
            engine.put_back(kept)
    before = engine.worked_out

    def keep() -> None:
        if engine.worked_out > before:
            cache_folder.write(key, engine.kept())

    return keep


def _answer(engine: Engine, question: Question, as_json: bool) -> None:
    """Print the ranking; a danger ends with its own status."""
    from diagnose.present.json_forms import ranking_json
    from diagnose.present.terminal import ranking_lines

    ranking = engine.rank(question)
    typer.echo(ranking_json(ranking) if as_json else "\n".join(ranking_lines(ranking, _width())))
    if ranking.dangers:
        raise typer.Exit(3)


def _explain(engine: Engine, question: Question, label: str) -> None:
    """Print what speaks against one suspect."""
    from diagnose.present.terminal import why_not_lines

    why = engine.why_not(question, label)
    if why is None:
        raise BadInput(
            [
                Problem(
                    "--why-not",
                    None,
                    None,
                    f"no suspect `{label}`",
                    "write a fault and a part, for example: blown input_fuse",
                )
            ]
        )
    typer.echo("\n".join(why_not_lines(why, _width())))


def _width() -> int:
    import shutil

    return min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)


def _asked(
    installation: Installation, rules: RuleBase, as_json: bool, plain: bool, answers: str | None
) -> ReadingsFile:
    """Ask for the complaint and the readings, one a line, until nothing more is given."""
    import sys

    from diagnose.cli.asker import EndOfAnswers, open_asker
    from diagnose.cli.typed_readings import HELP, read_typed
    from diagnose.store.answers import load_answers
    from diagnose.store.readings import ReadingsFile

    text = None if answers is None else load_answers(answers)
    asker = open_asker(plain, text, sys.stderr if as_json else sys.stdout)
    found: list[Reading] = []
    complaint: str | None = None
    try:
        complaint = asker.ask("What is the complaint? (in your own words, or: none)", words=("none",))
        complaint = None if complaint == "none" else complaint
        while True:
            typed = asker.ask(
                f"Reading {len(found) + 1}? (a reading, help, back, or: done)", words=("help", "back", "done")
            )
            if typed == "done":
                break
            if typed == "help":
                asker.say(HELP)
            elif typed == "back":
                asker.say("the last reading is dropped" if found else "there is no reading to drop")
                found = found[:-1]
            else:
                reading, said = read_typed(typed, installation)
                asker.say(said)
                found += [reading] if reading is not None else []
    except EndOfAnswers as end:
        asker.say(f"({end}: ranking with what was given)")
    return ReadingsFile(complaint, tuple(found), ())
