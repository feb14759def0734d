"""`diagnose lint`: the rule base judged, each finding with its place and what to do."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

__all__ = ["lint"]


def lint(
    rules: Annotated[
        str | None, typer.Option("--rules", help="Your own rules, checked over those that ship; or a whole rule base.")
    ] = None,
    deep: Annotated[
        bool, typer.Option("--deep", help="Also look for faults that no test tells apart; takes minutes.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes; it has none.")] = False,
) -> int:
    """Check the rule base: form, links, units, sources, examples, reach. Status 1 where something fails.

    Example: diagnose lint
    """
    from diagnose.design_check.check import without_rule
    from diagnose.lint.base import Finding
    from diagnose.lint.lint import findings, sorted_findings, twins
    from diagnose.present.findings import findings_json, findings_lines
    from diagnose.store.rule_base import read_base
    from diagnose.store.rule_folders import rule_folders

    folders = rule_folders(rules)
    read = read_base(folders)
    if folders.own is not None:
        typer.echo(folders.told(), err=True)
    found = [Finding(name, "FAIL", problem) for name, problem in read.wrong]
    if read.base is not None and read.tables is not None:
        known = [Path(name).stem for name in read.base.texts if name.startswith("rules/checks/")]
        found += [Finding("design_check", "FAIL", problem) for problem in without_rule(known)]
        found += findings(read.base)
        found += twins(read.base, read.tables) if deep else []
    ordered = sorted_findings(found)
    typer.echo(findings_json(ordered) if as_json else "\n".join(findings_lines(ordered)))
    return int(any(each.severity == "FAIL" for each in ordered))
