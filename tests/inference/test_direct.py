"""Which tests look straight at a suspect: those at its own end, and none at the other."""

from __future__ import annotations

import pytest

from diagnose.inference.direct import is_direct
from diagnose.model.fault import FaultAt
from diagnose.model.reading import Take
from diagnose.store.installations import load_layout

CABLE = "input_cable"


@pytest.mark.parametrize("quantity", ["tug", "look"])
def test_the_end_that_is_looked_at_must_be_that_of_the_fault(quantity: str) -> None:
    installation = load_layout("crew_cab_tray")
    ends = getattr(installation.parts[CABLE], "ends")  # noqa: B009 - only some kinds of part have ends
    for end in ends:
        for at in (*ends, None):
            fault = FaultAt("wrong_connection", CABLE, at)
            direct = is_direct(Take(quantity, (f"{CABLE}@{end}",), "at_rest"), fault, installation)
            assert direct == (at is None or at == end), (end, at)
    assert is_direct(Take(quantity, (CABLE,), "at_rest"), FaultAt("wrong_connection", CABLE, ends[0]), installation)
    assert not is_direct(Take(quantity, ("tray_strap",), "at_rest"), FaultAt("wrong_connection", CABLE), installation)


def test_a_drop_is_straight_at_a_part_on_its_own_points() -> None:
    installation = load_layout("crew_cab_tray")
    ends = tuple(getattr(installation.parts[CABLE], "ends"))  # noqa: B009
    for quantity, direct in (("volts", True), ("ohms", True), ("amps", False)):
        assert is_direct(Take(quantity, ends, "engine_running"), FaultAt("undersized", CABLE), installation) == direct
    far = (ends[0], "chassis")
    assert not is_direct(Take("volts", far, "engine_running"), FaultAt("undersized", CABLE), installation)


@pytest.mark.parametrize("name", ["open_circuit", "high_resistance", "intermittent"])
def test_a_drop_is_straight_at_a_joint_on_its_own_lug_alone(name: str) -> None:
    """Across the whole cable it does not tell at which end, or whether between them, the volts are lost."""
    installation = load_layout("crew_cab_tray")
    first, last = tuple(getattr(installation.parts[CABLE], "ends"))  # noqa: B009
    across = {end: Take("volts", (f"{CABLE}@{end}", end), "engine_running") for end in (first, last)}
    whole = Take("volts", (first, last), "engine_running")
    between = Take("volts", (f"{CABLE}@{first}", f"{CABLE}@{last}"), "engine_running")
    for at in (first, last, None):
        fault = FaultAt(name, CABLE, at)
        assert not is_direct(whole, fault, installation)
        assert is_direct(between, fault, installation)
        assert {end: is_direct(take, fault, installation) for end, take in across.items()} == {
            first: at in (first, None), last: at in (last, None),
        }  # fmt: skip


def test_a_current_is_straight_at_the_load_that_takes_too_much_and_at_nothing_else() -> None:
    installation = load_layout("crew_cab_tray")
    for part, fault, direct in (("fridge", "excess_load", True), ("fridge", "dead", False), (CABLE, "blown", False)):
        take = Take("amps", (part,), "at_rest")
        assert is_direct(take, FaultAt(fault, part), installation) == direct
    assert not is_direct(Take("amps", (CABLE,), "at_rest"), FaultAt("excess_load", "fridge"), installation)


@pytest.mark.parametrize(("part", "direct"), [("charger", True), ("alternator", False), ("house_battery", False)])
def test_a_lamp_is_straight_at_the_charger_alone(part: str, direct: bool) -> None:
    lamp = Take("lamp", ("charging",), "engine_running")
    assert is_direct(lamp, FaultAt("dead", part), load_layout("crew_cab_tray")) == direct
