"""What is taken for likely is what a sound vehicle reads; a suspect is explained by what the ranking goes by."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.model.reading import Take
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.predictor import Predicted
from diagnose.session.advice import Adviser
from diagnose.session.facts import Facts
from diagnose.store.installations import load_layout
from tests.session.drivers import adviser, rule_base

LAYOUT = "crew_cab_tray"


@pytest.mark.parametrize(
    "take",
    [
        Take("volts", ("charger_in", "charger_neg"), "engine_running"), Take("volts", ("tray", "chassis"), "at_rest"),
        Take("ohms", ("tray", "chassis"), "isolated"), Take("amps", ("charger",), "engine_running"),
    ],
    ids=str,
)  # fmt: skip
def test_a_likely_number_lies_within_the_band_of_a_sound_vehicle(take: Take) -> None:
    here = adviser(LAYOUT)
    (band,) = expected_readings(here.engine.installation, here.engine.rules, here.engine.tables, [take], SOUND, 1)
    read = here.likely(take)
    assert read.value is not None
    assert band.low is not None
    assert band.high is not None
    slack = 0.01 * abs(read.value) + 1e-6  # it is given to three digits
    assert band.low - slack <= read.value <= band.high + slack
    assert float(read.text) == pytest.approx(read.value, rel=0.01)


@pytest.mark.parametrize(("quantity", "place"), [("look", "tray_strap"), ("tug", "tray_strap")])
def test_a_likely_word_is_the_sound_one(quantity: str, place: str) -> None:
    assert adviser(LAYOUT).likely(Take(quantity, (place,), "at_rest")).word == "good"


def test_the_likely_number_is_the_median_of_sound_vehicles() -> None:
    values = np.array([[9.0, 1.0, 5.0, 3.0, 7.0, 2.0, 8.0, 4.0, 6.0]])
    none = np.zeros(values.shape)
    predictor = SimpleNamespace(predict=lambda takes, which: [Predicted(values, values, none, none, none)])
    here = Adviser(load_layout(LAYOUT), *rule_base())
    here._engine = SimpleNamespace(predictor=predictor)  # type: ignore[assignment]
    assert here.likely(Take("volts", ("a", "b"), "at_rest")).value == 5.0


def test_what_speaks_against_a_suspect_is_weighed_as_the_ranking_is() -> None:
    told = adviser("solar_only_van")
    facts = Facts(tools=("multimeter",), looking=True)
    leader = next(e for e in told.ranking(facts).faults if not e.together)
    against = told.why_not(facts, f"{leader.fault.fault} {leader.fault.part} {leader.fault.at or ''}")
    assert against is not None
    assert against.probability == pytest.approx(leader.probability)
    assert told.ranking(facts._replace(looking=False)).no_fault > 3.0 * told.ranking(facts).no_fault
