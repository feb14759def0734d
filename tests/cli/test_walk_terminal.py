"""The walk at a terminal: each kind of question takes its answer, an interrupt, and the end of input."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

import pytest

pexpect = pytest.importorskip("pexpect")

LAYOUT = "solar_only_van"
#: prompt of each kind of question -> what leads to the next one
STEPS = (
    ("None, or which", "none"), ("Where\\?", "off"), ("Tools\\?", "minus clamp"), ("Meter\\?", "12.6"),
    ("Complaint\\?", "none"), ("Seen\\?", "done"), ("Reading\\?", "999 V"), ("Once more\\?", "keep"),
)  # fmt: skip
WAIT = 60


@contextmanager
def walk(folder: Path, *words: str, columns: int = 80, **environment: str) -> Iterator[pexpect.spawn[str]]:
    kept = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "COLUMNS", "LINES", "INPUTRC"}}
    child = pexpect.spawn(
        sys.executable, ["-m", "diagnose", "walk", *(words or (LAYOUT,))], encoding="utf-8", timeout=WAIT,
        env={**kept, "TERM": "xterm", "INPUTRC": os.devnull, "DIAGNOSE_JOBS": str(folder), **environment},
        dimensions=(24, columns), preexec_fn=partial(signal.signal, signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    try:
        yield child
    finally:
        child.close(force=True)


def ended(child: pexpect.spawn[str]) -> int | None:
    child.expect(pexpect.EOF)
    child.wait()
    return child.exitstatus


def led(child: pexpect.spawn[str], count: int) -> str:
    """Answer the first questions, wait for the next one, and return what was shown before its prompt."""
    for prompt, answer in STEPS[:count]:
        child.expect(prompt)
        child.expect("> ")
        child.sendline(answer)
    child.expect(STEPS[count][0])
    shown = str(child.before)
    child.expect("> ")
    return shown


QUICK = (0,)


@pytest.mark.parametrize(
    "count", [n if n in QUICK else pytest.param(n, marks=pytest.mark.slow) for n in range(len(STEPS))],
    ids=[answer for _, answer in STEPS],
)  # fmt: skip
def test_an_interrupt_and_the_end_of_input_at_each_kind_of_question(tmp_path: Path, count: int) -> None:
    with walk(tmp_path) as child:
        led(child, count)
        for _ in range(5):  # on a busy machine one may come before the prompt is read from, and is then not taken
            child.sendintr()
            if child.expect(["interrupted: all that was told is kept", pexpect.TIMEOUT], timeout=8) == 0:
                break
        assert ended(child) == 130
    (job,) = tmp_path.iterdir()
    with walk(tmp_path, "--resume", job.stem, NO_COLOR="1") as child:
        child.expect(STEPS[count][0])
        child.expect("> ")
        child.sendeof()
        child.expect("the input ended: all that was told is kept")
        assert ended(child) == 0


@pytest.mark.slow
def test_a_wide_terminal_shows_the_ranking_at_the_side(tmp_path: Path) -> None:
    with walk(tmp_path, columns=130) as child:
        assert "| Suspects now" in led(child, 6)


@pytest.mark.parametrize("environment", [{"TERM": "dumb"}, pytest.param({"NO_COLOR": "1"}, marks=pytest.mark.slow)])
def test_a_plain_terminal_gets_no_escapes(tmp_path: Path, environment: dict[str, str]) -> None:
    with walk(tmp_path, columns=130, **environment) as child:
        assert "\x1b[" not in led(child, 4)


@pytest.mark.slow
def test_a_beginning_is_completed(tmp_path: Path) -> None:
    with walk(tmp_path) as child:
        led(child, 5)
        child.send("volts panel_p\t")
        child.expect("panel_pos")
        child.sendcontrol("u")
        child.sendline("stop")
        assert ended(child) == 0
