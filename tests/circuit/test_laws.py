"""Laws that every solution must obey, whatever the wiring.

Kirchhoff, reciprocity, superposition, power balance, and what must not rise.

None of them needs a reference solution.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.circuit.branches import rows_of
from diagnose.circuit.elimination import Array
from diagnose.circuit.modes import Solution, solve_state
from diagnose.circuit.parameters import Parameters, columns, join
from diagnose.circuit.tangent import between, joined, tangent_at
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.states import OPERATING_STATES
from diagnose.store.installations import layout_ids
from tests.circuit.random_faults import FaultyVehicle, faulty_vehicle
from tests.circuit.test_random_networks import built, networks
from tests.circuit.vehicles import full_vehicle, installation, numbers_for

STATES = tuple(OPERATING_STATES)
EPSILON = np.finfo(float).eps


def _edge_currents(wiring: Wiring, solution: Solution, volts: Array, contacts: Array) -> Array:
    """Return the current of every edge; `contacts` tells which relay contacts are closed in this condition."""
    resistance = solution.resistance.copy()
    for k, relay in enumerate(wiring.relays):
        resistance[relay.edge] = np.where(contacts[k], resistance[relay.edge], np.inf)
    return (volts[wiring.edge_a] - volts[wiring.edge_b]) / resistance


def _kirchhoff(wiring: Wiring, solution: Solution, volts: Array, current: Array, contacts: Array) -> Array:
    """Return each node's residual as a share of what it may be at most.

    That is 1e-9 of the currents summed there, plus a floor: a voltage of 14 V is stored to 2e-15 V, and across a
    joint of 0.1 milliohm that rounding alone is 2e-11 A, however well the circuit is solved; plus 1e-9 A, the
    tolerance of devices.
    """
    edges = _edge_currents(wiring, solution, volts, contacts)
    rounding = 4 * EPSILON * np.maximum(abs(volts[wiring.edge_a]), abs(volts[wiring.edge_b])) / solution.resistance
    total, summed, floor = np.zeros_like(volts), np.zeros_like(volts), np.full_like(volts, 1e-9)
    pairs = [(wiring.edge_a[k], wiring.edge_b[k], edges[k], rounding[k]) for k in range(len(wiring.edges))]
    pairs += [(a, b, current[k], 0.0 * current[k]) for k, (a, b) in enumerate(wiring.branch_nodes.tolist())]
    for a, b, amps, least in pairs:
        for node, sign in ((a, -1.0), (b, 1.0)):
            total[node] += sign * amps
            summed[node] += abs(amps)
            floor[node] += least
    return abs(total) / (1e-9 * summed + floor)


def _worst_residual(wiring: Wiring, solution: Solution) -> float:
    modes = solution.modes
    high = _kirchhoff(wiring, solution, solution.voltage, solution.current, modes.closed & ~modes.chatter)
    low = _kirchhoff(wiring, solution, solution.low_voltage, solution.low_current, modes.closed)
    return float(max(high.max(), low.max()))


def _some(layout: str, count: int) -> list[FaultyVehicle]:
    return [faulty_vehicle(layout, 31_000 + k, k % 3) for k in range(count)]


@pytest.mark.parametrize("layout", layout_ids())
def test_kirchhoff_at_every_node(layout: str) -> None:
    for one in _some(layout, 2):
        for state in STATES:
            solution = solve_state(one.wiring, one.parameters, state)
            assert solution.settled.all(), (state, one.faults)
            assert _worst_residual(one.wiring, solution) <= 1.0, (state, one.faults)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(networks(("alternator", "load", "diode")))
def test_kirchhoff_on_random_networks(network: object) -> None:
    wiring, numbers = built(network)  # type: ignore[arg-type]
    solution = solve_state(wiring, numbers, "engine_running_loaded")
    assert solution.settled.all()
    assert _worst_residual(wiring, solution) <= 1.0


@settings(max_examples=40, deadline=None, derandomize=True)
@given(networks(()), st.integers(0, 10_000))
def test_reciprocity(network: object, seed: int) -> None:
    """A current from a to b makes the same volts between c and d as one from c to d makes between a and b."""
    wiring, numbers = built(network)  # type: ignore[arg-type]
    random = np.random.default_rng(seed)
    a, b, c, d = random.integers(len(wiring.nodes), size=4)
    tangent = tangent_at(wiring, solve_state(wiring, numbers, "isolated"))
    if not all(joined(tangent, int(a), int(x)).all() for x in (b, c, d)):
        return
    # the four-point resistance from six two-point ones, with the two pairs exchanged
    two = {(x, y): between(tangent, int(x), int(y))[0] for x in (a, b, c, d) for y in (a, b, c, d)}
    there = (two[a, d] + two[b, c] - two[a, c] - two[b, d]) / 2
    back = (two[d, a] + two[c, b] - two[c, a] - two[d, b]) / 2
    assert there == pytest.approx(back, rel=1e-9, abs=1e-9 * max(1e-3, *two.values()))


def test_reciprocity_of_sources() -> None:
    """Moving one battery's voltage by 1 V moves the other's current as much as the other way round."""
    wiring, numbers = _linear_pair()
    rows = rows_of(wiring)

    def into(rest: list[float]) -> Array:
        changed = dict(numbers) | {"battery.rest": np.array(rest).reshape(-1, 1)}
        current = solve_state(wiring, changed, "at_rest").current
        return (current[rows.give] + current[rows.take])[:, 0]

    still = into([12.0, 12.5])
    assert (into([13.0, 12.5]) - still)[1] == pytest.approx((into([12.0, 13.5]) - still)[0], rel=1e-9)


def _linear_pair() -> tuple[Wiring, Parameters]:
    """Return two batteries that take as they give, with joints and a load between: a linear circuit."""
    parts: dict[str, dict[str, object]] = {
        f"battery{k}": {"kind": "battery", "pos": f"p{k}", "neg": f"n{k}", "chemistry": "agm", "capacity": "80 Ah"}
        for k in (0, 1)
    }
    parts |= {
        "link": {"kind": "bond", "ends": ["p0", "p1"]},
        "back": {"kind": "bond", "ends": ["n0", "n1"]},
        "lamp": {"kind": "load", "pos": "p1", "neg": "n0", "resistance": "3 ohm", "always_on": True},
    }
    wiring = build_wiring(installation(parts))
    numbers = numbers_for(wiring, 4)
    numbers["battery.take"] = numbers["battery.give"].copy()
    return wiring, numbers


@given(st.lists(st.floats(-20.0, 20.0), min_size=4, max_size=4))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_superposition(rests: list[float]) -> None:
    """The voltages of two sources together are the sums of those of each alone, the other at zero volts."""
    wiring, numbers = _linear_pair()
    first, second = (np.array(rests[k : k + 2]).reshape(-1, 1) for k in (0, 2))
    sets = [dict(numbers) | {"battery.rest": rest} for rest in (first, second, first + second, 2.5 * first)]
    volts = solve_state(wiring, join(sets), "at_rest").voltage
    assert np.allclose(volts[:, 0] + volts[:, 1], volts[:, 2], rtol=0, atol=1e-10)
    assert np.allclose(2.5 * volts[:, 0], volts[:, 3], rtol=0, atol=1e-10)


@pytest.mark.parametrize("layout", layout_ids())
def test_power_balance(layout: str) -> None:
    """What the sources give is what turns to heat, is drawn by loads, is lost in chargers and is stored.

    The chargers' loss is known apart from the circuit: input power less output power is what the efficiency says, plus
    the standing power.
    """
    for one in _some(layout, 2):
        for state in STATES:
            solution = solve_state(one.wiring, one.parameters, state)
            modes = solution.modes
            volts, current = solution.low_voltage, solution.low_current
            edges = _edge_currents(one.wiring, solution, volts, modes.closed)
            across = volts[one.wiring.edge_a] - volts[one.wiring.edge_b]
            ends = one.wiring.branch_nodes
            device = (volts[ends[:, 0]] - volts[ends[:, 1]]) * current
            heat = float((across * edges).sum())
            assert heat >= -1e-9
            assert heat + device.sum() == pytest.approx(0.0, abs=1e-7 * (1.0 + abs(device).sum())), (state, one.faults)
            _charger_loss(one, solution, device, state)


def _charger_loss(one: FaultyVehicle, solution: Solution, device: Array, state: str) -> None:
    rows, modes, p = rows_of(one.wiring), solution.modes, one.parameters
    given = -device[rows.output]
    taken = device[rows.hold] + device[rows.track] + device[rows.input] + device[rows.solar]
    runs = modes.on | modes.held | modes.sun
    wanted = given / p["charger.efficiency"] + p["charger.standing"]
    if runs.any():
        # at the floor of its input and where a panel gives less than the charger itself needs, the law is another
        ample = runs & (taken >= p["charger.standing"]) & _above_floor(one, solution)
        spare = modes.held | (modes.sun & ~modes.backed)
        assert np.allclose(np.where(ample & ~spare, taken - wanted, 0.0), 0.0, atol=1e-6), (state, one.faults)
        assert (np.where(ample, taken - wanted, 0.0) >= -1e-6).all(), (state, one.faults)


def _above_floor(one: FaultyVehicle, solution: Solution) -> Array:
    """Return where the input, if it draws by power at all, is above its floor voltage; so is the panel."""
    p, volts = one.parameters, solution.low_voltage
    rows = [volts[c.input] - volts[c.negative] for c in one.wiring.chargers]
    floor = np.minimum(p["charger.stop"], p["charger.stop_ignition"])
    above = np.array(rows).reshape(floor.shape) >= floor
    suns = np.array([volts[c.solar] - volts[c.negative] for c in one.wiring.chargers]).reshape(floor.shape)
    bright = suns >= np.maximum(p["charger.tracking"] * solution.modes.panel_open, 1.0)
    return (above | ~solution.modes.on) & (bright | ~solution.modes.backed)


def _with_resistance(layout_wiring: Wiring, numbers: Parameters, part: str, added: list[float]) -> Parameters:
    """Return the numbers once for each resistance added to a part's body."""
    edge = next(k for k, e in enumerate(layout_wiring.edges) if e.part == part and e.at is None)
    sets = []
    for ohms in added:
        more = columns(numbers, slice(None))
        more["resistance"][edge] += ohms
        sets.append(more)
    return join(sets)


