"""Exit statuses and the one line that goes with them, seen from outside the process."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from diagnose import __version__
from diagnose.cli import main

ROOT = Path(__file__).resolve().parents[2]

# A command that goes wrong as its argument says, in the program as it is.
WRONG = """
import sys, typer
from diagnose.basics.errors import BadInput, Problem
from diagnose.cli import main
from diagnose.cli.asker import EndOfAnswers

def wrong(kind: str, seed: int = 0, no_cache: bool = False) -> None:
    if kind == "danger":
        typer.echo("{}")
        raise typer.Exit(3)
    if kind == "failed":
        raise typer.Exit(1)
    if kind == "input":
        raise BadInput([Problem("b.yaml", 9, 2, "late", "y"), Problem("a.yaml", 3, 1, "no \\x1b[31m", "x")])
    if kind == "much":
        for _ in range(100_000):
            typer.echo("line")
        return
    raise {"interrupt": KeyboardInterrupt, "end": EndOfAnswers, "bug": RuntimeError}[kind]("boom")

main.app.command("wrong")(wrong)
sys.exit(main.run())
"""


def run(*words: str, cache: Path | None = None, **environment: str) -> subprocess.CompletedProcess[str]:
    given = ["-c", WRONG] if words[:1] == ("wrong",) or words[1:2] == ("wrong",) else ["-m", "diagnose"]
    place = {} if cache is None else {"DIAGNOSE_CACHE": str(cache)}
    return subprocess.run(
        [sys.executable, *given, *words],
        cwd=ROOT,
        env={**os.environ, **place, **environment},
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
        timeout=60,
    )


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(["rnk"], "rnk: there is no such command, did you mean rank?", id="command, mistyped"),
        pytest.param(["xyz"], "xyz: there is no such command, `diagnose --help` lists", id="command, unknown"),
        pytest.param(["it's '"], "it's ': there is no such command", id="command with quotes"),
        pytest.param(["--nothing"], "--nothing: there is no such option, `diagnose --help` lists", id="option"),
        pytest.param(["rank", "f", "--redings", "x"], "--redings: there is no such option, did you mean --readings?",
                     id="option of a command, mistyped"),
        pytest.param(["rank", "f", "--seed", "abc"], "--seed: .*, write a whole number", id="value, no number"),
        pytest.param(["rank", "f", "--seed", "-1"], "--seed: .* 0, write a whole number", id="value, out of range"),
        pytest.param(["rank", "f", "--readings"], "--readings: the value is missing, ", id="value, missing"),
        pytest.param(["rank", "f", "--json=3"], "--json: this option takes no value, ", id="value, unwanted"),
        pytest.param(["rank"], "FILE: this is missing, it takes: ", id="argument, missing"),
        pytest.param(["rank", "f", "g"], "diagnose rank: .*, `diagnose rank --help` shows", id="argument, too many"),
        pytest.param(["\x1b[31mred"], r"\\x1b\[31mred: there is no such command", id="control characters"),
    ],
)  # fmt: skip
def test_a_usage_error_is_one_line_with_what_would_be_right(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main.run(words) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert re.match(said, shown.err), shown.err
    assert shown.err.count("\n") == 1
    assert "\x1b" not in shown.err


@pytest.mark.parametrize("words", [["rnk"], ["--nothing"], ["rank", "f", "--seed", "abc"]])
def test_a_usage_error_ends_the_process_with_its_status(words: list[str]) -> None:
    done = run(*words)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)


def test_bad_input_is_a_line_for_each_problem_in_order_of_place() -> None:
    done = run("wrong", "input")
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr == "a.yaml:3:1: no \\x1b[31m, x\nb.yaml:9:2: late, y\n"


def test_a_danger_and_a_failed_check_have_their_own_statuses() -> None:
    danger = run("wrong", "danger")
    assert (danger.returncode, danger.stdout, danger.stderr) == (3, "{}\n", "")
    assert run("wrong", "failed").returncode == 1


def test_a_fault_of_our_own_is_one_line_that_names_where_the_traceback_is(tmp_path: Path) -> None:
    done = run("wrong", "bug", cache=tmp_path / "cache")
    assert (done.returncode, done.stdout) == (70, "")
    assert done.stderr.count("\n") == 1
    kept = Path(done.stderr.rstrip("\n").rpartition(" is in ")[2])
    assert kept.parent == tmp_path / "cache"
    assert "RuntimeError: boom" in kept.read_text(encoding="utf-8")


@pytest.mark.parametrize("words", [["--debug", "wrong", "bug"], ["wrong", "bug", "--debug"]])
def test_debug_prints_the_traceback_wherever_it_stands(words: list[str], tmp_path: Path) -> None:
    done = run(*words, cache=tmp_path)
    assert (done.returncode, done.stdout) == (70, "")
    assert "Traceback (most recent call last)" in done.stderr
    assert "RuntimeError: boom" in done.stderr


@pytest.mark.parametrize("words", [["wrong", "bug"], ["wrong", "bug", "--no-cache"]])
def test_the_traceback_lies_in_the_temporary_folder_where_there_is_no_cache(words: list[str], tmp_path: Path) -> None:
    no_folder = tmp_path / "file"
    no_folder.write_text("", encoding="utf-8")
    cache = tmp_path / "cache" if "--no-cache" in words else no_folder
    done = run(*words, cache=cache, TMPDIR=str(tmp_path))
    assert done.returncode == 70
    kept = Path(done.stderr.rstrip("\n").rpartition(" is in ")[2])
    assert kept.parent == tmp_path
    assert not (tmp_path / "cache").exists()


def test_a_fault_is_told_even_where_nothing_can_be_kept(tmp_path: Path) -> None:
    code = "import tempfile\ndef f(*a, **b): raise OSError\ntempfile.mkstemp = f\n" + WRONG
    done = subprocess.run(
        [sys.executable, "-c", code, "wrong", "bug"], cwd=ROOT, env={**os.environ, "DIAGNOSE_CACHE": str(tmp_path)},
        capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=60,
    )  # fmt: skip
    assert done.returncode == 70
    assert "--debug" in done.stderr


def test_an_interrupt_has_its_own_status() -> None:
    done = run("wrong", "interrupt")
    assert (done.returncode, done.stdout, done.stderr.strip()) == (130, "", "interrupted")


def test_answers_that_end_too_early_are_bad_input() -> None:
    done = run("wrong", "end")
    assert (done.returncode, done.stderr) == (2, "answers: boom, give one answer a line, or `stop`\n")


def test_a_reader_that_goes_away_is_no_fault_and_no_failed_check() -> None:
    with subprocess.Popen(
        [sys.executable, "-c", WRONG, "wrong", "much"], cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        said = process.stderr.read()
        assert (process.wait(60), said) == (141, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_output_that_cannot_be_written_is_told_in_one_line() -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "diagnose"], cwd=ROOT, stdout=full, stderr=subprocess.PIPE, text=True, timeout=60
        )
    assert done.returncode == 2
    assert done.stderr.startswith("standard output: cannot be written")
    assert done.stderr.count("\n") == 1


@pytest.mark.skipif(os.name == "nt", reason="needs a POSIX shell")
def test_closed_streams_are_no_fault() -> None:
    command = f'"{sys.executable}" -m diagnose >&- 2>&- <&-'
    assert subprocess.run(["sh", "-c", command], cwd=ROOT, timeout=60).returncode == 0


def test_a_console_of_few_signs_gets_escapes() -> None:
    assert run("wrong", "danger", PYTHONIOENCODING="ascii").returncode == 3
    done = run("Ω", PYTHONIOENCODING="ascii", PYTHONUTF8="1")
    assert (done.returncode, done.stderr[:7]) == (2, "\\u03a9:")


def test_without_arguments_three_first_steps_are_shown() -> None:
    done = run()
    assert (done.returncode, done.stderr) == (0, "")
    assert len(re.findall(r"^ +diagnose (?:expect|rank|walk) ", done.stdout, re.MULTILINE)) == 3


def test_the_version_is_that_of_the_package() -> None:
    done = run("--version")
    assert (done.returncode, done.stdout) == (0, f"diagnose {__version__}\n")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["project"]["version"] == __version__


@pytest.mark.parametrize("words", [["lint"], ["cases", "check"], ["rank", "tests/no.yaml"]])
def test_a_variable_that_names_no_rule_base_is_the_mistake_of_who_set_it(words: list[str], tmp_path: Path) -> None:
    ended = run(*words, DIAGNOSE_DATA=str(tmp_path / "nothing"))
    assert (ended.returncode, ended.stdout) == (2, "")
    assert re.fullmatch(r"DIAGNOSE_DATA: no .*MARKER\.yaml, it must name the folder .*\n", ended.stderr)
