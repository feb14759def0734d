"""The command: options in, one exit status out; the one place that turns errors into messages and exit codes.

Commands live one file each beside this one and import what is heavy only when they run.
"""

from __future__ import annotations

import errno
import os
import sys
import traceback
from collections.abc import Sequence
from typing import Annotated, TextIO

import typer

from diagnose import __version__
from diagnose.basics.errors import BadInput, Problem, printable
from diagnose.cli import (
    cases,
    check,
    commission,
    compare,
    draw,
    evaluate,
    expect,
    jobs,
    learn,
    lint,
    new,
    practice,
    progress,
    rank,
    report,
    rules,
    script,
    walk,
)
from diagnose.cli.asker import EndOfAnswers
from diagnose.cli.usage import UsageError, usage_problem

__all__ = ["app", "run"]

FIRST_STEPS = """\
Three first steps:

  An installer at the vehicle is led from the complaint to a proved repair, one question at a time:
    diagnose walk crew_cab_tray
  Support staff rank the faults behind what an owner has told, and get the next question:
    diagnose rank crew_cab_tray --tools eyes,multimeter
  A trainee looks at what a fault would do before taking a meter in hand:
    diagnose expect crew_cab_tray tray chassis --fault '{"fault": "high_resistance", "part": "tray_strap", "at": null}'

In place of crew_cab_tray stands any layout that ships, or the file of your own installation.
diagnose --help lists the commands. Local wiring rules, the makers' instructions and licensed practice come first.
"""
#: what a shell reports of any program whose reader went away before all was read
READER_LEFT = 141

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


app.command(name="cases")(cases.cases)
app.command(name="check")(check.check)
app.command(name="commission")(commission.commission)
app.command(name="compare")(compare.compare)
app.command(name="draw")(draw.draw)
app.command(name="evaluate")(evaluate.evaluate)
app.command(name="expect")(expect.expect)
app.command(name="learn")(learn.learn)
app.command(name="lint")(lint.lint)
app.command(name="new")(new.new)
app.command(name="practice")(practice.practice)
app.command(name="progress")(progress.progress)
app.command(name="rank")(rank.rank)
app.command(name="rules")(rules.rules)
app.command(name="script")(script.script)
app.command(name="walk")(walk.walk)
app.command(name="jobs")(jobs.jobs)
app.command(name="report")(report.report)


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    Parameters: `arguments`, those after the command's name; the process's own if not given; `--debug` may
    stand anywhere.
    Returns: 0 done; 1 a check failed; 2 bad input; 3 a danger was read; 70 a fault of the program; 130 interrupted; 141
    the reader of our output went away.

    >>> run(["--version"])
    diagnose 0.1.0
    0
    """
    given = list(sys.argv[1:] if arguments is None else arguments)
    options = given[: given.index("--")] if "--" in given else given
    debug = "--debug" in options
    rest = [word for word in options if word != "--debug"] + given[len(options) :]
    for stream in (sys.stdout, sys.stderr):
        # A console that lacks a sign gets its escape: an ohm must not end a diagnosis.
        if (reconfigure := getattr(stream, "reconfigure", None)) is not None:
            reconfigure(errors="backslashreplace")
    try:
        return _flushed(_status(rest, debug))
    except KeyboardInterrupt:
        return 130


def _status(arguments: list[str], debug: bool) -> int:
    try:
        status = typer.main.get_command(app).main(args=arguments, prog_name="diagnose", standalone_mode=False)
        if status == 130:  # the library has already turned the interrupt into a status
            _complain("interrupted")
        return status if isinstance(status, int) else 0
    except BadInput as error:
        return _refused(error.problems)
    except UsageError as error:
        return _refused([usage_problem(error)])
    except EndOfAnswers as error:
        return _refused([Problem("answers", None, None, str(error), "give one answer a line, or `stop`")])
    except (KeyboardInterrupt, typer.Abort):
        _complain("interrupted")
        return 130
    except BrokenPipeError:
        return _reader_left()
    except SystemExit as end:  # the library's own way out, of a closed pipe among others
        return _reader_left() if end.code == 1 else end.code if isinstance(end.code, int) else 0
    except Exception as error:
        if isinstance(error, OSError) and error.errno == errno.ENOSPC:
            return _no_room(error)
        return _our_fault(error, debug, cache="--no-cache" not in arguments)


def _refused(problems: Sequence[Problem]) -> int:
    for problem in problems:
        _complain(problem.text())
    return 2


def _our_fault(error: Exception, debug: bool, cache: bool) -> int:
    from diagnose.store.cache_folder import keep_traceback

    text = "".join(traceback.format_exception(error))
    kept = keep_traceback(text, cache)
    if debug:
        _complain(text.rstrip("\n"))
    known = kept is not None
    where = f"the traceback is in {printable(str(kept))}" if known else "run it again with --debug to see the traceback"
    _complain(f"diagnose: a fault of the program itself, please report it; {where}")
    return 70


def _complain(line: str) -> None:
    """Write a line to standard error, if there is one to write to."""
    stream: TextIO | None = sys.stderr
    if stream is not None:
        try:
            stream.write(f"{line}\n")
            stream.flush()
        except (OSError, ValueError):
            pass


def _flushed(status: int) -> int:
    """Return the status when all output has left us; a failure shows only now where the output was short."""
    stream: TextIO | None = sys.stdout
    try:
        if stream is not None and not stream.closed:
            stream.flush()
    except BrokenPipeError:
        left = _reader_left()
        return status or left
    except OSError as error:
        return _no_room(error)
    return status


def _no_room(error: OSError) -> int:
    _silence()
    right = "send it to a place with room"
    return _refused([Problem("standard output", None, None, f"cannot be written ({error.strerror})", right)])


def _reader_left() -> int:
    _silence()
    return READER_LEFT


def _silence() -> None:
    """Send what is still buffered nowhere, so that ending does not complain about it."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.__stdout__.fileno() if sys.__stdout__ is not None else 1)
    except (OSError, ValueError):
        pass


if __name__ == "__main__":
    sys.exit(run())
