"""`diagnose check`: the mistakes of a design found before a spanner is lifted, and the build sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.model.checks import Assumptions, CheckLine
    from diagnose.model.installation import Installation

__all__ = ["check"]


def check(
    file: Annotated[str, typer.Argument(help="The installation: a file, or the name of a layout that ships.")],
    build_sheet: Annotated[
        bool, typer.Option("--build-sheet", help="Print parts, cables, torques, order of work and hold points.")
    ] = False,
    load_hours: Annotated[
        list[str] | None,
        typer.Option("--load-hours", help="Hours a day: 6 for all loads, or LOAD=HOURS; may be repeated."),
    ] = None,
    driving_hours: Annotated[
        float, typer.Option("--driving-hours", help="Hours of driving a day.", min=0, max=24)
    ] = 2.0,
    sun_hours: Annotated[float, typer.Option("--sun-hours", help="Hours of full sun a day.", min=0, max=24)] = 4.0,
    coldest: Annotated[
        float, typer.Option("--coldest", help="The coldest bright morning, in degC.", min=-60, max=40)
    ] = -10.0,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> int:
    """Check a design: cables, fuses, earths, charger, charging, ventilation, energy. Status 1 where something fails.

    Example: diagnose check crew_cab_tray --driving-hours 1 --load-hours fridge=10
    """
    from diagnose.cli.loading import figures, installation_named, rules_named
    from diagnose.design_check.check import CHECKS, design_of, without_rule
    from diagnose.model.checks import Assumptions
    from diagnose.store.checks import load_checks

    folders = rules_named(rules_from)
    installation = installation_named(file, folders)
    hours, default = _hours(load_hours or [], installation)
    assumed = Assumptions(hours, default, driving_hours, sun_hours, coldest)
    tables = figures(folders)
    rules = load_checks(tables, folders.base)
    if missing := without_rule(rules):
        raise BadInput(missing)
    design = design_of(installation, tables, rules, assumed)
    lines = tuple(line for rule in CHECKS.values() for line in rule(design))
    if build_sheet:
        from diagnose.design_check.build_sheet import build_sheet as drawn_up
        from diagnose.present.check_lines import build_sheet_lines
        from diagnose.store.rules import load_rules

        _print(build_sheet_lines(drawn_up(design, lines, load_rules(folders).cautions), _width()))
    else:
        asks = {rule: rules[rule].asks for rule in CHECKS}
        _show(installation.title, lines, asks, assumed, as_json, plain)
    return int(any(line.verdict == "FAIL" for line in lines))


def _hours(
    entries: list[str], installation: Installation
) -> tuple[tuple[tuple[str, float], ...], float | None]:
    """Return the hours of named loads and those of all others."""
    from diagnose.basics.errors import meant

    loads = [name for name, part in installation.parts.items() if part.kind == "load"]
    named: list[tuple[str, float]] = []
    default: float | None = None
    problems = []
    for entry in entries:
        load, equals, text = entry.rpartition("=")
        hours = _number(text)
        if hours is None:
            problems.append(Problem("--load-hours", None, None, f"`{text}` is no number of hours a day",
                                    "write 0 to 24, for example fridge=10"))  # fmt: skip
        elif equals and load not in loads:
            right = meant(load, loads, f"one of {', '.join(loads) or 'none: there is no load'}")
            problems.append(Problem("--load-hours", None, None, f"no load `{load}`", right))
        elif equals:
            named.append((load, hours))
        else:
            default = hours
    if problems:
        raise BadInput(problems)
    return tuple(named), default


def _number(text: str) -> float | None:
    try:
        hours = float(text.strip().removesuffix("h"))
    except ValueError:
        return None
    return hours if 0.0 <= hours <= 24.0 else None


def _show(
    title: str, lines: tuple[CheckLine, ...], asks: dict[str, str], assumed: Assumptions, as_json: bool, plain: bool
) -> None:
    """Print the lines for a person or for a program."""
    import os
    import sys

    from diagnose.present.check_lines import check_json, check_lines

    if as_json:
        typer.echo(check_json(title, lines, assumed))
        return
    colour = not plain and sys.stdout.isatty() and "NO_COLOR" not in os.environ
    _print(check_lines(title, lines, asks, _width(), colour))


def _width() -> int:
    import shutil

    return min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)


def _print(lines: list[str]) -> None:
    for line in lines:
        typer.echo(line)
