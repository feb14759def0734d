"""What a list of tests tells apart, on the smallest lists there are."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.inseparable import _same_sights, _within, not_told_apart
from diagnose.model.reading import Take
from tests.inference.engines import engine

CHARGER = Take("volts", ("charger_in", "charger_neg"), "engine_running")
LAMP = Take("lamp", ("charging",), "engine_running")


def number(label: str) -> int:
    return next(n for n, h in enumerate(engine("crew_cab_tray").hypotheses) if h.label == label)


@pytest.mark.parametrize(("takes", "apart"), [((), False), ((CHARGER,), True)], ids=["nothing", "volts"])
def test_a_blown_fuse_and_a_sound_vehicle(takes: tuple[Take, ...], apart: bool) -> None:
    asking = engine("crew_cab_tray")
    both = [number("blown input_fuse"), 0]
    found = not_told_apart(asking._table, takes, both, asking.sights)
    assert found == (tuple(both[:1]) if apart else tuple(both))


def test_two_faults_that_stop_the_charger_light_the_same_lamps() -> None:
    asking = engine("crew_cab_tray")
    fuse = next(n for n, h in enumerate(asking.hypotheses) if h.label.startswith("blown input_fuse"))
    cable = next(n for n, h in enumerate(asking.hypotheses) if h.label.startswith("open_circuit input_cable"))
    assert not_told_apart(asking._table, (LAMP,), [fuse, cable], asking.sights) == (fuse, cable)


def test_within_the_noise_of_both() -> None:
    values, spread = np.array([1.0, 1.0, 1.5, 2.0]), np.array([0.3, 0.4, 0.4, 0.3])
    first, second = np.array([0, 0, 0, 1]), np.array([1, 2, 3, 2])
    # 0 is within 0.5 of itself; 0.5 is not within hypot(0.3, 0.4) = 0.5; 1.0 is not; 0.5 is within hypot(0.4, 0.4)
    assert _within(values, spread, first, second).tolist() == [True, False, False, True]


@pytest.mark.parametrize(("part", "alike"), [("input_fuse", False), ("tray_strap", True), ("house_battery", True)])
def test_a_look_tells_a_blown_fuse_only_where_it_is_the_fuse_that_is_looked_at(part: str, alike: bool) -> None:
    asking = engine("crew_cab_tray")
    fuse, sound = asking.hypotheses[number("blown input_fuse")], asking.hypotheses[0]
    assert _same_sights(fuse, sound, [Take("look", (part,), "at_rest")], asking.sights) == alike
