"""Vehicles that make the same circuit are solved once, and nothing else is taken for the same."""

from __future__ import annotations

import numpy as np

from diagnose.circuit.alike import likeness
from diagnose.circuit.modes import solve_states
from diagnose.circuit.parameters import Parameters, join
from diagnose.circuit.wiring import Wiring
from tests.circuit.random_faults import faulty_vehicle

STATES = ("at_rest", "engine_running_loaded", "cranking")


def with_ohms(numbers: Parameters, edge: int, ohms: float) -> Parameters:
    changed = {name: values.copy() for name, values in numbers.items()}
    changed["resistance"][edge] += ohms
    return changed


def edge_of(wiring: Wiring, part: str, at: str | None, role: str) -> int:
    return wiring.edge_index[(part, role, at)]


def test_either_end_of_a_cable_is_one_circuit_and_another_size_or_cable_is_not() -> None:
    one = faulty_vehicle("crew_cab_tray", 5, 0)
    near, far = (edge_of(one.wiring, "input_cable", at, "termination") for at in ("input_fuse_load", "charger_in"))
    other = edge_of(one.wiring, "output_cable", "charger_out", "termination")
    sets = [with_ohms(one.parameters, *change) for change in ((near, 0.05), (far, 0.05), (far, 0.0501), (other, 0.05))]
    numbers = likeness(one.wiring, join(sets))
    assert numbers[0] == numbers[1]
    assert len(set(numbers.tolist())) == 3


def test_blocks_solved_once_are_solved_as_if_alone() -> None:
    one = faulty_vehicle("motorhome_variable", 6, 0)
    edges = [k for k, e in enumerate(one.wiring.edges) if e.role in ("termination", "wire", "holder_contact", "bond")]
    sets = [with_ohms(one.parameters, edge, 0.3) for edge in edges]
    together = solve_states(one.wiring, join(sets), STATES, 1e-8, block=1)
    alone = solve_states(one.wiring, join(sets), STATES, 1e-8)
    for blocks, each in zip(together, alone, strict=True):
        for name in ("voltage", "current", "low_voltage", "low_current"):
            assert np.allclose(getattr(blocks, name), getattr(each, name), atol=1e-6, rtol=0)
        assert np.array_equal(blocks.settled, each.settled)
