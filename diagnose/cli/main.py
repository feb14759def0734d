"""The command: options in, one exit status out; the one place that turns errors into messages and exit codes.

Commands live one file each beside this one and import what is heavy only when they run.
"""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from pathlib import Path
from typing import Annotated

import typer

from diagnose import __version__
from diagnose.basics.errors import BadInput, printable
from diagnose.cli import expect, rank

__all__ = ["app", "run"]

FIRST_STEPS = """\
Three first steps:

  An installer at the vehicle asks what a point should read on this installation:
    diagnose expect crew_cab_tray tray chassis --when engine_running
  Support staff rank the faults behind what an owner has told, and get the next question:
    diagnose rank crew_cab_tray --tools eyes,multimeter
  A trainee looks at what a fault would do before taking a meter in hand:
    diagnose expect crew_cab_tray tray chassis --fault '{"fault": "high_resistance", "part": "tray_strap", "at": null}'

In place of crew_cab_tray stands any layout that ships, or the file of your own installation.
diagnose --help lists the commands. Local wiring rules, the makers' instructions and licensed practice come first.
"""
#: the base of the usage errors of the command-line library, found through the one that is public
USAGE_ERROR: type[Exception] = next(c for c in typer.BadParameter.__mro__ if c.__name__ == "ClickException")

app = typer.Typer(
    name="diagnose", pretty_exceptions_enable=False, rich_markup_mode=None, add_completion=True, no_args_is_help=False
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"diagnose {__version__}")
        raise typer.Exit()


@app.callback(invoke_without_command=True)
def _first_steps(
    context: typer.Context,
    debug: Annotated[
        bool, typer.Option("--debug", help="Print the traceback of a fault of the program itself.")
    ] = False,
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Find out what an auxiliary-battery installation should read, and why it does not."""
    if context.invoked_subcommand is None:
        typer.echo(FIRST_STEPS, nl=False)


app.command(name="expect")(expect.expect)
app.command(name="rank")(rank.rank)


def run(arguments: list[str] | None = None) -> int:
    """Run the command and return its exit status.

    Parameters: `arguments`, those after the command's name; the process's own if not given.
    Returns: 0 done; 1 a check failed; 2 bad input; 3 a danger was read; 70 a fault of the program; 130 interrupted.
    """
    words = sys.argv[1:] if arguments is None else arguments
    try:
        status = typer.main.get_command(app).main(args=words, prog_name="diagnose", standalone_mode=False)
        sys.stdout.flush()
        return status if isinstance(status, int) else 0
    except BadInput as error:
        for problem in error.problems:
            print(problem.text(), file=sys.stderr)
        return 2
    except USAGE_ERROR as error:
        print(_usage(error), file=sys.stderr)
        return 2
    except (KeyboardInterrupt, typer.Abort):
        print("interrupted", file=sys.stderr)
        return 130
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception:
        return _own_fault("--debug" in words)


def _usage(error: Exception) -> str:
    """Return a usage error as one line: what it is about, what is wrong, what would be right."""
    about = getattr(error, "option_name", None)
    parameter = getattr(error, "param", None)
    if about is None and parameter is not None:
        about = parameter.opts[0] if parameter.opts and parameter.opts[0].startswith("-") else parameter.name.upper()
    what = getattr(error, "message", "") or str(error)
    possible = getattr(error, "possibilities", None)
    right = f"did you mean {possible[0]}?" if possible else "see `diagnose --help`"
    first = printable(" ".join(what.split())).rstrip(".") or "it is missing"
    return f"{printable(str(about or 'diagnose'))}: {first[0].lower() + first[1:]}, {right}"


def _own_fault(shown: bool) -> int:
    """Keep the traceback, say in one line that the fault is ours and where it was kept, and return 70."""
    text = traceback.format_exc()
    if shown:
        print(text, file=sys.stderr, end="")
        return 70
    from diagnose.store.cache_folder import cache_folder

    for folder in (cache_folder(), Path(tempfile.gettempdir())):
        try:
            if folder is not None:
                kept = folder / "last-traceback.txt"
                kept.write_text(text, encoding="utf-8")
                print(
                    f"diagnose: a fault of the program itself, please report it; the traceback is in {kept}",
                    file=sys.stderr,
                )
                return 70
        except OSError:
            continue
    print(
        "diagnose: a fault of the program itself, please report it; run again with --debug to see it", file=sys.stderr
    )
    return 70


if __name__ == "__main__":
    sys.exit(run())
