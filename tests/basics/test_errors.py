"""Problems: the one line, the order, and nothing raw to a terminal."""

from __future__ import annotations

import unicodedata

from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.basics.errors import BadInput, Problem, did_you_mean, printable


def test_one_line_with_and_without_a_position() -> None:
    assert Problem("a.yaml", 3, 7, "no x", "write y").text() == "a.yaml:3:7: no x, write y"
    assert Problem("--tools", None, None, "no x", "write y").text() == "--tools: no x, write y"


def test_sorted_by_place_and_said_once() -> None:
    problems = [Problem("b", 1, 1, "x", "y"), Problem("a", 10, 1, "x", "y"), Problem("a", 9, 2, "x", "y")]
    error = BadInput([*problems, problems[0]])
    assert [(problem.file, problem.line) for problem in error.problems] == [("a", 9), ("a", 10), ("b", 1)]
    assert str(error) == "a:9:2: x, y\na:10:1: x, y\nb:1:1: x, y"


def test_a_hundred_thousand_problems_are_cut() -> None:
    error = BadInput(Problem("a", line, 1, "x", "y") for line in range(1, 100_001))
    assert len(error.problems) == 201
    assert error.problems[-1].text() == "a: 99800 more problems, mend these first"


@given(st.text())
@settings(max_examples=300, derandomize=True)
def test_nothing_raw_reaches_the_terminal(text: str) -> None:
    shown = Problem(text, 1, 1, text, text).text()
    assert not any(unicodedata.category(char) in {"Cc", "Cf", "Zl", "Zp", "Cs"} for char in shown)


def test_printable() -> None:
    assert printable("\x1b[31m\u202e\u2028") == "\\x1b[31m\\u202e\\u2028"
    assert printable("55 °C, 0.4 Ω") == "55 °C, 0.4 Ω"


def test_did_you_mean() -> None:
    assert did_you_mean("agmm", ["agm", "gel"]) == "agm"
    assert did_you_mean("amg", ["AGM", "gel"]) == "AGM"
    assert did_you_mean("zzz", ["agm", "gel"]) is None
    assert did_you_mean("x" * 100_000, ["agm"]) is None
