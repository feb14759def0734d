"""Answers as people type them: one value or several in a line, with their units, words, and what is refused."""

from __future__ import annotations

import pytest

from diagnose.basics.quantities import QuantityError
from diagnose.model.survey import LoadAnswer, Topic
from diagnose.store.survey import load_survey
from diagnose.survey.reading import read_answer
from diagnose.survey.told_loads import read_loads

SURVEY = load_survey()
TOPICS = {topic.id: topic for topic in SURVEY.topics}


def read(topic: str, text: str) -> dict[str, str]:
    found = read_answer(text, TOPICS[topic].fields, SURVEY)
    return {key: str(answer.value) for key, answer in found.items()}


@pytest.mark.parametrize(
    ("topic", "text", "taken"),
    [
        ("start_battery", "75 Ah flooded", {"start_capacity": "75 Ah", "start_chemistry": "flooded"}),
        ("start_battery", "Lead acid, 75ah", {"start_capacity": "75 Ah", "start_chemistry": "flooded"}),
        ("start_battery", "80", {"start_capacity": "80 Ah"}),
        ("start_battery", "ag", {"start_chemistry": "agm"}),
        ("start_battery", "?", {"start_capacity": "", "start_chemistry": ""}),
        ("start_battery", "don't know", {"start_capacity": "", "start_chemistry": ""}),
        ("start_battery", "? gel", {"start_capacity": "", "start_chemistry": "gel"}),
        ("alternator", "smart, 150 A", {"regulation": "variable", "alternator_rating": "150 A"}),
        ("second_battery", "100 Ah lithium 14,6 V",
         {"second_capacity": "100 Ah", "second_chemistry": "lfp", "max_charge": "14.6 V"}),
        ("feed", "6 AWG 12 ft", {"feed_area": "6 AWG", "feed_run": "12 ft"}),
        ("feed", "6AWG, 4,8 m", {"feed_area": "6 AWG", "feed_run": "4.8 m"}),
        ("feed", "16 mm2,4.8m", {"feed_area": "16 mm2", "feed_run": "4.8 m"}),
        ("feed", "2/0 awg and 3-6 m", {"feed_area": "2/0 AWG", "feed_run": "3 to 6 m"}),
        ("feed", "3 to 6 m 10 to 16 mm2", {"feed_area": "10 to 16 mm2", "feed_run": "3 to 6 m"}),
        ("feed", "16 mm²", {"feed_area": "16 mm2"}),
        ("fuses", "50 A 40 A", {"start_fuse": "50 A", "second_fuse": "40 A"}),
        ("fuses", "none 40 A", {"start_fuse": "none", "second_fuse": "40 A"}),
        ("fuses", "60 A", {"start_fuse": "60 A"}),
        ("panel", "none", {"panel_power": "none"}),
        ("panel", "22.3 V 160 W", {"panel_power": "160 W", "panel_volts": "22.3 V"}),
        ("driving", "1,5", {"driving": "1.5 h"}),
        ("driving", "90 min", {"driving": "90 min"}),
        ("ignition_lead", "y", {"ignition_lead": "yes"}),
        ("place", "Engine bay", {"place": "bay"}),
        ("place", "mot", {"place": "motorhome"}),
        ("profile_lead", "capped", {"profile_lead": "nothing"}),
    ],
)  # fmt: skip
def test_what_is_typed_is_taken(topic: str, text: str, taken: dict[str, str]) -> None:
    assert read(topic, text) == taken


@pytest.mark.parametrize(
    ("topic", "text", "said"),
    [
        ("feed", "16 4.8 m", "the unit behind 16 is missing"),
        ("feed", "16 mm 4.8 m", "run one way lies within"),  # a size in mm is no area, and no run either
        ("feed", "16 mm2 4.8 m 3 m", "`3 m` is too much here"),
        ("feed", "1,234 m 16 mm2", "1,234 may mean 1.234 or 1234"),
        ("start_battery", "75 kg flooded", "`75 kg` is no capacity"),
        ("start_battery", "plum", "`plum` is no capacity and no chemistry"),
        ("start_battery", "0 Ah", "capacity"),
        ("second_battery", "100 Ah agm 28.8 V", "greatest charge voltage lies within 13.8 to 16.5 V"),
        ("charger", "30", "the unit behind 30 is missing"),
        ("charger", "300 A 14.4 V", "rating lies within 1 to 200 A"),
        ("place", "s", "may mean seat or sun"),
        ("place", "tent", "write one of bay, tray"),
        ("place", "?", "the place cannot be left open"),
        ("driving", "30", "out of range"),
        ("driving", "-2", "negative"),
        ("driving", "a lot", "is no time"),
        ("loads", "fridge", "has no watts or amperes"),
        ("loads", "fridge 55", "cannot be read as a load"),
        ("loads", "fridge 55 W 30 h", "a day has 24 h"),
        ("loads", "fridge 5 W, Fridge 6 W", "two loads are called fridge"),
        ("loads", "fridge 9 kW", "a load lies within"),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_would_be_right(topic: str, text: str, said: str) -> None:
    with pytest.raises(QuantityError) as refused:
        read(topic, text)
    assert said in str(refused.value)


@pytest.mark.parametrize("topic", SURVEY.topics, ids=lambda topic: topic.id)
def test_the_example_of_a_question_answers_all_of_it(topic: Topic) -> None:
    assert set(read_answer(topic.example, topic.fields, SURVEY)) == {field.id for field in topic.fields}


def test_loads_keep_their_decimal_commas() -> None:
    found = read_loads("Water pump 3,5 A, 0,5 h; work lights: 20 to 30 W and gas alarm 2W 24h a day", "0.1 to 5000 W")
    assert found == (
        LoadAnswer("Water pump", "42 W", 0.5), LoadAnswer("work lights", "20 to 30 W", None),
        LoadAnswer("gas alarm", "2 W", 24.0),
    )  # fmt: skip
