"""What a person sees: the very lines at 60 and 80 columns, and no line wider than the terminal at any width."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.model.reading import Take
from diagnose.present.terminal import FIRST_WORDS, expected_lines, ranking_lines, take_words, why_not_lines
from tests.present.records import DANGER, EXPECTED, FOUND, INPUT, RANKING, SOUND, WHY_NOT

GOLDEN = Path(__file__).parent / "golden"
ROWS = [("sound", EXPECTED[0]), ("blown input_fuse", EXPECTED[0]._replace(value=0.0, low=-0.001, high=0.001)),
        ("sound", EXPECTED[1]), ("sound", EXPECTED[2])]  # fmt: skip


def shown(what: str, width: int) -> list[str]:
    made = {
        "ranking": lambda: ranking_lines(RANKING, width),
        "found": lambda: ranking_lines(FOUND, width),
        "sound": lambda: ranking_lines(SOUND, width),
        "danger": lambda: ranking_lines(DANGER, width),
        "why_not": lambda: why_not_lines(WHY_NOT, width),
        "expected": lambda: expected_lines(ROWS, width),
    }
    return made[what]()


@pytest.mark.parametrize("width", [60, 80])
@pytest.mark.parametrize("what", ["ranking", "found", "sound", "danger", "why_not", "expected"])
def test_lines_are_those_agreed_on(what: str, width: int) -> None:
    golden = (GOLDEN / f"{what}_{width}.txt").read_text(encoding="utf-8")
    assert "\n".join(shown(what, width)) + "\n" == golden


@pytest.mark.parametrize("width", [40, 50, 60, 72, 80, 100])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    for what in ("ranking", "found", "sound", "danger", "why_not", "expected"):
        assert max(len(line) for line in shown(what, width)) <= width
        assert not any(line != line.rstrip() for line in shown(what, width))


def test_a_danger_comes_first_and_nothing_is_asked_after_it() -> None:
    lines = ranking_lines(DANGER, 80)
    assert lines[0].startswith("DANGER: reading 1: house_battery")
    assert not any(line.startswith("Next:") for line in lines)


def test_cautions_come_before_the_instruction() -> None:
    lines = ranking_lines(RANKING, 80)
    caution = next(k for k, line in enumerate(lines) if line.startswith("Caution: Engine running"))
    assert caution < next(k for k, line in enumerate(lines) if line.startswith("Next:"))


def test_every_ranking_says_what_comes_first_of_all() -> None:
    for ranking in (RANKING, FOUND, DANGER):
        assert FIRST_WORDS in " ".join(" ".join(ranking_lines(ranking, 60)).split())


def test_what_is_hardly_possible_is_not_listed() -> None:
    assert not any("input_fuse" in line for line in ranking_lines(RANKING, 80))


def test_causes_worth_naming_stand_under_their_fault_and_others_do_not() -> None:
    lines = ranking_lines(RANKING, 100)
    first, second = (next(k for k, line in enumerate(lines) if line.startswith(f"{n}. ")) for n in (1, 2))
    named = [k for k, line in enumerate(lines) if line.startswith("     cause ")]
    names = [lines[k].split(": ")[1].split(",")[0] for k in named]
    assert names == ["corroded joint", "paint or anodising under a lug"]
    assert all(first < k < second for k in named)


def test_why_nothing_may_be_wrong_is_said_only_where_that_is_likely() -> None:
    assert any("simply full" in line for line in ranking_lines(SOUND, 100))
    assert not any("simply full" in line for line in ranking_lines(RANKING, 100))


def test_one_reading_is_said_in_the_singular() -> None:
    assert "1 reading used." in ranking_lines(RANKING._replace(readings_used=1), 80)


@pytest.mark.parametrize(("take", "words"), [
    (INPUT, "volts charger_in charger_neg (engine running, jumper tray chassis)"),
    (Take("amps", ("fridge",), "loaded", swap="fridge_fuse"), "amps fridge (loaded, known-good fridge_fuse)"),
    (Take("volts", ("a", "b"), "at_rest", "test_lamp"), "volts a b (at rest, test lamp)"),
])  # fmt: skip
def test_a_test_is_said_as_one_types_it(take: Take, words: str) -> None:
    assert take_words(take) == words


def test_a_zero_has_no_sign() -> None:
    rows = [(label, one._replace(low=-0.0, value=-0.00001, high=0.0)) for label, one in ROWS]
    told = "\n".join(expected_lines(rows, 80))
    assert "0.000" in told
    assert "-0.000" not in told
