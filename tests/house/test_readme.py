"""What README.md and the help pages show can be typed as it stands."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from functools import cache
from pathlib import Path

import pytest
import typer.main

from diagnose.cli.main import FIRST_STEPS, app
from diagnose.store.installations import layout_ids, load_installation
from tests.house.documents import ROOT, blocks, read

README = read("README.md")
COMMAND = ".venv/bin/diagnose"


@cache
def run(words: tuple[str, ...]) -> subprocess.CompletedProcess[str]:
    """Run the command of this interpreter from the top of the tree, with nobody at the keyboard; each line once.

    `new` writes a file and so runs in a folder of its own, where every question is answered by Enter.
    """
    environment = {key: value for key, value in os.environ.items() if key not in {"DIAGNOSE_DATA", "COLUMNS"}}
    environment["PYTHONPATH"] = str(ROOT)
    asks = words[0] == "new"
    with tempfile.TemporaryDirectory() as folder:
        return subprocess.run(
            [sys.executable, "-m", "diagnose", *words], cwd=folder if asks else ROOT, env=environment,
            input="\n" * 100 if asks else "", capture_output=True, text=True, timeout=120,
        )  # fmt: skip


def steps(block: str) -> list[list[str]]:
    """Return the words of each step of a block: lines, and what `&&` joins."""
    lines = [line for line in block.splitlines() if line.strip()]
    return [shlex.split(step) for line in lines for step in line.split(" && ")]


def shown() -> list[tuple[str, ...]]:
    """Return every command line of the README that calls the program, without its name."""
    found = [tuple(words[1:]) for block in blocks(README, "sh") for words in steps(block) if words[0] == COMMAND]
    return list(dict.fromkeys(found))


def examples() -> list[tuple[str, ...]]:
    """Return the command lines that the help pages and the first steps show."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    texts = [command.help for command in commands.values()]
    lines = [re.search(r"Example: diagnose (.*)", " ".join((text or "").split())) for text in texts]
    assert all(lines), "a help page without its example"
    found = [found.group(1) for found in lines if found]
    found += re.findall(r"^    diagnose (.*)$", FIRST_STEPS, re.MULTILINE)
    return list(dict.fromkeys(tuple(shlex.split(line)) for line in found))


def statuses(words: tuple[str, ...]) -> tuple[int, ...]:
    """Return what a command may end with: one that finds a mistake, or a change, has done what it was asked."""
    return (0, 1) if words[0] in ("check", "compare") else (0,)


#: commands that compute for more than a few seconds, run with the slow tests
LONG = ("compare", "draw", "evaluate", "learn", "lint", "practice", "report", "script")


def marked(lines: list[tuple[str, ...]]) -> list[object]:
    """Return command lines as parameters, the long ones marked as slow."""
    return [pytest.param(words, marks=pytest.mark.slow) if words[0] in LONG else words for words in lines]


@pytest.mark.parametrize("words", marked(shown()), ids=" ".join)
def test_a_command_of_the_readme_runs(words: tuple[str, ...]) -> None:
    done = run(words)
    assert done.returncode in statuses(words), done.stderr
    assert done.stdout.strip()
    assert done.stderr == ""


@pytest.mark.parametrize("words", marked(examples()), ids=" ".join)
def test_an_example_of_the_help_runs(words: tuple[str, ...]) -> None:
    done = run(words)
    assert done.returncode in statuses(words), done.stderr
    assert done.stdout.strip()


def test_the_readme_shows_every_command() -> None:
    commands = set(typer.main.get_command(app).commands)  # type: ignore[attr-defined]
    assert {words[0] for words in shown()} == commands
    assert len(examples()) > len(commands), "the first steps count too"


def test_the_two_set_up_commands_are_those_of_the_checks() -> None:
    checks = (ROOT / ".ci" / "run").read_text(encoding="utf-8").replace("--quiet", "-q").replace('"$python"', "python3")
    known = [shlex.split(line.strip().removeprefix("again "), comments=True) for line in plain_lines(checks)]
    known = [words[: words.index("</dev/null")] if "</dev/null" in words else words for words in known]
    set_up = [steps(block) for block in blocks(README, "sh") if "-m venv" in block]
    assert len(set_up) == 2
    for first, second, last in set_up:
        assert first in known
        assert second in known
        assert last[0] == COMMAND or last in known
    assert set_up[1][2] == [".venv/bin/python", "-m", "pytest"]
    assert '.venv' in (ROOT / ".gitignore").read_text(encoding="utf-8")


def plain_lines(script: str) -> list[str]:
    """Return the lines of a shell script that are a plain call of Python."""
    return [line for line in script.splitlines() if re.match(r"(again )?(python3|\.venv/bin/python) -m ", line.strip())]


def test_the_environment_that_is_set_up_has_the_tests() -> None:
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert re.search(r"^test = \[", project, re.MULTILINE)
    assert re.search(r'^diagnose = "diagnose\.cli\.main:run"', project, re.MULTILINE)


def test_the_installation_of_the_readme_loads(tmp_path: Path) -> None:
    (block,) = blocks(README, "yaml")
    file = tmp_path / "own.yaml"
    file.write_text(block, encoding="utf-8")
    installation = load_installation(file)
    assert installation.layout in layout_ids()
    assert installation.parts["input_cable"].length == (3.0, 6.0)  # type: ignore[union-attr]


def test_links_lead_somewhere() -> None:
    targets = [target for target in re.findall(r"\]\(([^)#]+)\)", README) if "://" not in target]
    assert targets
    assert [target for target in targets if not (ROOT / target).exists()] == []
