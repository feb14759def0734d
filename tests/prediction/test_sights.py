"""What eyes, nose and hands find: chances over all words sum to 1, and a look sees only what it reaches."""

from __future__ import annotations

import pytest

from diagnose.model.fault import FaultAt
from diagnose.model.words import WORDS
from diagnose.prediction.hypotheses import SOUND, Hypothesis
from diagnose.prediction.sights import SOUND_WORD, Sights
from tests.inference.engines import rule_base

RULES = rule_base()[0]
SIGHTS = Sights(RULES)


def fault(name: str, at: str | None = None) -> Hypothesis:
    return Hypothesis(FaultAt(name, "cable", at), RULES.faults[name], 1.0)


@pytest.mark.parametrize("name", sorted(RULES.faults))
def test_chances_sum_to_one_at_the_place_at_the_part_and_elsewhere(name: str) -> None:
    for quantity in SOUND_WORD:
        for place in ("cable", "cable@near", "cable@far", "other"):
            chances = [SIGHTS.chance(quantity, place, w, fault(name, "near")) for w in SIGHTS.words(quantity)]
            assert sum(chances) == pytest.approx(1.0, abs=1e-9)
            assert all(0.0 < c < 1.0 for c in chances)


def test_words_are_those_of_the_readings_form_and_the_sound_one_is_first() -> None:
    for quantity, sound in SOUND_WORD.items():
        words = SIGHTS.words(quantity)
        assert words[0] == sound
        assert set(words) <= set(WORDS[quantity])
        assert len(set(words)) == len(words)


def test_a_sound_part_is_mostly_found_good() -> None:
    for quantity, sound in SOUND_WORD.items():
        assert SIGHTS.chance(quantity, "cable", sound, SOUND) > 0.8


@pytest.mark.parametrize("name", sorted(RULES.faults))
def test_each_sight_of_a_rule_has_its_chance_where_it_is_reached(name: str) -> None:
    for sight in RULES.faults[name].sights:
        here = SIGHTS.chance(sight.quantity, "cable@near", sight.word, fault(name, "near"))
        # where a fault nearly always shows one word, the others leave it a little less
        assert here == pytest.approx(sight.chance, rel=0.06)
        assert SIGHTS.chance(sight.quantity, "other", sight.word, fault(name, "near")) < max(0.1, sight.chance)


def test_a_loose_end_is_felt_at_that_end_only() -> None:
    loose = fault("open_circuit", "near")
    here, there, sound = (
        SIGHTS.chance("tug", place, "loose", hypothesis)
        for place, hypothesis in (("cable@near", loose), ("cable@far", loose), ("cable@near", SOUND))
    )
    assert here == pytest.approx(0.5)
    assert there == pytest.approx(sound) == pytest.approx(0.025)


def test_a_sight_of_the_whole_part_is_seen_from_either_end() -> None:
    sight = next(s for s in RULES.faults["short_to_negative"].sights if (s.quantity, s.word) == ("look", "damaged"))
    assert sight.at == "part"
    for place in ("cable", "cable@near", "cable@far"):
        seen = SIGHTS.chance("look", place, "damaged", fault("short_to_negative"))
        assert seen == pytest.approx(sight.chance, rel=0.02)


def test_a_word_that_no_rule_speaks_of_is_a_slip() -> None:
    assert 0.0 < SIGHTS.chance("look", "cable", "smoking", SOUND) < 0.01
