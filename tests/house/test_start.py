"""Starting is light: the help pages are shown before anything heavy is imported."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = {"numpy", "networkx"}
RECORDS = {"pydantic"}

# Modules are told on standard error, which help pages do not use.
RUN = """
import sys
{imports}
sys.argv = ["diagnose", {arguments}]
try:
    from diagnose.cli.main import run
    status = run()
except SystemExit as end:
    status = end.code
sys.stderr.write(f"status {{status or 0}}\\n" + " ".join(sys.modules))
"""


def started(*arguments: str, imports: str = "") -> tuple[str, set[str]]:
    """Run the command in a process of its own; return its output and the top names of all modules then imported."""
    words = ", ".join(repr(word) for word in arguments)
    done = subprocess.run(
        [sys.executable, "-c", RUN.format(imports=imports, arguments=words)],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=60,
    )
    first, _, modules = done.stderr.partition("\n")
    assert first == "status 0", done.stderr
    return done.stdout, {name.partition(".")[0] for name in modules.split()}


def test_help_imports_nothing_heavy() -> None:
    output, modules = started("--help")
    assert "Usage" in output
    assert "typer" in modules
    assert modules & (HEAVY | RECORDS) == set()


@pytest.mark.parametrize("command", ["expect", "rank"])
def test_help_of_a_command_solves_nothing(command: str) -> None:
    # The command-line library itself may use pydantic to describe the options of a command.
    output, modules = started(command, "--help")
    assert "Usage" in output
    assert modules & HEAVY == set()


def test_the_check_sees_what_is_imported() -> None:
    assert "numpy" in started("--help", imports="import numpy.linalg")[1]
