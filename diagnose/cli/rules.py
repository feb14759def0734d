"""`diagnose rules`: a fault shown as a page of a handbook, or the skeleton of a new rule written."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem, did_you_mean, meant
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.prediction.hypotheses import Hypothesis

__all__ = ["rules"]

ACTIONS = ("show", "new")
#: tests shown of how a fault reads on an installation
TESTS_SHOWN = 5


def rules(
    action: Annotated[str, typer.Argument(help="show or new.")],
    words: Annotated[
        list[str] | None,
        typer.Argument(
            help="For show: a fault, with --on also its part; for new: fault, test, layout or complaint, and a name."
        ),
    ] = None,
    on: Annotated[
        str | None, typer.Option("--on", help="With show: how it reads on this installation, a file or a layout.")
    ] = None,
    into: Annotated[
        str | None, typer.Option("--into", help="With new: the folder of your own rules; own_rules, if not said.")
    ] = None,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Do without the cache folder.")] = False,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes; it has none.")] = False,
) -> None:
    """Show what the rules say of a fault, as a page of a handbook; or write the skeleton of a new rule.

    Example: diagnose rules show high_resistance --on crew_cab_tray
    """
    if action not in ACTIONS:
        raise _refused("ACTION", f"`{action[:40]}` is none", f"write {' or '.join(ACTIONS)}")
    given = words or []
    if action == "new":
        from diagnose.cli.rules_new import new_rule

        _only(given, ("KIND", "NAME"), "new", {"--on": on, "--rules": rules_from})
        new_rule(given[0], given[1], into)
        return
    _only(given[:1] if on is not None and len(given) == 2 else given, ("FAULT",), "show", {"--into": into})
    _show(given[0], given[1] if len(given) > 1 else None, on, rules_from, seed, not no_cache)


def _only(given: list[str], wanted: tuple[str, ...], action: str, others: dict[str, str | None]) -> None:
    """Refuse words that are missing or too many, and options of another action."""
    if len(given) < len(wanted):
        right = f"write diagnose rules {action} {' '.join(wanted)}"
        raise _refused(wanted[len(given)], f"`rules {action}` needs it", right)
    if len(given) > len(wanted):
        raise _refused(given[len(wanted)][:40], "one word too many", f"write {' '.join(wanted)} behind {action}")
    if wrong := [Problem(name, None, None, f"`rules {action}` does not take it", "leave it out")
                 for name, value in others.items() if value is not None]:  # fmt: skip
        raise BadInput(wrong)


def _show(
    fault: str, place: str | None, on: str | None, named: str | None, seed: int, cache: bool
) -> None:
    """Print the page of a fault."""
    from diagnose.cli.loading import figures, installation_named, rule_base, rules_named
    from diagnose.inference.handbook import handbook_page, here_of, places_of
    from diagnose.present.handbook import handbook_lines

    folders = rules_named(named)
    base = rule_base(cache, folders)
    if (rule := base.faults.get(fault)) is None:
        close = did_you_mean(fault, [*base.faults, *(each.name for each in base.faults.values())])
        meant = next((each.id for each in base.faults.values() if each.name == close), close)
        right = f"did you mean {meant}?" if meant else f"one of {', '.join(base.faults)}"
        raise _refused("FAULT", f"unknown fault `{fault[:60]}`", right)
    installation = None if on is None else installation_named(on, folders)
    tables = figures(folders)
    here = None
    if installation is not None:
        at = _at(places_of(rule, installation, base), place, rule.name)
        here = here_of(at, installation, base, tables, seed, TESTS_SHOWN)
    width = min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)
    typer.echo("\n".join(handbook_lines(handbook_page(rule, base, tables.sources, here), base, width)))


def _at(places: Sequence[Hypothesis], place: str | None, name: str) -> tuple[Hypothesis, ...]:
    """Return the places of a fault, likeliest first, but the one that is named before the others."""
    named = [h for h in places if h.fault is not None and place in (h.fault.part, h.place)]
    others = [h for h in places if h.fault is None or place not in (h.fault.part, h.place)]
    if place is not None and not named:
        known = dict.fromkeys(h.place.rstrip("@") for h in places)
        right = meant(place, known, f"one of {', '.join(known)}" if known else "leave it out")
        raise _refused("PART", f"{name} cannot sit at `{place[:60]}` here", right)
    return (*named, *others)


def _refused(about: str, what: str, right: str) -> BadInput:
    return BadInput([Problem(about, None, None, what, right)])
