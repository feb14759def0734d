"""What makes no difference is left out of a script, and no call ends otherwise for it."""

from __future__ import annotations

import pytest

from diagnose.model.reading import Read, Take
from diagnose.model.script import Answer, Costs, End, Question, option_of
from diagnose.scripts.trimming import trimmed
from tests.scripts.orders import EYES, METER, POCKET, made

END = End(
    "tests_spent", (), 1.0, 0.0, "", False, "", (), (), (), Costs(1.0, 1.0, ""), 0.0, (), (), (), ()
)  # fmt: skip


def volts(name: str, *led: str) -> Question:
    """Return a card with a band to each step but the last two, which follow what is unsteady and what cannot be had."""
    *bands, unsteady, cannot = led
    edges = [None, *(float(number) for number in range(1, len(bands))), None]
    answers = [
        Answer(f"band {number}", go, None, edges[number], edges[number + 1], "V") for number, go in enumerate(bands)
    ]
    more = (Answer("It keeps changing", unsteady, "unsteady"), Answer("Cannot", cannot, "skipped"))
    return Question(name, "", Take("volts", (name, "n"), "at_rest"), (), (*answers, *more))


def test_bands_side_by_side_that_lead_to_the_same_are_one() -> None:
    before = volts("a", "e1", "e1", "e2", "e1", "e2", "e1")
    steps: dict[str, Question | End] = {"q1": before, "e1": END, "e2": END._replace(send=True)}
    root, kept = trimmed("q1", steps)
    assert root == "q1"
    card = kept["q1"]
    assert isinstance(card, Question)
    assert [(a.label, a.go) for a in card.answers] == [
        ("below 2 V", "e1"), ("band 2", "e2"), ("band 3", "e1"), ("It keeps changing", "e2"),
        ("Cannot", "e1"),
    ]  # fmt: skip
    for value in (-1.0, 0.0, 0.99, 1.0, 1.5, 2.0, 2.99, 3.0, 9.0):
        read = Read("number", "", value)
        assert option_of(card.answers, read).go == option_of(before.answers, read).go


def test_a_card_whose_answers_all_lead_to_the_same_is_left_out() -> None:
    """Also one that leads to another such card, also the first."""
    steps: dict[str, Question | End] = {
        "q1": volts("a", "q2", "q2", "q2"), "q2": volts("b", "q3", "e1", "e1"), "q3": volts("c", "q4", "q4", "q4"),
        "q4": volts("d", "e2", "e2", "e2"), "e1": END, "e2": END._replace(send=True),
    }  # fmt: skip
    root, kept = trimmed("q1", steps)
    assert (root, list(kept)) == ("q2", ["q2", "e1", "e2"])
    card = kept["q2"]
    assert isinstance(card, Question)
    assert [a.go for a in card.answers] == ["e2", "e1", "e1"]
    assert trimmed("q4", {"q4": steps["q4"], "e2": steps["e2"]}) == ("e2", {"e2": steps["e2"]})


@pytest.mark.parametrize("tools", [EYES, METER, POCKET])
def test_every_answer_of_a_whole_script_makes_a_difference(tools: tuple[str, ...]) -> None:
    script = made("crew_cab_tray", tools, 8)
    assert trimmed(script.root, script.steps) == (script.root, dict(script.steps))
    assert all(len({a.go for a in step.answers}) > 1 for step in script.steps.values() if isinstance(step, Question))
