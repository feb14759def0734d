"""Worked circuits with every digit: the five of E12 and the ladder of O1.

Source: computed by exact fractions and symbolically, checked there against ngspice; the ladder's ratios are Fibonacci
numbers (textbook).
An open is a true open (infinite ohm) here and a short is a picoohm. The source's milliohm is taken from the
resistance in series with it,
which leaves every answer exact; only where that one is the short does the source keep 10 microohm and the answer 1e-4.
"""

from __future__ import annotations

import math
from collections import Counter
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest

from diagnose.circuit.branches import rows_of
from diagnose.circuit.modes import Solution, solve_state
from diagnose.circuit.parameters import Parameters, join
from diagnose.circuit.readout import volts
from diagnose.circuit.tangent import between, tangent_at
from diagnose.circuit.wiring import Wiring, build_wiring
from diagnose.model.installation import Installation
from tests.circuit.vehicles import installation, numbers_for

TINY = 1e-12
SOURCE = 1e-3


def _battery(pos: str, neg: str) -> dict[str, object]:
    return {"kind": "battery", "pos": pos, "neg": neg, "chemistry": "agm", "capacity": "100 Ah"}


def _joint(a: str, b: str) -> dict[str, object]:
    return {"kind": "bond", "ends": [a, b]}


def _numbers(wiring: Wiring, ohms: dict[str, float], **devices: list[float]) -> Parameters:
    """Return numbers with the resistances of one-edge parts and device figures (``battery__rest``) as given."""
    numbers = numbers_for(wiring, 0)
    for part, value in ohms.items():
        (row,) = [k for k, edge in enumerate(wiring.edges) if edge.part == part and edge.role != "excess"]
        numbers["resistance"][row] = value
    for name, values in devices.items():
        numbers[name.replace("__", ".")][:, 0] = values
    return numbers


def _at(wiring: Wiring, solution: Solution, node: str) -> float:
    return float(solution.voltage[wiring.index[node], 0])


def test_e12_a_a_chain_of_drops() -> None:
    wiring = build_wiring(
        installation(
            {
                "source": _battery("plus", "zero"),
                "to_p": _joint("plus", "p"),
                "to_f": _joint("p", "f"),
                "to_j": _joint("f", "j"),
                "motor": {"kind": "starter", "pos": "j", "neg": "g", "current": "10 A"},
                "back": _joint("g", "zero"),
            }
        )
    )
    ohms = {"to_p": 0.006 - SOURCE, "to_f": 0.004, "to_j": 0.5, "back": 0.01}
    numbers = _numbers(
        wiring, ohms, battery__rest=[12.6], battery__give=[SOURCE], starter__current=[10.0], starter__full_at=[1.0]
    )
    solution = solve_state(wiring, numbers, "cranking")
    found = [_at(wiring, solution, node) for node in ("p", "f", "j", "g")]
    assert found == pytest.approx([12.54, 12.50, 7.50, 0.10], abs=1e-10)


def _meter(wiring: Wiring, solution: Solution, a: str, b: str, ohms: float) -> float:
    return float(volts(wiring, solution, tangent_at(wiring, solution), a, b, ohms)[0][0])


def test_e12_b_a_bad_joint_shows_only_under_load() -> None:
    wiring = build_wiring(
        installation(
            {
                "source": _battery("plus", "zero"),
                "joint": _joint("plus", "far"),
                "lamp": {"kind": "load", "pos": "far", "neg": "zero", "resistance": "2.4 ohm"},
            }
        )
    )
    numbers = _numbers(wiring, {"joint": 2.0, "lamp": 2.4}, battery__rest=[12.6], battery__give=[0.01])
    at_rest = solve_state(wiring, numbers, "at_rest")
    assert _meter(wiring, at_rest, "far", "zero", 1e7) == pytest.approx(12.5999975, abs=5e-8)
    assert _meter(wiring, at_rest, "far", "zero", 1e7) == pytest.approx(12.6 * 1e7 / (1e7 + 2.01), rel=1e-9)
    assert _at(wiring, solve_state(wiring, numbers, "loaded"), "far") == pytest.approx(12.6 * 2.4 / 4.41, rel=1e-12)
    assert _at(wiring, solve_state(wiring, numbers, "loaded"), "far") == pytest.approx(6.857143, abs=5e-7)