#: up to the largest size that the rule base gives a bad joint; what lies beyond is in `test_never_crashes`
ADDED = [0.0, 1e-3, 3e-3, 1e-2, 2e-2, 5e-2, 0.1, 0.3, 1.0, 3.0]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("part", ["tray_strap", "charger_return", "engine_strap", "input_cable", "input_fuse"])
@pytest.mark.parametrize("state", ["engine_running", "key_on", "engine_idle", "at_rest"])
def test_more_resistance_never_raises_the_input(state: str, part: str, seed: int) -> None:
    """Not the volts from the charger's input to its negative, neither unloaded nor loaded, while it does the same."""
    wiring = build_wiring(full_vehicle())
    solution = solve_state(wiring, _with_resistance(wiring, numbers_for(wiring, seed), part, ADDED), state)
    assert solution.settled.all()
    charger = wiring.chargers[0]
    for volts in (solution.voltage, solution.low_voltage):
        port = volts[charger.input] - volts[charger.negative]
        same = [
            all((m[:, k] == m[:, k + 1]).all() for m in (solution.modes.on, solution.modes.held, solution.modes.closed))
            for k in range(len(ADDED) - 1)
        ]
        assert (np.diff(port)[same] <= 1e-9).all()
    states = (solution.modes.on * 2 + solution.modes.held * 1)[0]
    assert (np.diff(states) <= 0).all(), "a charger that hunts, or does not start, starts again with more resistance"


