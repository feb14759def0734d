"""A relay that drops out when it has pulled in, beside a charger that starves its own input: both moments balance."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.circuit.modes import Solution, solve_state
from diagnose.circuit.readout import heat
from diagnose.circuit.wiring import Wiring, build_wiring
from tests.circuit.test_laws import _worst_residual
from tests.circuit.vehicles import installation, numbers_for


def swinging() -> tuple[Wiring, Solution]:
    """Return four vehicles: nothing swings, the relay alone, the charger alone, both.

    The relay's coil hangs on a thin feed of its own, and so does the charger's input; what the relay switches draws so
    much from the same feed that the coil lets go.
    """
    wiring = build_wiring(
        installation(
            {
                "start_battery": {"kind": "battery", "pos": "p", "neg": "n", "chemistry": "flooded",
                                  "capacity": "75 Ah"},
                "alternator": {"kind": "alternator", "pos": "p", "neg": "n", "regulation": "fixed",
                               "voltage": "14.2 V", "rating": "110 A"},
                "feed": {"kind": "cable", "ends": ["p", "line"], "area": "1 mm2", "length": "5 m"},
                "relay": {"kind": "relay", "coil": ["line", "n"], "ends": ["line", "heater_pos"]},
                "heater": {"kind": "load", "pos": "heater_pos", "neg": "n", "resistance": "1 ohm", "always_on": True},
                "input": {"kind": "cable", "ends": ["p", "charger_in"], "area": "1 mm2", "length": "5 m"},
                "charger": {
                    "kind": "charger", "input": "charger_in", "output": "out", "negative": "n", "rating": "30 A",
                    "profiles": [{"name": "agm", "voltage": "14.7 V"}], "profile": "agm",
                },
                "house_battery": {"kind": "battery", "pos": "out", "neg": "n", "chemistry": "agm",
                                  "capacity": "100 Ah"},
            }
        )
    )  # fmt: skip
    numbers = numbers_for(wiring, 3, 4)
    numbers["relay.closes"][:], numbers["relay.opens"][:] = 9.0, 7.0
    numbers["battery.rest"][:] = 12.0
    numbers["resistance"][wiring.edge_index[("heater", "load_resistance", None)]] = 1.0
    for part, thin in (("feed", [0, 1, 0, 1]), ("input", [0, 0, 1, 1])):
        numbers["resistance"][wiring.edge_index[(part, "wire", None)]] = np.where(thin, 2.0, 0.002)
    return wiring, solve_state(wiring, numbers, "engine_running")


def test_both_moments_of_what_swings_balance_at_every_node() -> None:
    wiring, solution = swinging()
    assert solution.modes.chatter[0].tolist() == [False, True, False, True]
    assert solution.modes.held[0].tolist() == [False, False, True, True]
    assert solution.settled.all()
    assert _worst_residual(wiring, solution) <= 1.0


def test_a_relay_that_has_let_go_feeds_nothing_and_its_line_recovers() -> None:
    wiring, solution = swinging()
    line, heater, neg = (wiring.index[name] for name in ("line", "heater_pos", "n"))
    open_now, closed = solution.voltage - solution.voltage[neg], solution.low_voltage - solution.low_voltage[neg]
    assert (abs(open_now[heater, [1, 3]]) < 0.1).all()
    assert (open_now[line, [1, 3]] > 11.0).all()
    assert (closed[line, [1, 3]] < 7.0).all()
    assert closed[:, 0] == pytest.approx(open_now[:, 0])


def test_heat_is_that_of_the_part_of_that_name() -> None:
    wiring, solution = swinging()
    found = heat(wiring, solution, "".join(["re", "lay"]), None)  # as read from a line: equal, not the same object
    contact = wiring.edge_index[("relay", "relay_contact", None)]
    lost = solution.low_voltage[wiring.edge_a[contact]] - solution.low_voltage[wiring.edge_b[contact]]
    assert (found > 0.0).all()
    assert found == pytest.approx(lost**2 / solution.resistance[contact])
