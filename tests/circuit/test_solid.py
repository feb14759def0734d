"""Where a voltmeter's own current is left out, it would not have shown."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.circuit.modes import solve_state
from diagnose.circuit.parameters import join
from diagnose.circuit.solid import solid_groups
from diagnose.circuit.tangent import meter_volts, tangent_at
from tests.circuit.random_faults import faulty_vehicle

METER = 10e6


@pytest.mark.parametrize("layout", ["crew_cab_tray", "boat_bus_bar", "motorhome_variable"])
@pytest.mark.parametrize("state", ["at_rest", "engine_running_loaded"])
def test_firmly_joined_nodes_lose_no_volts_to_the_meter(layout: str, state: str) -> None:
    seen = 0
    for seed in range(6):
        one = faulty_vehicle(layout, 400 + seed, 1)
        solution = solve_state(one.wiring, one.parameters, state)
        groups, tangent = solid_groups(one.wiring, solution, 1), tangent_at(one.wiring, solution)
        random = np.random.default_rng(seed)
        for _ in range(60):
            a, b = random.choice(len(one.wiring.nodes), 2, replace=False).tolist()
            if groups[a, 0] == groups[b, 0]:
                seen += 1
                assert meter_volts(tangent, a, b, np.ones(1), METER)[0] > 1.0 - 2e-5
    assert seen > 100


def test_a_block_is_firm_only_where_all_its_variants_are() -> None:
    one = faulty_vehicle("crew_cab_tray", 1, 0)
    broken = {name: values.copy() for name, values in one.parameters.items()}
    k = next(k for k, edge in enumerate(one.wiring.edges) if edge.part == "tray_strap")
    broken["resistance"][k] = np.inf
    a, b = int(one.wiring.edge_a[k]), int(one.wiring.edge_b[k])
    solution = solve_state(one.wiring, join([one.parameters, broken]), "at_rest")
    alone, together = solid_groups(one.wiring, solution, 1), solid_groups(one.wiring, solution, 2)
    assert alone[a, 0] == alone[b, 0]
    assert alone[a, 1] != alone[b, 1]
    assert together[a, 0] != together[b, 0]
