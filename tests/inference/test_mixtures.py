"""What a number tells depends on how it is spread under each fault, and on nothing else; where its bins are cut."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.inference.mixtures import BINS, STEPS, _edges, number_information, parts_of

VEHICLES = 48


def bits(values: np.ndarray, noise: float) -> float:
    """Return the bits of a number (hypotheses, vehicles) about two equally likely faults."""
    even = np.full(values.shape, 1.0 / VEHICLES)
    none = np.zeros(values.shape)
    parts = parts_of(even, np.full(2, 0.5), none.astype(np.intp), np.arange(2))
    return number_information(parts, values, noise + none, none, float(values[0].mean()), float(values[0].std()))


@pytest.mark.parametrize("apart", [0.5, 2.0, 8.0])
def test_a_fault_that_mirrors_a_reading_tells_as_much_as_one_that_shifts_it(apart: float) -> None:
    """Seen by itself, the mirror image of an even spread is that spread: var(s + c) = var s + var c + 2 cov(s, c)."""
    away = 0.3 * np.linspace(-1.0, 1.0, VEHICLES)
    shifted, mirrored = 12.0 + apart + away, 12.0 + apart - away
    told = bits(np.stack([12.0 + away, shifted]), 0.05)
    assert told > 0.01
    assert bits(np.stack([12.0 + away, mirrored]), 0.05) == pytest.approx(told, rel=1e-9)


def test_what_sound_vehicles_differ_by_hides_a_fault_also_where_the_law_says_that_all_is_known() -> None:
    """A straight law may leave no spread where the vehicles it has moved still differ, the circuit being no straight
    one: the greater of the two spreads hides the fault.
    """
    away = 0.5 * np.linspace(-1.0, 1.0, VEHICLES)
    values, even, none = np.stack([12.0 + away, 12.1 + away]), np.full((2, VEHICLES), 1 / VEHICLES), np.zeros((2, 48))
    parts = parts_of(even, np.full(2, 0.5), none.astype(np.intp), np.arange(2))
    told = [number_information(parts, values, 0.02 + none, none, 12.0, spread) for spread in (0.0, away.std(), 2.0)]
    assert told[0] == pytest.approx(told[1], rel=1e-9)
    assert told[2] < told[0] < 0.1


@pytest.mark.parametrize("apart", [1000.0, -5000.0], ids=["in front", "behind"])
def test_edges_cut_the_belief_evenly_where_few_strata_hold_nearly_all_of_it(apart: float) -> None:
    heavy, light = 20, 400
    mean = np.concatenate([np.arange(heavy) * 10.0, apart + np.arange(light) * 10.0])
    share = np.concatenate([np.full(heavy, 0.99 / heavy), np.full(light, 0.01 / light)])
    edges = _edges(mean, np.ones(len(mean)), share)
    at = (mean[:, None] + STEPS).ravel()
    piece = np.repeat(share, len(STEPS)) / len(STEPS)
    held = np.bincount(np.searchsorted(edges, at), piece)
    # each bin holds its share of the whole, and no more than one point beside it
    assert held.max() <= 1.0 / BINS + piece.max() + 1e-9
    assert (np.diff(edges) > 0.0).all()


@pytest.mark.parametrize(("sound", "faulty"), [(0.01, 0.97), (0.2, 0.8), (0.5, 0.1)])
def test_a_number_called_unsteady_tells_what_that_word_tells(sound: float, faulty: float) -> None:
    # Source: capacity of a binary channel, worked out from entropies: h(mean) - mean of h
    def entropy(chance: float) -> float:
        return float(-chance * np.log2(chance) - (1.0 - chance) * np.log2(1.0 - chance))

    values = np.full((2, VEHICLES), 12.0)
    even = np.full(values.shape, 1.0 / VEHICLES)
    chance = np.array([sound, faulty])[:, None] + 0.0 * values
    for held in (0.5, 0.2):
        belief = np.array([1.0 - held, held])
        parts = parts_of(even, belief, np.zeros(values.shape, dtype=np.intp), np.arange(2))
        found = number_information(parts, values, 0.05 + 0.0 * values, chance, 12.0, 0.0)
        mean = (1.0 - held) * sound + held * faulty
        exact = entropy(mean) - (1.0 - held) * entropy(sound) - held * entropy(faulty)
        assert found == pytest.approx(exact, abs=1e-6)
