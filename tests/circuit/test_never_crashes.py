"""Wiring that makes no sense or has no answer: solved, or the solver says that it is not, by physics alone."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.circuit.branches import rows_of
from diagnose.circuit.modes import Solution, solve_state
from diagnose.circuit.parameters import Parameters, columns, join
from diagnose.circuit.readout import amps, ohms, volts
from diagnose.circuit.tangent import tangent_at
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.states import OPERATING_STATES
from diagnose.store.installations import layout_ids
from tests.circuit.random_faults import faulty_vehicle
from tests.circuit.test_random_networks import built, networks
from tests.circuit.vehicles import full_vehicle, installation, numbers_for

STATES = tuple(OPERATING_STATES)


def _battery(pos: str, neg: str) -> dict[str, object]:
    return {"kind": "battery", "pos": pos, "neg": neg, "chemistry": "agm", "capacity": "100 Ah"}


def _bench(**parts: dict[str, object]) -> tuple[Wiring, Parameters]:
    wiring = build_wiring(installation(dict(parts)))
    return wiring, numbers_for(wiring, 7)


def _set(wiring: Wiring, numbers: Parameters, part: str, value: float) -> None:
    for k, edge in enumerate(wiring.edges):
        if edge.part == part and edge.role != "excess":
            numbers["resistance"][k] = value


def _reads(wiring: Wiring, solution: Solution, a: str, b: str) -> float:
    assert solution.settled.all()
    return float(volts(wiring, solution, tangent_at(wiring, solution), a, b, 1e7)[0][0])


def _edges_open(wiring: Wiring, numbers: Parameters, *parts: str) -> None:
    for part in parts:
        _set(wiring, numbers, part, np.inf)


def test_two_islands_have_nothing_to_do_with_each_other() -> None:
    wiring, numbers = _bench(first=_battery("a", "b"), second=_battery("c", "d"))
    solution = solve_state(wiring, numbers, "at_rest")
    assert _reads(wiring, solution, "a", "b") == pytest.approx(numbers["battery.rest"][0, 0], abs=1e-6)
    assert _reads(wiring, solution, "c", "d") == pytest.approx(numbers["battery.rest"][1, 0], abs=1e-6)
    assert _reads(wiring, solution, "a", "d") == 0.0
    assert np.isinf(ohms(wiring, tangent_at(wiring, solution), "a", "c")).all()


def test_floating_parts_carry_nothing() -> None:
    wiring, numbers = _bench(
        source=_battery("a", "b"),
        lamp={"kind": "load", "pos": "x", "neg": "y", "resistance": "3 ohm"},
        pump={"kind": "load", "pos": "y", "neg": "z", "power": "50 W"},
        charger={
            "kind": "charger", "input": "x", "output": "w", "negative": "z", "rating": "20 A",
            "profiles": [{"name": "one", "voltage": "14.4 V"}], "profile": "one",
        },
        starter={"kind": "starter", "pos": "u", "neg": "y", "current": "150 A"},
        check={"kind": "diode", "ends": ["w", "u"]},
    )  # fmt: skip
    for state in STATES:
        solution = solve_state(wiring, numbers, state)
        assert solution.settled.all()
        assert abs(solution.current).max() <= 1e-9
        assert not solution.modes.on.any()
        assert solution.modes.tripped.all() == (state in ("loaded", "engine_running_loaded"))


def test_a_load_with_a_broken_return_draws_nothing() -> None:
    """Its feed is at battery voltage, its own return is at that voltage too, and no current flows."""
    wiring, numbers = _bench(
        source=_battery("plus", "zero"),
        pump={"kind": "load", "pos": "plus", "neg": "back", "power": "50 W"},
        lamp={"kind": "load", "pos": "plus", "neg": "back", "resistance": "10 ohm"},
        back={"kind": "bond", "ends": ["back", "zero"]},
    )
    _edges_open(wiring, numbers, "back")
    solution = solve_state(wiring, numbers, "loaded")
    assert _reads(wiring, solution, "plus", "back") == pytest.approx(0.0, abs=1e-9)
    assert _reads(wiring, solution, "back", "zero") == pytest.approx(numbers["battery.rest"][0, 0], rel=2e-6)
    assert abs(solution.current).max() <= 1e-9


def test_a_pump_alone_behind_a_broken_return_gets_no_volts() -> None:
    """Nothing else joins its return to anything, so nothing but its own current can tell that there is no way back."""
    wiring, numbers = _bench(
        source=_battery("plus", "zero"), pump={"kind": "load", "pos": "plus", "neg": "back", "power": "50 W"}
    )
    solution = solve_state(wiring, numbers, "loaded")
    assert solution.settled.all()
    assert solution.modes.tripped.all()
    assert abs(solution.current).max() <= 1e-9


@pytest.mark.parametrize("join_ohms", [1e-9, 1e-12])
def test_zero_ohm_joins(join_ohms: float) -> None:
    """A loop of zero-ohm joins round a point shifts nothing, and no two of its nodes differ."""
    wiring, numbers = _bench(
        source=_battery("plus", "zero"),
        one={"kind": "bond", "ends": ["plus", "p"]},
        two={"kind": "bond", "ends": ["p", "q"]},
        three={"kind": "bond", "ends": ["q", "plus"]},
        lamp={"kind": "load", "pos": "q", "neg": "zero", "resistance": "2 ohm"},
    )
    for part in ("one", "two", "three"):
        _set(wiring, numbers, part, join_ohms)
    _set(wiring, numbers, "lamp", 2.0)
    solution = solve_state(wiring, numbers, "loaded")
    rest, give = numbers["battery.rest"][0, 0], numbers["battery.give"][0, 0]
    assert _reads(wiring, solution, "q", "zero") == pytest.approx(rest * 2.0 / (2.0 + give), abs=1e-6)
    assert _reads(wiring, solution, "plus", "q") == pytest.approx(0.0, abs=1e-7)


def test_reversed_battery_across_a_sound_one() -> None:
    wiring, numbers = _bench(
        sound=_battery("plus", "zero"),
        wrong=_battery("plus2", "zero"),
        link={"kind": "bond", "ends": ["plus", "plus2"]},
    )
    numbers["battery.sign"][1] = -1.0
    _set(wiring, numbers, "link", 0.01)
    solution = solve_state(wiring, numbers, "at_rest")
    volts_in_loop = numbers["battery.rest"].sum()
    current = volts_in_loop / (0.01 + numbers["battery.give"].sum())
    assert amps(wiring, solution, "sound")[0][0] == pytest.approx(-current, rel=1e-9)
    assert amps(wiring, solution, "wrong")[0][0] == pytest.approx(current, rel=1e-9)


def test_reversed_panel_gives_a_charger_nothing() -> None:
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, 1)
    numbers["panel.sign"] *= -1.0
    solution = solve_state(wiring, numbers, "sun_only")
    assert solution.settled.all()
    assert not solution.modes.sun.any()
    assert _reads(wiring, solution, "charger_sun", "charger_neg") < -15.0


def test_the_panel_of_a_broken_return_does_not_count_as_sun() -> None:
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, 1)
    assert solve_state(wiring, numbers, "sun_only").modes.sun.all()
    _edges_open(wiring, numbers, "panel_minus")
    solution = solve_state(wiring, numbers, "sun_only")
    assert not solution.modes.sun.any()
    assert _reads(wiring, solution, "charger_sun", "charger_neg") == pytest.approx(0.0, abs=1e-6)
    assert _reads(wiring, solution, "panel_pos", "panel_neg") > 15.0


def test_no_source_at_all() -> None:
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, 3)
    numbers["battery.on"] *= 0.0
    for state in STATES:
        if state in ("at_rest", "key_on", "loaded", "cranking", "isolated"):
            solution = solve_state(wiring, numbers, state)
            assert solution.settled.all()
            assert abs(solution.voltage).max() <= 1e-6
            assert abs(solution.current).max() <= 1e-9


def test_a_diode_lifts_no_dead_circuit() -> None:
    """With its relay open, the diode has nothing on either side: no ghost of a diode drop on either."""
    wiring = build_wiring(full_vehicle())
    solution = solve_state(wiring, numbers_for(wiring, 3), "at_rest")
    assert _reads(wiring, solution, "link_line", "chassis") == 0.0
    assert _reads(wiring, solution, "heater_pos", "chassis") == 0.0
    assert _reads(wiring, solution, "link_line", "heater_pos") == 0.0


def test_behind_a_diode_a_meter_reads_the_drop_less() -> None:
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, 3)
    numbers["relay.closes"][:] = 8.0
    solution = solve_state(wiring, numbers, "key_on")
    drop = numbers["diode.drop"][0, 0]
    assert _reads(wiring, solution, "link_line", "heater_pos") == pytest.approx(drop, abs=1e-6)
    assert _reads(wiring, solution, "heater_pos", "chassis") > 10.0


def test_sources_in_conflict() -> None:
    """Three sources of 14.4, 13.6 and 12 V at one point: the highest feeds the battery, the other gives nothing."""
    wiring, numbers = _bench(
        battery=_battery("p", "n"),
        alternator={"kind": "alternator", "pos": "p", "neg": "n", "regulation": "variable", "rating": "50 A"},
        shore={"kind": "supply", "pos": "p", "neg": "n", "voltage": "13.6 V", "rating": "20 A"},
    )
    numbers["battery.rest"][:], numbers["battery.take"][:] = 12.0, 0.5
    numbers["alternator.voltage"][:], numbers["alternator.resistance"][:] = 13.0, 0.01
    numbers["supply.voltage"][:], numbers["supply.resistance"][:] = 14.4, 0.01
    numbers["supply.limit"][:] = 20.0
    rows = rows_of(wiring)
    solution = solve_state(wiring, numbers, "mains_on")
    assert solution.current[rows.supply][0, 0] == pytest.approx(-2.4 / 0.51, rel=1e-9)
    assert solution.current[rows.alternator][0, 0] == 0.0


def test_a_load_beyond_the_source_cuts_out_and_says_so() -> None:
    wiring, numbers = _bench(source=_battery("p", "n"), pump={"kind": "load", "pos": "p", "neg": "n", "power": "50 W"})
    numbers["battery.rest"][:], numbers["battery.give"][:] = 12.6, 1.0
    numbers["power_load.power"][:], numbers["power_load.cut"][:] = 50.0, 10.5
    solution = solve_state(wiring, numbers, "loaded")
    assert solution.modes.tripped.all()
    assert _reads(wiring, solution, "p", "n") == pytest.approx(12.6, abs=1e-5)


def test_of_several_solutions_the_one_reached_from_rest() -> None:
    """12 W behind 2 ohm at 12.6 V: 10.2 V or 2.4 V, both above the cut-out; from rest it is 10.2 V."""
    wiring, numbers = _bench(source=_battery("p", "n"), pump={"kind": "load", "pos": "p", "neg": "n", "power": "12 W"})
    numbers["battery.rest"][:], numbers["battery.give"][:] = 12.6, 2.0
    numbers["power_load.power"][:], numbers["power_load.cut"][:] = 10.2 * 1.2, 1.0
    solution = solve_state(wiring, numbers, "loaded")
    assert _reads(wiring, solution, "p", "n") == pytest.approx(10.2, abs=1e-5)


def test_a_charger_starts_into_anything_unless_told_otherwise() -> None:
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, 2)
    _edges_open(wiring, numbers, "output_fuse")
    assert solve_state(wiring, numbers, "engine_running").modes.on.all()
    numbers["charger.needs"][:] = 8.0
    assert not solve_state(wiring, numbers, "engine_running").modes.on.any()


def test_an_unloaded_source_still_shows_its_voltage() -> None:
    """A charger with its output fuse blown, an alternator with its cable off: a meter reads what they hold."""
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, 2)
    _edges_open(wiring, numbers, "output_fuse", "alt_cable")
    running = solve_state(wiring, numbers, "engine_running")
    held = numbers["alternator.voltage"][0, 0]
    assert _reads(wiring, running, "alt_pos", "engine") == pytest.approx(held, abs=1e-5)
    numbers = numbers_for(wiring, 2)
    _edges_open(wiring, numbers, "output_fuse")
    running = solve_state(wiring, numbers, "engine_running")
    assert _reads(wiring, running, "charger_out", "charger_neg") == pytest.approx(
        numbers["charger.voltage"][0, 0], abs=1e-4
    )


@pytest.mark.parametrize("layout", layout_ids())
def test_three_faults_at_once_in_every_state(layout: str) -> None:
    """Nothing warns, all settles, every number is a number."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for k in range(3):
            one = faulty_vehicle(layout, 77_000 + k, 3)
            for state in STATES:
                solution = solve_state(one.wiring, one.parameters, state)
                assert solution.settled.all(), (state, one.faults)
                assert np.isfinite(solution.voltage).all(), (state, one.faults)
                assert np.isfinite(solution.low_current).all(), (state, one.faults)
                assert np.isfinite(tangent_at(one.wiring, solution).factors.inverse).all()


