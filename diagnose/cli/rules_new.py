"""The part of `diagnose rules` that writes the skeleton of a new rule and says what comes next."""

from __future__ import annotations

import shlex

import typer

from diagnose.basics.errors import printable

__all__ = ["new_rule"]

#: the folder that new rules go to unless another is named, below the current one
INTO = "own_rules"


def new_rule(kind: str, name: str, into: str | None) -> None:
    """Write a skeleton and name the command that tells what is still to fill in."""
    from diagnose.cli.loading import rule_base
    from diagnose.store.rule_skeletons import write_skeleton

    folder = INTO if into is None else into
    for file in write_skeleton(kind, name, folder, rule_base()):
        typer.echo(f"written: {printable(file)}")
    typer.echo(f"What is still to be filled in: diagnose lint --rules {shlex.quote(printable(folder))}")
