"""`diagnose evaluate`: simulated vehicles played through the engine's own questions, and how often it was right."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem

if TYPE_CHECKING:
    from diagnose.evaluation.run import Plan, Result

__all__ = ["evaluate"]

PLAYERS = ("engine", "textbook", "halving", "bits")

Keep = Annotated[str | None, typer.Option("--keep", help="Write the vehicles and how each went into this file.")]
Force = Annotated[bool, typer.Option("--force", help="With --keep: write over a file that is there already.")]
Own = Annotated[
    str | None,
    typer.Option("--rules", help="The engine goes by these rules over those that ship; vehicles by those that ship."),
]
Compare = Annotated[
    tuple[str, str] | None,
    typer.Option("--compare", metavar="OLD NEW", help="Play nothing: show what changed between two kept runs."),
]


def evaluate(
    context: typer.Context,
    layouts: Annotated[
        str | None, typer.Option("--layouts", help="Layouts that ship, with commas between; all if not said.")
    ] = None,
    vehicles: Annotated[int, typer.Option("--n", help="How many vehicles.", min=1)] = 1000,
    double: Annotated[bool, typer.Option("--double", help="Two faults in each vehicle.")] = False,
    repair: Annotated[bool, typer.Option("--repair", help="Mend what is found, prove it, look again.")] = False,
    sound: Annotated[float, typer.Option("--sound", help="Share of vehicles without a fault.", min=0, max=1)] = 0.0,
    wrong: Annotated[float, typer.Option("--wrong", help="Chance that a reading is mistaken.", min=0, max=1)] = 0.0,
    missing: Annotated[bool, typer.Option("--missing", help="Take each cause out of the engine's rules.")] = False,
    tools: Annotated[str | None, typer.Option("--tools", help="Tools at hand; those most people carry.")] = None,
    players: Annotated[
        str | None, typer.Option("--players", help="Who plays: engine, and textbook, halving, bits to compare with.")
    ] = None,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    jobs: Annotated[
        int | None, typer.Option("--jobs", help="How many processes; one a core if not said.", min=1, max=64)
    ] = None,
    cluster: Annotated[
        str | None, typer.Option("--cluster", help="Play on the workers of a scheduler at this address instead.")
    ] = None,
    rules: Own = None,
    keep: Keep = None,
    force: Force = False,
    compare: Compare = None,
    readings: Annotated[bool, typer.Option("--readings", help="Show the readings where it failed.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> int:
    """Play simulated vehicles with hidden faults to the end; status 1 where a floor is missed, or a change is worse.

    Example: diagnose evaluate --layouts solar_only_van --n 2 --players engine
    """
    import os

    from diagnose.cli.evaluate_cluster import over_cluster
    from diagnose.cli.evaluate_compare import compared
    from diagnose.cli.loading import chosen_tools
    from diagnose.evaluation.population import Story
    from diagnose.evaluation.run import run
    from diagnose.evaluation.summary import summarize
    from diagnose.present.evaluation_table import evaluation_json, evaluation_lines

    if compare is not None:
        return compared(*compare, context, as_json)
    _refuse_keep(keep, force)
    story = Story(sound, wrong, 2 if double else 1, chosen_tools(tools))
    plan = _plan(rules, layouts)._replace(
        vehicles=vehicles, seed=seed, story=story, players=_players(players, repair, missing, double), repair=repair,
        missing=missing,
    )  # fmt: skip
    if cluster is not None and jobs is not None:
        raise BadInput([Problem("--jobs", None, None, "it does not go with --cluster", "leave one of them out")])
    over = None if cluster is None else over_cluster(cluster)
    results = run(plan, jobs or os.cpu_count() or 1, _progress(vehicles), over)
    summary = summarize(plan, results)
    if keep is not None:
        _write(keep, plan, results, force)
    if as_json:
        typer.echo(evaluation_json(summary))
    else:
        typer.echo("\n".join(evaluation_lines(summary, _told(plan), 80, readings)))
    return int(not all(floor.reached for floor in summary.floors))


def _plan(rules: str | None, layouts: str | None) -> Plan:
    """Return a plan with its rules and layouts; how many vehicles of what kind is still to be said."""
    from diagnose.cli.loading import figures, rule_base, rules_named
    from diagnose.evaluation.population import Story
    from diagnose.evaluation.run import Plan
    from diagnose.store.installations import load_layout
    from diagnose.store.textbook import load_textbook

    folders = rules_named(rules)
    own = (rule_base(rules=folders), figures(folders)) if rules is not None else None
    chosen = tuple((name, load_layout(name)) for name in _layouts(layouts))
    return Plan(chosen, rule_base(), figures(), 0, 0, Story(0.0, 0.0, 1, ()), order=load_textbook(), own=own)


def _refuse_keep(keep: str | None, force: bool) -> None:
    """Refuse a file that could not be written before any vehicle is played."""
    from diagnose.store.new_file import refuse_taken

    if keep is not None:
        refuse_taken(keep, force)
    elif force:
        raise BadInput([Problem("--force", None, None, "it goes with --keep alone", "add --keep FILE")])


def _write(keep: str, plan: Plan, results: Sequence[Result], force: bool) -> None:
    from diagnose.evaluation.comparing import kept
    from diagnose.store.evaluations import write_kept

    write_kept(keep, kept(plan, results), force)


def _progress(vehicles: int) -> Callable[[int], None]:
    """Return what tells how far it is, to a person at a terminal only."""
    import sys

    def told(done: int) -> None:
        if sys.stderr.isatty():
            typer.echo(f"{done} of {vehicles}", err=True)

    return told


def _layouts(text: str | None) -> tuple[str, ...]:
    """Return the names of the layouts chosen."""
    from diagnose.store.installations import layout_ids

    return layout_ids() if text is None else _chosen("--layouts", "layout", text, layout_ids())


def _players(text: str | None, repair: bool, missing: bool, double: bool) -> tuple[str, ...]:
    """Return who plays, the engine first; only single faults, not mended, are for all to play."""
    if text is None:
        return ("engine",) if repair or missing or double else PLAYERS
    return tuple(dict.fromkeys(("engine", *_chosen("--players", "player", text, PLAYERS))))


def _chosen(option: str, what: str, text: str, known: tuple[str, ...]) -> tuple[str, ...]:
    """Return the words of a list with commas, each of which must be known."""
    from diagnose.basics.errors import meant

    words = tuple(dict.fromkeys(w.strip() for w in text.split(",") if w.strip()))
    problems = []
    for word in words:
        if word not in known:
            right = meant(word, known, f"one of {', '.join(known)}")
            problems.append(Problem(option, None, None, f"`{word}` is no {what}", right))
    if problems or not words:
        raise BadInput(problems or [Problem(option, None, None, f"no {what} is named", f"one of {', '.join(known)}")])
    return words


def _told(plan: Plan) -> list[str]:
    """Return what was played in a few sentences."""
    from diagnose.simulation.mismatch import OUTSIDE

    shifts = ", ".join(f"{name} {value:g}" for name, value in OUTSIDE._asdict().items())
    story = plan.story
    return [
        f"{plan.vehicles} vehicles of {len(plan.layouts)} layouts, seed {plan.seed}: {story.faults} hidden fault(s), "
        f"{story.sound:.0%} sound, {story.wrong:.0%} of readings mistaken; tools: {', '.join(story.tools)}.",
        f"What the engine is not told, at most: {shifts}.",
        *(["Each cause, and those of its adjoining terminations, is taken out of the rules."] if plan.missing else []),
        *(["The engine goes by the rules of --rules, the vehicles by those that ship."] if plan.own else []),
        *(["What is found is mended, proved, and looked at again."] if plan.repair else []),
    ]
