"""Which values are explained, and which slip is named for one that is not."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from diagnose.model.reading import Read, Take
from diagnose.prediction.predictor import Predicted
from diagnose.session.believing import SLIPS, Explained, _near, explains, slips_of
from tests.session.drivers import adviser

CHARGER = Take("volts", ("charger_in", "charger_neg"), "engine_running")
CLAMP = Take("amps", ("input_cable",), "engine_running")
STRAP = Take("ohms", ("tray", "chassis"), "isolated")


def number(value: float) -> Read:
    return Read("number", str(value), value)


@pytest.fixture(scope="module")
def explained() -> Explained:
    return Explained(adviser("crew_cab_tray").engine.predictor)


@pytest.mark.parametrize(
    ("take", "value"), [(CHARGER, 13.6), (CHARGER, 0.0), (CHARGER, 11.9), (CLAMP, 30.0), (CLAMP, 0.1), (STRAP, 0.2)]
)
def test_sound_and_faulty_values_are_explained(explained: Explained, take: Take, value: float) -> None:
    assert explains(explained, take, number(value))


@pytest.mark.parametrize(
    ("take", "value", "slip"),
    [
        (CHARGER, 136.0, "decimal"), (CHARGER, 1360.0, "decimal"), (CHARGER, -13.6, "sign"), (CLAMP, -30.0, "sign"),
        (CLAMP, 300.0, "decimal"),
    ],
)  # fmt: skip
def test_a_slip_is_named(explained: Explained, take: Take, value: float, slip: str) -> None:
    assert not explains(explained, take, number(value))
    assert slips_of(explained, take, number(value))[0] == slip


def test_words_are_always_explained(explained: Explained) -> None:
    assert explains(explained, Take("lamp", ("charging",), "engine_running"), Read("word", "off", word="off"))
    assert explains(explained, STRAP, Read("over_range", "OL"))


def test_every_slip_has_words() -> None:
    from diagnose.present.walk import slip_words

    assert all(slip_words([slip]) != slip for slip in SLIPS)


@pytest.mark.parametrize(
    ("take", "value", "slip"),
    [
        (Take("volts", ("tray", "chassis"), "engine_running"), 0.9, "socket"), (CHARGER, 60.0, "paint"),
        (Take("amps", ("input_cable",), "engine_running"), 900.0, "both_wires"), (STRAP, 1e-9, "leads"),
    ],
)  # fmt: skip
def test_the_usual_slip_of_a_quantity_is_among_those_named(
    explained: Explained, take: Take, value: float, slip: str
) -> None:
    others = {"socket": "leads", "paint": "leads", "both_wires": "paint", "leads": "paint"}
    named = slips_of(explained, take, number(value))
    assert slip in named
    assert others[slip] not in named


def test_a_value_between_the_two_ends_of_a_hunting_circuit_is_near() -> None:
    low, high = np.array([[11.0, 12.9]]), np.array([[13.0, 13.1]])
    predicted = Predicted(high, low, np.ones((1, 2)), np.zeros((1, 2)), np.full((1, 2), 0.01))
    # 12 V lies between the ends of the first vehicle, and half a volt and more from those of the second
    assert _near(CHARGER, 12.0, predicted) == [0.5]


@pytest.mark.parametrize(("value", "idle"), [(12.3, True), (5.0, False), (13.4, False)])
def test_only_volts_that_fit_an_idling_engine_are_taken_for_one(value: float, idle: bool) -> None:
    def share(take: Take, other: float) -> float:
        return 1.0 if other == pytest.approx(13.8) else 0.0

    named = slips_of(SimpleNamespace(share=share), CHARGER, number(value))  # type: ignore[arg-type]
    assert ("idle" in named) == idle


def test_leads_are_a_slip_of_ohms_alone() -> None:
    nothing = SimpleNamespace(share=lambda take, value: 0.0)
    for quantity, places in (("celsius", ("charger",)), ("load_test", ("house_battery",)), ("ohms", ("a", "b"))):
        named = slips_of(nothing, Take(quantity, places, "at_rest"), number(70.0))  # type: ignore[arg-type]
        assert ("leads" in named) == (quantity == "ohms")


@pytest.mark.parametrize(("value", "near_zero"), [(0.5, True), (-0.5, True), (1.5, False), (-1.5, False)])
def test_only_volts_near_zero_are_taken_for_a_probe_in_the_wrong_socket(value: float, near_zero: bool) -> None:
    nothing = SimpleNamespace(share=lambda take, value: 0.0)
    assert ("socket" in slips_of(nothing, CHARGER, number(value))) == near_zero  # type: ignore[arg-type]
