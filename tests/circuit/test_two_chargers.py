"""Two chargers on one alternator lean on each other's input: every node still balances, both deliver, none is free."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.circuit.faults import apply_fault
from diagnose.circuit.modes import Solution, solve_state
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.fault import FaultAt
from tests.circuit.test_laws import _worst_residual
from tests.circuit.vehicles import installation, numbers_for


def _charger(number: int) -> dict[str, dict[str, object]]:
    """Return a charger with its battery, fed through one common input cable."""
    return {
        f"charger_{number}": {
            "kind": "charger", "input": "common", "output": f"out_{number}", "negative": "tray", "rating": "30 A",
            "profiles": [{"name": "agm", "voltage": "14.7 V"}], "profile": "agm",
        },
        f"output_{number}": {"kind": "cable", "ends": [f"out_{number}", f"pos_{number}"], "area": "6 mm2",
                             "length": "2 m"},
        f"house_{number}": {"kind": "battery", "pos": f"pos_{number}", "neg": "tray", "chemistry": "agm",
                            "capacity": "100 Ah"},
    }  # fmt: skip


def _solved(chargers: int) -> tuple[Wiring, Solution]:
    parts: dict[str, dict[str, object]] = {
        "start_battery": {"kind": "battery", "pos": "start_pos", "neg": "tray", "chemistry": "flooded",
                          "capacity": "75 Ah"},
        "alternator": {"kind": "alternator", "pos": "start_pos", "neg": "tray", "regulation": "fixed",
                       "voltage": "14.2 V", "rating": "110 A"},
        "feed": {"kind": "cable", "ends": ["start_pos", "common"], "area": "16 mm2", "length": "5 m"},
    }  # fmt: skip
    for number in range(chargers):
        parts |= _charger(number)
    wiring = build_wiring(installation(parts))
    numbers = numbers_for(wiring, 5, 4)
    return wiring, solve_state(wiring, numbers, "engine_running")


@pytest.mark.parametrize("chargers", [1, 2, 3])
def test_every_node_balances_and_every_charger_delivers(chargers: int) -> None:
    wiring, solution = _solved(chargers)
    assert solution.modes.on.shape == (chargers, 4)
    assert solution.modes.on.all()
    assert _worst_residual(wiring, solution) <= 1.0
    for number in range(chargers):
        a, b = wiring.index[f"out_{number}"], wiring.index[f"pos_{number}"]
        assert (solution.voltage[a] - solution.voltage[b] > 0.0).all(), "current flows from the charger to its battery"


def test_what_is_given_was_taken() -> None:
    # A charger gives less power than it takes: source, conservation of energy.
    wiring, solution = _solved(2)
    tray = solution.voltage[wiring.index["tray"]]
    given = np.zeros(4)
    for number in range(2):
        a, b = (wiring.index[f"{end}_{number}"] for end in ("out", "pos"))
        path = [k for k, edge in enumerate(wiring.edges) if edge.part == f"output_{number}"]
        resistance = solution.resistance[path].sum(axis=0)
        given += (solution.voltage[a] - solution.voltage[b]) / resistance * (solution.voltage[a] - tray)
    start, common = (wiring.index[name] for name in ("start_pos", "common"))
    path = [k for k, edge in enumerate(wiring.edges) if edge.part == "feed"]
    amps = (solution.voltage[start] - solution.voltage[common]) / solution.resistance[path].sum(axis=0)
    taken = amps * (solution.voltage[common] - tray)
    assert (given < taken).all()
    assert (given > 0.75 * taken).all()


@pytest.mark.parametrize("number", [0, 1, 2])
def test_a_dead_charger_stands_still_whichever_it_is_and_the_others_run(number: int) -> None:
    wiring, _ = _solved(3)
    numbers = numbers_for(wiring, 5, 4)
    apply_fault(wiring, numbers, FaultAt("dead", f"charger_{number}"), "dead", np.zeros(4), np.zeros(4))
    row = wiring.device_parts("charger").index(f"charger_{number}")
    assert numbers["charger.works"].tolist() == [[0.0 if k == row else 1.0] * 4 for k in range(3)]
    solution = solve_state(wiring, numbers, "engine_running")
    assert solution.modes.on.tolist() == [[k != row] * 4 for k in range(3)]