@pytest.mark.parametrize("part", ["charger_return", "tray_strap", "input_cable", "output_cable", "engine_strap"])
@pytest.mark.parametrize("state", ["engine_running", "engine_running_loaded", "sun_only", "cranking"])
def test_joints_far_worse_than_any_rule_has(state: str, part: str) -> None:
    """A charger's return of 5 ohm to 1 megohm: what is called settled has no more than a vehicle's voltages.

    Beyond some 8 ohm a charger may find no condition in which it runs; the solver then says that it has not settled.
    """
    wiring = build_wiring(full_vehicle())
    edge = next(k for k, e in enumerate(wiring.edges) if e.part == part and e.at is None)
    sets = []
    for seed in range(3):
        for added in np.geomspace(5.0, 1e6, 20):
            more = columns(numbers_for(wiring, seed), slice(None))
            more["resistance"][edge] += added
            sets.append(more)
    solution = solve_state(wiring, join(sets), state)
    charger = wiring.chargers[0]
    for at in (solution.voltage, solution.low_voltage):
        port = (at[charger.input] - at[charger.negative])[solution.settled]
        assert (abs(port) < 25.0).all()
    assert solution.settled.mean() > 0.8


@settings(max_examples=100, deadline=None, derandomize=True)
@given(networks(("alternator", "load", "diode")), st.sampled_from(STATES))
def test_random_networks_in_any_state(network: object, state: str) -> None:
    wiring, numbers = built(network)  # type: ignore[arg-type]
    solution = solve_state(wiring, numbers, state)
    tangent = tangent_at(wiring, solution)
    assert np.isfinite(solution.voltage).all()
    for b in wiring.nodes[:6]:
        assert (ohms(wiring, tangent, wiring.nodes[0], b) >= -1e-12).all()
        assert np.isfinite(volts(wiring, solution, tangent, wiring.nodes[0], b, 1e7)[0]).all()