@pytest.mark.parametrize(("ohms", "reads", "last"), [(1e7, 11.4545, 5e-5), (1e5, 1.14545, 5e-6), (6.9, 86.9e-6, 5e-8)])
def test_e12_c_a_ghost_on_a_broken_wire(ohms: float, reads: float, last: float) -> None:
    wiring = build_wiring(installation({"source": _battery("plus", "zero"), "leak": _joint("plus", "broken")}))
    numbers = _numbers(wiring, {"leak": 1e6}, battery__rest=[12.6], battery__give=[0.01])
    solution = solve_state(wiring, numbers, "at_rest")
    assert _meter(wiring, solution, "broken", "zero", ohms) == pytest.approx(reads, abs=last)
    assert _meter(wiring, solution, "broken", "zero", ohms) == pytest.approx(
        12.6 * ohms / (ohms + 1e6 + 0.01), rel=1e-9
    )


def _constant_power(ohms: float, watts: float, cut: float) -> tuple[float, float, bool]:
    """Return the volts at a constant-power load behind a resistance, its current, and whether it has cut out."""
    volts, current, tripped, settled = _power_solution(ohms, watts, cut)
    assert settled
    return volts, current, tripped


def _power_solution(ohms: float, watts: float, cut: float) -> tuple[float, float, bool, bool]:
    """Return the same, and whether the solver says that it has settled."""
    wiring = build_wiring(
        installation(
            {
                "source": _battery("plus", "zero"),
                "pump": {"kind": "load", "pos": "plus", "neg": "zero", "power": "300 W"},
            }
        )
    )
    numbers = _numbers(
        wiring, {}, battery__rest=[12.8], battery__give=[ohms], power_load__power=[watts], power_load__cut=[cut]
    )
    solution = solve_state(wiring, numbers, "loaded")
    current = float(solution.current[rows_of(wiring).load][0, 0])
    return _at(wiring, solution, "plus"), current, bool(solution.modes.tripped[0, 0]), bool(solution.settled[0])


def test_e12_d_constant_power_takes_the_root_reached_from_rest() -> None:
    """The false roots, 1.304904 and 5.0 V, lie above the cut-out voltage used here, so they would pass if taken."""
    assert _constant_power(0.05, 300.0, 1.0)[0] == pytest.approx(11.495096, abs=5e-7)
    assert _constant_power(0.13, 300.0, 1.0)[0] == pytest.approx(7.8, abs=1e-9)


def test_e12_d_no_solution_cuts_out() -> None:
    assert _constant_power(0.15, 300.0, 1.0) == (pytest.approx(12.8, abs=1e-12), 0.0, True)


@pytest.mark.parametrize(("ohms", "most"), [(0.05, 819.2), (0.13, 315.08), (0.15, 273.07)])
def test_e12_d_greatest_power(ohms: float, most: float) -> None:
    exact = 12.8**2 / (4 * ohms)
    assert exact == pytest.approx(most, abs=0.005)
    assert _constant_power(ohms, exact * (1 - 1e-6), 1.0)[::2] == (pytest.approx(6.4, abs=0.01), False)
    assert _constant_power(ohms, exact * (1 + 1e-2), 1.0)[1:] == (0.0, True)


@pytest.mark.parametrize("beyond", [1e-9, 1e-6, 1e-5, 1e-4, 3e-4, 1e-3])
def test_e12_d_just_beyond_the_greatest_power_is_never_called_solved(beyond: float) -> None:
    """Here Newton's method has next to nothing to hold on to: it cuts out, or the solver says that it has not
    settled.
    """
    for ohms in (0.05, 0.13, 0.15):
        _, current, tripped, settled = _power_solution(ohms, 12.8**2 / (4 * ohms) * (1 + beyond), 1.0)
        assert not settled or (tripped and current == 0.0)


def test_e12_e_two_batteries_and_an_alternator() -> None:
    wiring = build_wiring(
        installation(
            {
                "first": _battery("a", "zero"),
                "alternator": {
                    "kind": "alternator",
                    "pos": "a",
                    "neg": "zero",
                    "regulation": "variable",
                    "rating": "500 A",
                },
                "link": _joint("a", "b"),
                "second": _battery("b", "zero"),
                "heater": {"kind": "load", "pos": "b", "neg": "zero", "resistance": "1 ohm"},
            }
        )
    )
    numbers = _numbers(
        wiring, {"link": 0.003, "heater": 1.0}, battery__rest=[12.8, 11.9], battery__give=[0.005, 0.012],
        battery__take=[0.005, 0.012], alternator__voltage=[14.2], alternator__resistance=[0.01],
        alternator__limit=[500.0],
    )  # fmt: skip
    solution = solve_state(wiring, numbers, "engine_running_loaded")
    assert _at(wiring, solution, "a") == pytest.approx(12.990382, abs=5e-7)
    assert _at(wiring, solution, "b") == pytest.approx(12.741725, abs=5e-7)
    rows = rows_of(wiring)
    into = (solution.current[rows.give] + solution.current[rows.take])[:, 0]
    assert into == pytest.approx([38.076, 70.144], abs=5e-4)
    assert -solution.current[rows.alternator][0, 0] == pytest.approx(120.962, abs=5e-4)


