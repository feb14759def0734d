"""What a charger draws is what it gives, its losses, and no less than nothing: worked out by hand in one round."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.circuit.branches import currents, rows_of
from diagnose.circuit.conditions import STIFF, Modes, branches_in, switched
from diagnose.circuit.coupling import couple
from diagnose.circuit.wiring import build_wiring
from diagnose.model.states import OPERATING_STATES
from tests.circuit.vehicles import full_vehicle, numbers_for


def modes(relays: int, running: bool, sun: bool) -> Modes:
    off, on = np.zeros((1, 1), bool), np.ones((1, 1), bool)
    relay, loads = np.zeros((relays, 1), bool), np.zeros((2, 1), bool)
    volts = np.full((1, 1), 20.0)
    return Modes(on & running, off, on & sun, off, volts, volts, relay, relay, loads)


@pytest.mark.parametrize("sun", [0.0, 100.0, 155.0, 156.0, 300.0])
def test_the_input_draws_what_the_sun_does_not_give_and_never_gives_anything_back(sun: float) -> None:
    """14 V times 10 A at 90 % efficiency are 155.56 W, and 1 W of its own: 156.56 W less what the panel gives."""
    wiring = build_wiring(full_vehicle(shares=True))
    numbers = numbers_for(wiring, 3)
    numbers["charger.efficiency"][:], numbers["charger.standing"][:] = 0.9, 1.0
    numbers["charger.rating"][:], numbers["charger.case"][:] = 30.0, 30.0
    rows = rows_of(wiring)
    on = switched([OPERATING_STATES["engine_and_sun"]], 1)
    branches = branches_in(wiring, numbers, on, modes(len(wiring.relays), True, True), rows)
    voltage = np.full((rows.panel.stop, 1), 12.0)
    branches.zero[rows.output] = 14.0 + 10.0 / branches.slope[rows.output]
    voltage[rows.output] = 14.0
    # a panel held at v volts gives (v - zero) times a stiff slope: choose v so that v * amps is the sun's power
    zero = float(branches.zero[rows.track][0, 0])
    voltage[rows.track] = 0.5 * (zero + np.sqrt(zero**2 + 4.0 * sun / STIFF))
    couple(branches, rows, voltage)
    needed = 14.0 * 10.0 / 0.9 + 1.0
    first = rows.load.start
    assert branches.power[rows.input.start - first, 0] == pytest.approx(max(needed - sun, 0.0), abs=1e-9)
    assert branches.power[rows.solar.start - first, 0] == 0.0
    assert branches.low[rows.output][0, 0] == pytest.approx(-30.0)


def test_a_charger_that_does_not_run_gives_and_takes_nothing() -> None:
    wiring = build_wiring(full_vehicle())
    numbers, rows = numbers_for(wiring, 3), rows_of(wiring)
    on = switched([OPERATING_STATES["engine_running"]], 1)
    branches = branches_in(wiring, numbers, on, modes(len(wiring.relays), False, False), rows)
    voltage = np.full((rows.panel.stop, 1), 12.0)
    couple(branches, rows, voltage)
    current, slope = currents(branches, voltage, rows)
    for port in (rows.output, rows.input, rows.solar):
        assert current[port].tolist() == slope[port].tolist() == [[0.0]]
