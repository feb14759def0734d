"""How much a test is expected to tell: worked examples with every digit, sums, and what must tell nothing."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.choice import by_place, information
from diagnose.inference.evidence import Evidence
from diagnose.inference.mixtures import number_information, parts_of
from diagnose.inference.updating import Updating

#: worked example of two tests (invented, solved exactly and agreed on by a network library): faults a, b, c and none
BELIEF = np.array([0.5, 0.3, 0.15, 0.05])
BAD = {"T1": np.array([0.9, 0.2, 0.1, 0.05]), "T2": np.array([0.1, 0.85, 0.3, 0.05])}
#: unit ladder of six resistors with 19 states (exact fractions): classes of equal reading, by the first voltage
LADDER_V1 = (5, 0, 65 / 8, 13, 0, 65 / 21, 130 / 21, 13 / 2, 39 / 7, 26 / 7, 13 / 3, 104 / 19, 26 / 5, 26 / 5, 26 / 5,
             39 / 8, 39 / 8, 91 / 18, 91 / 18)  # fmt: skip


def two_outcomes(bad: np.ndarray) -> np.ndarray:
    return np.stack([bad, 1.0 - bad], axis=1)


def entropy(belief: np.ndarray) -> float:
    held = belief[belief > 0]
    return float(-(held * np.log2(held)).sum())


def test_two_tests_tell_what_the_worked_example_says() -> None:
    assert entropy(BELIEF) == pytest.approx(1.647731, abs=1e-6)
    assert information(two_outcomes(BAD["T1"]), BELIEF) == pytest.approx(0.462071, abs=1e-6)
    assert information(two_outcomes(BAD["T2"]), BELIEF) == pytest.approx(0.372318, abs=1e-6)
    bad = float(BELIEF @ BAD["T1"])
    assert bad == pytest.approx(0.5275, abs=1e-12)
    after = BELIEF * BAD["T1"] / bad
    assert after == pytest.approx([0.853081, 0.113744, 0.028436, 0.004739], abs=1e-6)
    assert information(two_outcomes(BAD["T2"]), after) == pytest.approx(0.207181, abs=1e-6)


def test_an_exact_reading_tells_the_bits_of_its_classes() -> None:
    # 19 equally likely states of the ladder in 14 classes by the first voltage: 3.681881 bits
    values = np.array(LADDER_V1)
    classes = np.unique(values.round(9))
    assert len(classes) == 14
    chances = (np.abs(values[:, None] - classes) < 1e-9).astype(float)
    assert information(chances, np.full(19, 1 / 19)) == pytest.approx(3.681881, abs=1e-6)


@pytest.mark.parametrize("seed", range(20))
def test_information_is_what_entropy_loses_and_never_negative(seed: int) -> None:
    chance = np.random.default_rng(seed)
    belief = chance.dirichlet(np.ones(6))
    chances = chance.dirichlet(np.ones(4), size=6) * (chance.random((6, 4)) > 0.2) + 1e-12
    chances /= chances.sum(axis=1, keepdims=True)
    overall = belief @ chances
    after = sum(overall[k] * entropy(belief * chances[:, k] / overall[k]) for k in range(4))
    found = information(chances, belief)
    assert found == pytest.approx(entropy(belief) - after, abs=1e-9)
    assert -1e-12 <= found <= min(entropy(belief), 2.0) + 1e-12


def test_faults_of_one_place_need_not_be_told_apart() -> None:
    belief, places = np.array([0.4, 0.3, 0.2, 0.1]), np.array([0, 1, 1, 2])
    chances = np.array([[0.5, 0.5], [1.0, 0.0], [0.0, 1.0], [0.5, 0.5]])
    merged, held = by_place(chances, belief, places)
    assert held == pytest.approx([0.4, 0.5, 0.1])
    assert merged[1] == pytest.approx([0.6, 0.4])
    assert information(merged, held) < 0.02 < 0.4 < information(chances, belief)


VEHICLES = 36


def number_bits(shifts: list[float], belief: np.ndarray, noise: float, spread: float = 0.0) -> float:
    """Return the bits of a number that each fault shifts by so much on the same vehicles."""
    values = np.array(shifts)[:, None] + spread * np.linspace(-1.0, 1.0, VEHICLES)
    shape = values.shape
    even = np.full(shape, 1.0 / VEHICLES)
    parts = parts_of(even, belief, np.zeros(shape, dtype=np.intp), np.arange(len(shifts)))
    usual = values[0]
    return number_information(
        parts, values, np.full(shape, noise), np.zeros(shape), float(usual.mean()), float(usual.std())
    )


def test_a_number_that_no_fault_moves_tells_nothing() -> None:
    assert number_bits([12.0, 12.0, 12.0], np.array([0.4, 0.3, 0.3]), 0.02) == 0.0
    assert number_bits([12.0, 12.001, 12.0], np.array([0.4, 0.3, 0.3]), 0.02) == 0.0


def test_a_number_far_apart_tells_which_fault_it_is() -> None:
    belief = np.array([0.4, 0.3, 0.3])
    most = entropy(belief)
    found = number_bits([12.0, 8.0, 4.0], belief, 0.02)
    assert 0.8 * most < found <= most
    assert number_bits([12.0, 8.0, 8.0], belief, 0.02) < entropy(np.array([0.4, 0.6])) + 1e-9


@pytest.mark.parametrize("apart", [0.5, 1.0, 2.0, 4.0])
def test_a_number_tells_what_integration_says(apart: float) -> None:
    """Two faults and nothing wrong, `apart` noises from each other; the slips of the model cost a few hundredths."""
    belief, noise = np.array([0.5, 0.25, 0.25]), 0.05
    means = 12.0 + apart * noise * np.arange(3)
    at = np.linspace(means[0] - 8 * noise, means[2] + 8 * noise, 4001)
    density = np.exp(-0.5 * ((at[:, None] - means) / noise) ** 2) / (noise * np.sqrt(2.0 * np.pi))
    overall = density @ belief
    with np.errstate(divide="ignore", invalid="ignore"):
        gain = np.where(density > 0, density * np.log2(density / overall[:, None]), 0.0)
    exact = float(np.trapezoid(gain @ belief, at))
    assert number_bits(list(means), belief, noise) == pytest.approx(exact, abs=0.06 + 0.05 * exact)


def test_what_is_shared_by_all_vehicles_hides_a_small_shift() -> None:
    belief = np.array([0.5, 0.5])
    plain, hidden = number_bits([12.0, 12.2], belief, 0.02), number_bits([12.0, 12.2], belief, 0.02, spread=0.5)
    assert hidden < 0.2 * plain


def test_a_reading_that_is_known_already_tells_nothing_more() -> None:
    """After one reading of a shared source the next of the same source is predicted to within its noise."""
    source = 14.0 + 0.3 * np.linspace(-1.0, 1.0, VEHICLES)
    predicted = np.stack([source, source - 0.2])[:, :, None]
    noise = np.full(predicted.shape, 0.01)
    evidence = Evidence((0,), np.array([14.1]), predicted, noise, np.array([16.0]), (), np.ones((2, VEHICLES, 0)),
                        np.zeros((2, VEHICLES)))  # fmt: skip
    updating = Updating(evidence, np.zeros((2, 1)), np.array([0, 1]), VEHICLES, [0], source[None])
    known = updating.known(source[None])
    moved = updating.moved(predicted[:, :, 0], known.cross[0])
    assert known.mean[0] == pytest.approx(14.1, abs=0.001)
    assert known.spread[0] == pytest.approx(0.01, rel=0.01)
    assert moved[0].std() < 0.05 < source.std()
    assert moved[0].mean() == pytest.approx(14.1, abs=0.03)