#: fault -> V(n1), V(n2), V(n3), source current
LADDER = {
    "nominal": "5 2 1 8",
    "S1 open": "0 0 0 0",
    "P1 open": "65/8 13/4 13/8 39/8",
    "S1 short": "13 26/5 13/5 104/5",
    "P1 short": "0 0 0 13",
    "S1 x2": "65/21 26/21 13/21 104/21",
    "P1 x2": "130/21 52/21 26/21 143/21",
    "S2 open": "13/2 0 0 13/2",
    "P2 open": "39/7 26/7 13/7 52/7",
    "S2 short": "26/7 26/7 13/7 65/7",
    "P2 short": "13/3 0 0 26/3",
    "S2 x2": "104/19 26/19 13/19 143/19",
    "P2 x2": "26/5 13/5 13/10 39/5",
    "S3 open": "26/5 13/5 0 39/5",
    "P3 open": "26/5 13/5 13/5 39/5",
    "S3 short": "39/8 13/8 13/8 65/8",
    "P3 short": "39/8 13/8 0 65/8",
    "S3 x2": "91/18 13/6 13/18 143/18",
    "P3 x2": "91/18 13/6 13/9 143/18",
}
CHANGES = {"open": math.inf, "short": TINY, "x2": 2.0}
#: readings -> classes, bits known after reading
CLASSES = {
    "V1": (14, 3.681881),
    "V2": (11, 3.260828),
    "V3": (11, 3.115834),
    "I": (15, 3.787144),
    "V1 V2": (14, 3.681881),
    "V2 V3": (15, 3.721612),
    "V1 V3": (18, 4.142664),
    "V3 I": (19, 4.247928),
}


def _ladder() -> Installation:
    rungs = {"S1": ("top", "n1"), "S2": ("n1", "n2"), "S3": ("n2", "n3")}
    rungs |= {f"P{k}": (f"n{k}", "zero") for k in (1, 2, 3)}
    return installation(
        {"source": _battery("top", "zero")} | {name.lower(): _joint(*ends) for name, ends in rungs.items()}
    )


def _ladder_rows() -> dict[str, list[float]]:
    """Return, by fault, the three voltages and the source current, all faults solved in one batch."""
    wiring = build_wiring(_ladder())
    sets = []
    for fault in LADDER:
        ohms = {f"{kind}{k}": 1.0 for kind in "sp" for k in (1, 2, 3)}
        if fault != "nominal":
            part, change = fault.lower().split()
            ohms[part] = CHANGES[change]
        source = 1e-5 if fault == "S1 short" else SOURCE
        ohms["s1"] = max(ohms["s1"] - source, TINY)
        sets.append(_numbers(wiring, ohms, battery__rest=[13.0], battery__give=[source]))
    solution = solve_state(wiring, join(sets), "at_rest")
    assert solution.settled.all()
    given = -solution.current[rows_of(wiring).give][0]
    nodes = [solution.voltage[wiring.index[name]] for name in ("n1", "n2", "n3")]
    return {fault: [*(float(node[k]) for node in nodes), float(given[k])] for k, fault in enumerate(LADDER)}


@pytest.mark.parametrize("fault", LADDER)
def test_o1_ladder(fault: str) -> None:
    exact = [float(Fraction(text)) for text in LADDER[fault].split()]
    assert _ladder_rows()[fault] == pytest.approx(exact, rel=1e-4 if fault == "S1 short" else 1e-9, abs=1e-10)


def test_o1_ladder_with_a_leak_and_a_short_stand_in() -> None:
    """With 1e12 ohm for an open and 1e-9 ohm for a short the table holds to 1e-4, as it does for ngspice."""
    wiring = build_wiring(_ladder())
    for fault, stand_in in (("s2 open", 1e12), ("p2 short", 1e-9)):
        ohms = {f"{kind}{k}": 1.0 for kind in "sp" for k in (1, 2, 3)}
        ohms |= {"s1": 1.0 - SOURCE, fault.split()[0]: stand_in}
        solution = solve_state(wiring, _numbers(wiring, ohms, battery__rest=[13.0], battery__give=[SOURCE]), "at_rest")
        exact = [float(Fraction(text)) for text in LADDER[fault[0].upper() + fault[1:]].split()][:3]
        found = [_at(wiring, solution, node) for node in ("n1", "n2", "n3")]
        assert found == pytest.approx(exact, rel=1e-4, abs=1e-7)


