"""`diagnose expect`: what a sound installation reads at a point, and what the likeliest faults would read instead."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.baseline import BASELINE_HELP, with_baseline
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.model.expected import Expected
    from diagnose.model.figures import Tables
    from diagnose.model.installation import Installation
    from diagnose.model.reading import Take
    from diagnose.model.rules import RuleBase

__all__ = ["expect"]

#: suspects shown beside the healthy value, and vehicles drawn for each of them
SUSPECTS, SUSPECT_VEHICLES = 4, 12


def expect(
    file: Annotated[str, typer.Argument(help="The installation: a file, or the name of a layout that ships.")],
    places: Annotated[
        list[str] | None,
        typer.Argument(help="Two points for volts, or one part for its current.", metavar="[A B | PART]"),
    ] = None,
    when: Annotated[str, typer.Option("--when", help="Operating state, for example engine_running.")] = "at_rest",
    readings: Annotated[
        str | None, typer.Option("--readings", help="A readings file whose entries need no `read`.")
    ] = None,
    fault: Annotated[str | None, typer.Option("--fault", help="A fault as JSON: what would be read with it.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    baseline: Annotated[str | None, typer.Option("--baseline", help=BASELINE_HELP)] = None,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Do without the cache folder.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
) -> None:
    """Tell what a point should read on this installation, and what the likeliest faults would read in its place.

    Example: diagnose expect crew_cab_tray tray chassis --when engine_running
    """
    from diagnose.cli.loading import fault_from_json, figures, installation_named, rule_base, rules_named
    from diagnose.prediction.expected import expected_readings
    from diagnose.prediction.hypotheses import SOUND
    from diagnose.prediction.sights import SOUND_WORD
    from diagnose.present.json_forms import expected_json

    folders = rules_named(rules_from)
    installation = with_baseline(installation_named(file, folders), baseline)
    takes = _takes(places or [], when, readings, installation)
    needless = as_json and fault is None and rules_from is None and all(t.quantity not in SOUND_WORD for t in takes)
    rules = None if needless else rule_base(not no_cache, folders)
    tables = figures(folders)
    hypothesis = SOUND if fault is None or rules is None else fault_from_json(fault, installation, rules)
    found = expected_readings(installation, rules, tables, takes, hypothesis, seed)
    if as_json:
        typer.echo(expected_json(found, hypothesis.fault))
        return
    label = "sound" if hypothesis.fault is None else hypothesis.label
    rows = [(label, one) for one in found]
    if rules is not None and hypothesis.fault is None and len(takes) == 1:
        rows += _suspects(installation, rules, tables, takes[0], seed)
    _show(rows)


def _takes(places: list[str], when: str, readings: str | None, installation: Installation) -> tuple[Take, ...]:
    """Return the tests asked for: those of a readings file, or the one named on the command line."""
    from diagnose.cli.loading import entry_reading
    from diagnose.store.readings import load_readings

    if readings is not None:
        entries = load_readings(readings, installation, needs_read=False).readings
        return tuple(e.take for e in entries if e.take is not None)
    if len(places) not in (1, 2):
        raise BadInput(
            [Problem("PLACE", None, None, "no place is named", "give two points, or one part, or --readings FILE")]
        )
    quantity = "amps" if len(places) == 1 else "ohms" if when == "isolated" else "volts"
    where = places[0] if len(places) == 1 else places
    take = entry_reading({quantity: where, "when": when}, installation, "PLACE", needs_read=False).take
    assert take is not None
    return (take,)


def _suspects(
    installation: Installation, rules: RuleBase, tables: Tables, take: Take, seed: int
) -> list[tuple[str, Expected]]:
    """Return what the suspects that would move this reading most would read, likeliest first."""
    from diagnose.prediction.expected import most_telling
    from diagnose.prediction.hypotheses import all_hypotheses

    hypotheses = all_hypotheses(installation, rules)
    return most_telling(installation, rules, tables, take, hypotheses, seed, SUSPECT_VEHICLES, SUSPECTS)


def _show(rows: list[tuple[str, Expected]]) -> None:
    """Print expected readings for a person."""
    import shutil

    from diagnose.present.terminal import expected_lines

    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    for line in expected_lines(rows, width):
        typer.echo(line)
