"""What an engine worked out can be given to another, which then answers the same and works nothing out again."""

from __future__ import annotations

import pytest

from diagnose.inference.ranking import Engine, Question
from diagnose.prediction.predictor import Predictor
from diagnose.present.json_forms import ranking_json
from tests.inference.engines import TOOLS, engine, rule_base, volts, word

LAYOUT = "engine_bay_pair"
READINGS = (volts("start_pos", "start_neg", 14.2), word("lamp", "charging", "off", "engine_running"))
QUESTION = Question(READINGS, "no_charge_driving", TOOLS)


def test_an_engine_that_was_given_what_another_kept_answers_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    first = Engine(engine(LAYOUT).installation, *rule_base(), 1)
    answer = ranking_json(first.rank(QUESTION))
    second = Engine(engine(LAYOUT).installation, *rule_base(), 1)
    assert second.worked_out == 0
    second.put_back(first.kept())
    assert second.worked_out == first.worked_out
    monkeypatch.setattr(Predictor, "read", None)
    assert ranking_json(second.rank(QUESTION)) == answer


@pytest.mark.parametrize("damaged", [b"", b"PK\x03\x04 something else", b"\x00" * 100])
def test_bytes_that_are_no_predictions_are_refused(damaged: bytes) -> None:
    asked = Engine(engine(LAYOUT).installation, *rule_base(), 1)
    with pytest.raises(ValueError, match="not kept predictions"):
        asked.put_back(damaged)
    assert asked.worked_out == 0


def test_predictions_of_another_installation_are_refused() -> None:
    other = Engine(engine("crew_cab_tray").installation, *rule_base(), 1)
    other.rank(Question(READINGS[:1], None, TOOLS))
    with pytest.raises(ValueError, match="another engine"):
        Engine(engine(LAYOUT).installation, *rule_base(), 1).put_back(other.kept())