@pytest.mark.parametrize("readings", CLASSES)
def test_o1_what_exact_readings_tell_apart(readings: str) -> None:
    columns = [("V1", "V2", "V3", "I").index(name) for name in readings.split()]
    seen = Counter(tuple(round(row[c], 3) + 0.0 for c in columns) for row in _ladder_rows().values())
    total = sum(seen.values())
    bits = sum(n / total * math.log2(total / n) for n in seen.values())
    assert (len(seen), bits) == (CLASSES[readings][0], pytest.approx(CLASSES[readings][1], abs=1e-6))
    assert np.isclose(math.log2(19), CLASSES["V3 I"][1], atol=1e-6)


RUNGS = ("S1", "S2", "S3", "P1", "P2", "P3")


def _sensitivities(seed: int) -> dict[str, np.ndarray]:
    """Return by reading how it moves for each ohm of the six resistances, at resistances drawn at random.

    A little more resistance in an edge that carries a current is as if that current times the change over the
    resistance were fed in at its first end and taken out at the other; what that does to a node is the resistance the
    tangent has between the two.
    """
    wiring, ohms = build_wiring(_ladder()), np.random.default_rng(seed).uniform(0.5, 2.0, 6)
    named = dict(zip((name.lower() for name in RUNGS), ohms.tolist(), strict=True))
    numbers = _numbers(wiring, named, battery__rest=[13.0], battery__give=[SOURCE])
    solution = solve_state(wiring, numbers, "at_rest")
    tangent, index = tangent_at(wiring, solution), wiring.index

    def fed(node: str, at: int) -> float:
        a, zero = index[node], index["zero"]
        to_zero = between(tangent, a, zero) + between(tangent, at, zero)
        return float(0.5 * (to_zero - between(tangent, a, at))[0])

    columns: dict[str, list[float]] = {}
    for name, value in named.items():
        (row,) = [k for k, edge in enumerate(wiring.edges) if edge.part == name and edge.role != "excess"]
        a, b = int(wiring.edge_a[row]), int(wiring.edge_b[row])
        current = float(solution.voltage[a, 0] - solution.voltage[b, 0]) / value
        moved = [current / value * (fed(node, a) - fed(node, b)) for node in ("n1", "n2", "n3", "top")]
        columns[name] = [*moved[:3], -moved[3] / SOURCE]
    table = np.array(list(columns.values())).T
    return dict(zip(("V1", "V2", "V3", "I"), table, strict=True))


def _rank(table: np.ndarray) -> int:
    scaled = table / np.abs(table).max(axis=1, keepdims=True)
    return int((np.linalg.svd(scaled, compute_uv=False) > 1e-8).sum())


def _inseparable(table: np.ndarray) -> set[str]:
    """Return the least groups of resistances whose small changes can undo each other in every reading."""
    found: list[frozenset[int]] = []
    for size in range(1, 7):
        for group in map(frozenset, combinations(range(6), size)):
            if not any(less <= group for less in found) and _rank(table[:, sorted(group)]) < size:
                found.append(group)
    return {" ".join(RUNGS[k] for k in sorted(group)) for group in found}


#: readings -> rank, and groups of resistances that they cannot tell apart where all may change a little
IDENTIFIABLE = {
    "V1": (1, None),
    "V1 V2": (2, None),
    "V1 V2 V3": (3, "S1 P1, S1 S2 P2, S2 P1 P2, S3 P2 P3, S1 S2 S3 P3, S2 S3 P1 P3"),
    "V1 V2 V3 I": (4, "S2 P1 P2, S3 P2 P3, S2 S3 P1 P3"),
}


@pytest.mark.parametrize("readings", IDENTIFIABLE)
def test_o1_what_small_changes_can_be_told_apart(readings: str) -> None:
    rank, groups = IDENTIFIABLE[readings]
    for seed in range(3):
        moved = _sensitivities(seed)
        table = np.stack([moved[name] for name in readings.split()])
        assert _rank(table) == rank
        if groups is not None:
            assert _inseparable(table) == set(groups.split(", "))


def test_o1_one_factor_on_every_resistance_moves_no_voltage() -> None:
    """So no size in ohm may be claimed from voltages alone."""
    for seed in range(3):
        moved, ohms = _sensitivities(seed), np.random.default_rng(seed).uniform(0.5, 2.0, 6)
        # The source's own milliohm, which the sensitivities leave out of the first resistance, takes part as well.
        for name in ("V1", "V2", "V3"):
            whole = float(moved[name] @ ohms + SOURCE * moved[name][0])
            assert whole == pytest.approx(0.0, abs=1e-9 * float(np.abs(moved[name] * ohms).sum()))
        assert float(moved["I"] @ ohms) < -0.1
