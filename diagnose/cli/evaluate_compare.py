"""The part of `diagnose evaluate` that holds two kept runs against each other instead of playing one."""

from __future__ import annotations

import json

import typer

from diagnose.basics.errors import BadInput, Problem

__all__ = ["compared"]

#: options of `diagnose evaluate` that go with --compare
ALONGSIDE = ("compare", "as_json")


def compared(old: str, new: str, context: typer.Context, as_json: bool) -> int:
    """Show what changed from one kept run to another; status 1 where something got worse or slower beyond chance.

    Raises: BadInput where another option was given too, a file does not fit, or the vehicles are not the same.
    """
    from diagnose.evaluation.comparing import changes, other_vehicles
    from diagnose.present.evaluation_changes import changes_json, changes_lines
    from diagnose.store.evaluations import load_kept

    _refuse_others(context)
    problems: list[Problem] = []
    runs = []
    for path in (old, new):
        try:
            runs.append(load_kept(path))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    before, after = runs
    if (why := other_vehicles(before, after)) is not None:
        right = "keep both runs with the same layouts, number, seed and story, and change the rules alone"
        raise BadInput([Problem(new, None, None, f"these are not the vehicles of {old}: {why}", right)])
    found = changes(before, after)
    if as_json:
        typer.echo(json.dumps(changes_json(found), ensure_ascii=False, indent=1))
    else:
        typer.echo("\n".join(changes_lines(found)))
    return int(any({"worse", "slower"} & set(change.verdicts) for change in found))


def _refuse_others(context: typer.Context) -> None:
    """Refuse options that would not be looked at."""
    names = {parameter.name: max(parameter.opts, key=len) for parameter in context.command.params}
    given = [
        option for name, option in names.items()
        if name is not None and name not in ALONGSIDE and _typed(context, name)
    ]  # fmt: skip
    if given:
        right = "leave it out; --compare plays no vehicle"
        raise BadInput([Problem(option, None, None, "it does not go with --compare", right) for option in given])


def _typed(context: typer.Context, name: str) -> bool:
    source = context.get_parameter_source(name)
    return source is not None and source.name == "COMMANDLINE"
