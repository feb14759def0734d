"""The tests shown of a fault: what counts as unlike sound vehicles, and which of them are shown in what order."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest

from diagnose.inference.candidates import minutes_of
from diagnose.inference.telling import A_MINUTE, ALIKE, AT_PLACE, LEAST, _outside, telling_tests
from diagnose.model.handbook import Telling
from diagnose.model.terminals import points_of
from diagnose.prediction.hypotheses import Hypothesis, all_hypotheses
from diagnose.prediction.predictor import Predicted
from diagnose.prediction.sights import SOUND_WORD
from diagnose.store.installations import load_layout
from tests.inference.engines import rule_base

LAYOUT = "solar_only_van"


def read(sound: list[float], faulty: list[float], noise: float = 0.05) -> float:
    values = np.array([sound, faulty])
    none = np.zeros(values.shape)
    return _outside(Predicted(values, values, none, none, noise + none))


def test_what_lies_beyond_all_sound_vehicles_by_more_than_two_deviations_is_unlike_them() -> None:
    sound = [12.0, 12.5, 13.0, 12.7]
    assert read(sound, [12.2, 12.95, 13.08, 11.92]) == 0.0
    assert read(sound, [12.2, 13.12, 13.08, 11.88]) == 0.5


def test_a_word_tells_by_the_difference_of_its_chances() -> None:
    none = np.zeros((2, 2))
    words = {"on": np.array([[1.0, 0.9], [0.25, 0.25]]), "off": np.array([[0.0, 0.1], [0.75, 0.75]])}
    assert _outside(Predicted(none, none, none, none, none, words)) == pytest.approx(0.7)


@cache
def shown(number: int) -> tuple[Hypothesis, tuple[Telling, ...]]:
    layout, (rules, tables) = load_layout(LAYOUT), rule_base()
    hypothesis = all_hypotheses(layout, rules)[number]
    return hypothesis, telling_tests(layout, rules, tables, hypothesis, 1, 12)


NUMBERS = (1, 20, 40)


@pytest.mark.parametrize("number", NUMBERS)
def test_few_of_a_kind_are_shown_each_at_another_place_and_each_tells(number: int) -> None:
    _, found = shown(number)
    assert found
    takes = [one.sound.take for one in found]
    for quantity, count in Counter(take.quantity for take in takes).items():
        assert count <= (1 if quantity in SOUND_WORD else ALIKE)
    assert len({(take.quantity, take.where) for take in takes}) == len(takes)
    assert all(LEAST <= one.share <= 1.0 for one in found)


@pytest.mark.parametrize("number", NUMBERS)
def test_the_best_comes_first_a_minute_costing_what_is_said(number: int) -> None:
    hypothesis, found = shown(number)
    layout, (rules, _) = load_layout(LAYOUT), rule_base()
    assert hypothesis.fault is not None
    near = {hypothesis.fault.part, *points_of(layout.parts[hypothesis.fault.part])}
    worth = []
    for one in found:
        take = one.sound.take
        minutes = minutes_of(take, rules.tests[take.quantity].minutes, layout, None, frozenset(), (0.0, 0.0))
        here = all(place.partition("@")[0] in near for place in take.where)
        worth.append(one.share + (AT_PLACE if here else 0.0) - A_MINUTE * minutes)
    assert worth == sorted(worth, reverse=True)
