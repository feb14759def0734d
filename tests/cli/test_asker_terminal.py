"""The asker at a terminal: values, words, shortened words, an interrupt, the end of input, and plainness."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial

import pytest

pexpect = pytest.importorskip("pexpect")

SCRIPT = """
import sys
from diagnose.cli.asker import EndOfAnswers, open_asker
asker = open_asker()
try:
    while True:
        answer = asker.ask("Volts?", complete={complete})
        asker.say(f"got {{answer}}.", style="red")
        if answer == "stop":
            break
except EndOfAnswers as end:
    asker.say(f"over: {{end}}")
except KeyboardInterrupt:
    sys.exit(130)
"""
WAIT = 10


@contextmanager
def dialogue(complete: str = "None", columns: int = 80, **environment: str) -> Iterator[pexpect.spawn[str]]:
    kept = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "COLUMNS", "LINES", "INPUTRC"}}
    child = pexpect.spawn(
        sys.executable,
        ["-c", SCRIPT.format(complete=complete)],
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),  # a test process of several ignores it
        env={**kept, "TERM": "xterm", "INPUTRC": os.devnull, **environment},
        dimensions=(24, columns),
        encoding="utf-8",
        timeout=WAIT,
    )
    try:
        yield child
    finally:
        child.close(force=True)


def ended(child: pexpect.spawn[str]) -> tuple[int | None, str]:
    child.expect(pexpect.EOF)
    child.close()
    return child.exitstatus, str(child.before)


@pytest.mark.parametrize("environment", [{}, {"NO_COLOR": "1"}], ids=["full", "plain"])
def test_value_word_and_shortened_word(environment: dict[str, str]) -> None:
    with dialogue(**environment) as child:
        for typed, taken in (("13.8 V", "13.8 V"), ("ranking", "ranking"), ("ran", "ranking")):
            child.expect("> ")
            child.sendline(typed)
            child.expect_exact(f"got {taken}.")
        child.expect("> ")
        child.sendline("s")
        child.expect_exact("got stop.")
        assert ended(child)[0] == 0


@pytest.mark.parametrize("environment", [{}, {"NO_COLOR": "1"}], ids=["full", "plain"])
def test_an_interrupt_ends_with_its_own_status(environment: dict[str, str]) -> None:
    with dialogue(**environment) as child:
        child.expect("> ")
        child.sendintr()
        assert ended(child)[0] == 130


@pytest.mark.parametrize("environment", [{}, {"NO_COLOR": "1"}], ids=["full", "plain"])
def test_the_end_of_input_ends_the_dialogue(environment: dict[str, str]) -> None:
    with dialogue(**environment) as child:
        child.expect("> ")
        child.sendeof()
        status, said = ended(child)
        assert status == 0
        assert "over: the input ended" in said


@pytest.mark.parametrize(
    ("environment", "columns"), [({"NO_COLOR": "1"}, 80), ({"TERM": "dumb"}, 80), ({}, 59)], ids=str
)
def test_plain_sends_no_control_sequence(environment: dict[str, str], columns: int) -> None:
    with dialogue(columns=columns, **environment) as child:
        child.expect("> ")
        before = child.before
        child.sendline("stop")
        assert "\x1b" not in before + ended(child)[1]


def test_a_wide_terminal_shows_style() -> None:
    with dialogue() as child:
        child.expect("> ")
        assert "\x1b[" in child.before


def test_a_terminal_does_not_show_an_answer_twice() -> None:
    with dialogue(NO_COLOR="1") as child:
        child.expect("> ")
        child.sendline("stop")
        assert ended(child)[1].replace("\r", "").strip() == "stop\ngot stop."


@pytest.mark.parametrize(
    ("complete", "typed", "taken"),
    [
        ("None", "ra", "ranking"),
        # A whole answer is completed, not its last word.
        ("lambda text: [one for one in ['rafter lug'] if one.startswith(text)]", "rafter l", "rafter lug"),
    ],
    ids=["word", "place"],
)
def test_the_tabulator_completes_a_whole_answer(complete: str, typed: str, taken: str) -> None:
    pytest.importorskip("readline")
    with dialogue(complete) as child:
        child.expect("> ")
        child.send(f"{typed}\t")
        child.expect_exact(taken[len(typed) :])
        child.sendline("")
        child.expect_exact(f"got {taken}.")
