"""`diagnose script`: the walk compiled ahead, for a telephone or a pocket, as page, text, Markdown or JSON."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.basics.errors import BadInput, Problem
from diagnose.cli.words import RULES_HELP

if TYPE_CHECKING:
    from diagnose.model.script import Script
    from diagnose.scripts.compiling import Order, Sources

__all__ = ["script"]

#: questions on a path at most that may be ordered
MOST_QUESTIONS = 12


def script(
    file: Annotated[str | None, typer.Argument(help="The installation: a file or a layout that ships.")] = None,
    layout: Annotated[str | None, typer.Option("--layout", help="A layout that ships, in place of a file.")] = None,
    complaint: Annotated[str | None, typer.Option("--complaint", help="The complaint in words, or its id.")] = None,
    tools: Annotated[str, typer.Option("--tools", help="Tools at the caller's hand.")] = "eyes,hands",
    depth: Annotated[int, typer.Option("--depth", help="Questions on any path, at most.")] = 8,
    allow: Annotated[
        str | None, typer.Option("--allow", help="What the caller may do: covers, engine, fuse; or none.")
    ] = None,
    unknown: Annotated[
        list[str] | None, typer.Option("--unknown", help="What is not known of the installation: ids, or all.")
    ] = None,
    reader: Annotated[
        str | None, typer.Option("--for", help="owner or installer; an installer where no eyes are among the tools.")
    ] = None,
    html: Annotated[str | None, typer.Option("--html", help="Write a page to this file.")] = None,
    markdown: Annotated[str | None, typer.Option("--markdown", help="Write Markdown to this file.")] = None,
    text: Annotated[str | None, typer.Option("--text", help="Write plain text to this file.")] = None,
    force: Annotated[bool, typer.Option("--force", help="Write over files that are there already.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    play: Annotated[bool, typer.Option("--run", help="Play it with a caller and keep a job.")] = False,
    jobs: Annotated[str | None, typer.Option("--jobs", help="The folder that jobs are kept in.")] = None,
    answers: Annotated[str | None, typer.Option("--answers", help="A file of answers for --run, one a line.")] = None,
    seed: Annotated[int, typer.Option("--seed", help="Seed of the vehicles drawn.", min=0)] = 1,
    rules_from: Annotated[str | None, typer.Option("--rules", help=RULES_HELP)] = None,
    plain: Annotated[bool, typer.Option("--plain", help="No colour, no boxes.")] = False,
    no_cache: Annotated[bool, typer.Option("--no-cache", help="Do without the cache folder.")] = False,
) -> int:
    """Compile the questions for a caller into a script: a page for the phone, text, or JSON; or play it.

    Example: diagnose script crew_cab_tray --complaint "does not charge while driving" --tools eyes,hands --depth 5
    """
    from diagnose.scripts.compiling import compile_script
    from diagnose.store.new_file import refuse_taken

    unfit = _unfit(play, as_json, {"--answers": answers, "--jobs": jobs})
    cache = not no_cache
    given = file, layout, complaint, tools, depth, allow, reader, seed, cache, rules_from
    sources, order, name = _ordered(*given, tuple(unknown or ()), unfit)
    for path in (html, markdown, text):
        if path is not None:
            refuse_taken(path, force)
    made = compile_script(sources, order)
    written = _written(made, html, markdown, text, force)
    if made.understood and (as_json or written):
        typer.echo(made.understood, err=True)
    if play:
        from diagnose.cli.loading import rules_named
        from diagnose.cli.script_run import run_script

        return run_script(made, sources, name, jobs, answers, seed, plain, rules_named(rules_from))
    if as_json:
        from diagnose.present.script_json import script_json

        typer.echo(script_json(made))
    elif not written:
        from diagnose.present.script_text import script_lines

        for line in script_lines(made, min(max(shutil.get_terminal_size((80, 24)).columns, 40), 100)):
            typer.echo(line)
    return 0


def _unfit(play: bool, as_json: bool, for_play: dict[str, str | None]) -> list[Problem]:
    """Return which options do not go together: `for_play` are those that only a play has a use for."""
    if play:
        return [Problem("--run", None, None, "a play is no JSON", "leave --json or --run out")] if as_json else []
    useless = [name for name, value in for_play.items() if value is not None]
    return [Problem(name, None, None, "nothing is played", f"--run with it, or no {name}") for name in useless]


def _ordered(
    file: str | None, layout: str | None, complaint: str | None, tools: str, depth: int, allow: str | None,
    reader: str | None, seed: int, cache: bool, rules_from: str | None, unknown: tuple[str, ...], unfit: list[Problem],
) -> tuple[Sources, Order, str]:  # fmt: skip
    """Return what was ordered, every mistake of it told at once, with those that were found before."""
    from diagnose.cli.loading import chosen_tools, figures, installation_named, rule_base, rules_named
    from diagnose.scripts.compiling import Order, Sources
    from diagnose.scripts.permitted import ALLOWANCES
    from diagnose.store.installations import layout_ids
    from diagnose.store.script_words import load_script_words

    problems, folders = [*unfit], rules_named(rules_from)
    if (file is None) == (layout is None):
        problems.append(Problem("INSTALLATION", None, None, "one installation is wanted", "give a file, or --layout"))
    if layout is not None and layout not in layout_ids(folders):
        right = f"one of {', '.join(layout_ids(folders))}"
        problems.append(Problem("--layout", None, None, f"`{layout}` is no layout that ships", right))
    if not (complaint or "").strip():
        right = 'for example --complaint "does not charge while driving"'
        problems.append(Problem("--complaint", None, None, "no complaint is given", right))
    if not 1 <= depth <= MOST_QUESTIONS:
        right = f"a number from 1 to {MOST_QUESTIONS}"
        problems.append(Problem("--depth", None, None, f"{depth} questions cannot be asked", right))
    allowed = _listed(allow, tuple(ALLOWANCES))
    strange = [word for word in allowed if word not in ALLOWANCES]
    if strange:
        right = f"some of {', '.join(ALLOWANCES)}, or `none` alone"
        beside = " beside others" if strange[0] == "none" else ""
        problems.append(Problem("--allow", None, None, f"`{strange[0]}` is nothing to allow{beside}", right))
    if reader not in (None, "owner", "installer"):
        problems.append(Problem("--for", None, None, f"`{reader}` is no reader", "owner or installer"))
    if problems:
        raise BadInput(problems)
    chosen = chosen_tools(tools)
    owner = reader == "owner" if reader is not None else "eyes" in chosen
    if allow is not None and not owner:
        right = "leave it out, or --for owner"
        raise BadInput([Problem("--allow", None, None, "an installer is not limited by it", right)])
    name = file or layout or ""
    sources = Sources(
        installation_named(name, folders), rule_base(cache, folders), figures(folders), load_script_words(folders.base)
    )
    if unknown:
        from diagnose.cli.script_unknown import with_unknown

        sources = with_unknown(sources, unknown, folders.base)
    return sources, Order((complaint or "").strip(), chosen, allowed, depth, owner, seed), name


def _listed(allow: str | None, known: tuple[str, ...]) -> tuple[str, ...]:
    """Return the words of `--allow`; all but the fuse if it was not given, none for `none`."""
    if allow is None:
        return tuple(word for word in known if word != "fuse")
    words = tuple(word.strip() for word in allow.split(",") if word.strip())
    return () if words == ("none",) else words


def _written(made: Script, html: str | None, markdown: str | None, text: str | None, force: bool) -> bool:
    """Write the files that were asked for; return whether any was."""
    from diagnose.basics.errors import printable
    from diagnose.present.script_page import script_page
    from diagnose.present.script_text import script_lines, script_markdown
    from diagnose.store.new_file import write_new

    if html is not None:
        write_new(html, script_page(made), force)
    if markdown is not None:
        write_new(markdown, script_markdown(made), force)
    if text is not None:
        write_new(text, "\n".join(script_lines(made, 100)) + "\n", force)
    for path in (html, markdown, text):
        if path is not None:
            typer.echo(f"Written: {printable(path)}", err=True)
    return any(path is not None for path in (html, markdown, text))