@pytest.mark.parametrize("seed", range(4))
def test_a_higher_alternator_never_lowers_a_voltage_at_its_own_post(seed: int) -> None:
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, seed)
    sets = [dict(numbers) | {"alternator.voltage": np.array([[v]])} for v in np.linspace(12.0, 15.0, 16)]
    solution = solve_state(wiring, join(sets), "engine_running")
    device = wiring.devices["alternator"][0]
    for same in (solution.modes.on[0], ~solution.modes.on[0]):
        volts = (solution.voltage[device.pos] - solution.voltage[device.neg])[same & ~solution.modes.held[0]]
        assert (np.diff(volts) >= -1e-9).all()


@pytest.mark.parametrize("seed", range(4))
def test_more_resistance_between_two_places_never_reads_less(seed: int) -> None:
    """Rayleigh's monotonicity law: adding resistance anywhere never lowers the resistance between two nodes."""
    wiring = build_wiring(full_vehicle())
    numbers = numbers_for(wiring, seed)
    random = np.random.default_rng(seed)
    for part in ("tray_strap", "input_cable", "house_return", "panel_plus", "monitor"):
        solution = solve_state(wiring, _with_resistance(wiring, numbers, part, [*ADDED, np.inf]), "isolated")
        tangent = tangent_at(wiring, solution)
        for _ in range(6):
            a, b = random.choice(len(wiring.nodes), 2, replace=False)
            ohms = between(tangent, int(a), int(b))
            assert (ohms[1:] >= ohms[:-1] * (1 - 1e-12)).all()


def test_variants_do_not_touch_each_other() -> None:
    """One column solved alone is what it is among others."""
    wiring = build_wiring(full_vehicle(shares=True))
    several = join([numbers_for(wiring, seed) for seed in range(8)])
    for state in STATES:
        together = solve_state(wiring, several, state)
        for k in range(8):
            alone = solve_state(wiring, columns(several, slice(k, k + 1)), state)
            assert np.allclose(alone.low_voltage[:, 0], together.low_voltage[:, k], rtol=0, atol=1e-9)
            assert all(
                (one[:, 0] == all_[:, k]).all() for one, all_ in zip(alone.modes[:4], together.modes[:4], strict=True)
            )
