"""What a reading means: its side of the sound band, words that sound vehicles show, and a drop without current."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.model.reading import Read, Reading, Take
from diagnose.prediction.expected import expected_readings
from diagnose.prediction.hypotheses import SOUND
from diagnose.prediction.predictor import Predicted
from diagnose.session.facts import Facts
from diagnose.session.meanings import _sound_band, _sound_words, _verdict
from tests.session.drivers import TOOLS, adviser

ADVICE = adviser("crew_cab_tray")
CHARGER = Take("volts", ("charger_in", "charger_neg"), "engine_running")
STRAP = Take("volts", ("tray", "chassis"), "engine_running")
LAMP = Take("lamp", ("charging",), "engine_running")
OFF = Reading(LAMP, Read("word", "off", word="off"))


def meaning(*readings: Reading):  # type: ignore[no-untyped-def]
    expect = (("blown input_fuse", "0.1 V to 0.2 V"),)
    return ADVICE.meaning(Facts(tools=TOOLS, readings=readings), len(readings), expect)


@pytest.mark.parametrize(("value", "verdict"), [(13.6, "as_sound"), (11.2, "below"), (15.4, "above")])
def test_the_side_of_the_sound_band(value: float, verdict: str) -> None:
    found = meaning(Reading(CHARGER, Read("number", f"{value} V", value)))
    assert found.verdict == verdict
    assert found.low < 13.6 < found.high
    assert found.suspects == (("blown input_fuse", 0.1, 0.2, "0.1 V to 0.2 V"),)


def test_words() -> None:
    assert meaning(OFF).verdict == "unlike"
    assert meaning(Reading(LAMP, Read("word", "on", word="on"))).verdict == "as_sound"


def test_ohms_over_range_where_a_joint_should_be() -> None:
    take = Take("ohms", ("tray", "chassis"), "isolated")
    assert meaning(Reading(take, Read("over_range", "OL"))).verdict == "above"


def test_a_drop_without_current_tells_little_and_one_with_current_does_not() -> None:
    drop = Take("volts", ("input_fuse@start_pos", "start_pos"), "at_rest")
    assert meaning(OFF, Reading(drop, Read("number", "0", 0.0))).little
    assert not meaning(Reading(STRAP, Read("number", "0.9 V", 0.9))).little


def test_the_sound_band_of_ohms_is_that_of_what_is_expected() -> None:
    take = Take("ohms", ("tray", "chassis"), "isolated")
    (band,) = expected_readings(ADVICE.engine.installation, ADVICE.engine.rules, ADVICE.engine.tables, [take], SOUND, 1)
    found = meaning(Reading(take, Read("number", "0.2 ohm", 0.2)))
    assert band.low is not None
    assert band.high is not None
    # One sound vehicle in twenty reads outside either; how the meter shows it is drawn anew for each.
    assert band.low / 3.0 < found.low < band.high
    assert band.low < found.high < 3.0 * band.high


def test_the_sound_band_of_a_known_resistance_lies_about_it() -> None:
    """Ohms are compared by their logarithm; all sound vehicles have 100 ohm here, and the meter errs by little."""
    shape = (1, ADVICE.engine.predictor.count)
    none = np.zeros(shape)
    hundred = Predicted(np.full(shape, 2.0), np.full(shape, 2.0), none, none, np.full(shape, 1e-4))
    predictor = SimpleNamespace(predict=lambda takes: [hundred], streams=ADVICE.engine.predictor.streams)
    engine = SimpleNamespace(predictor=predictor, tables=ADVICE.engine.tables)
    low, high = _sound_band(Take("ohms", ("tray", "chassis"), "isolated"), engine)  # type: ignore[arg-type]
    assert low == pytest.approx(100.0, rel=0.05)
    assert high == pytest.approx(100.0, rel=0.05)


def test_a_test_lamp_is_read_as_volts_and_an_indicator_as_words() -> None:
    assert dict(_sound_words(LAMP, ADVICE.engine))["on"] > 0.5
    assert _sound_words(CHARGER._replace(meter="test_lamp"), ADVICE.engine) == ()


@pytest.mark.parametrize(("bound", "verdict"), [(12.2, "below"), (12.5, "as_sound"), (12.9, "as_sound")])
def test_less_than_a_bound_may_be_sound_only_where_the_bound_is_not_under_the_band(bound: float, verdict: str) -> None:
    assert _verdict(CHARGER, Read("below", f"<{bound} V", bound), 12.5, 12.8) == verdict
