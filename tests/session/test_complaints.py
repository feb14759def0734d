"""Free words, with every second one mistyped, are understood; numbers and ids too; nonsense is not."""

from __future__ import annotations

import random

import pytest

from diagnose.session.complaints import nearest_complaints, understood_complaint
from tests.session.drivers import rule_base

RULES, _ = rule_base()


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("frige cuts out", "fridge_cuts_out"), ("solar dosnt work", "solar_does_nothing"), ("12", "never_full"),
        ("it wont charg while driveing", "no_charge_driving"), ("battery ded in the mornign", "dead_by_morning"),
        ("smels of rotten egs", "rotten_eggs_or_bulging"), ("plug_melted", "plug_melted"),
        ("clicking on and of all the time", "clicks_on_off"),
    ],
)  # fmt: skip
def test_words_numbers_and_ids(text: str, meant: str) -> None:
    found = understood_complaint(text, RULES)
    assert found is not None
    assert (found.id if not text.isdecimal() else list(RULES.complaints).index(found.id) + 1) == (
        meant if not text.isdecimal() else int(text)
    )


@pytest.mark.parametrize("text", ["purple elephants", "0", "99", "", "the and of"])
def test_nonsense_is_not_understood(text: str) -> None:
    assert understood_complaint(text, RULES) is None


@pytest.mark.slow
def test_two_slips_of_the_finger_in_a_phrase_of_the_rules() -> None:
    chance, said, right, wrong = random.Random(4), 0, 0, 0
    for rule in RULES.complaints.values():
        for phrase in rule.words:
            letters = list(phrase)
            at = chance.randrange(len(letters) - 1)
            letters[at], letters[at + 1] = letters[at + 1], letters[at]
            del letters[chance.randrange(len(letters))]
            found = understood_complaint("".join(letters), RULES)
            said += 1
            right += found is rule
            wrong += found is not None and found is not rule
    assert right / said >= 0.9
    assert wrong / said <= 0.02


def test_the_nearest_are_offered() -> None:
    assert "solar_does_nothing" in [r.id for r in nearest_complaints("solar maybe", RULES)]
    assert nearest_complaints("purple elephants", RULES) == ()
