"""Published and worked diagnosis problems with every digit, put to the engine's own update and information."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from math import log10

import numpy as np
import pytest

from diagnose.inference.bank import build_bank, fit
from diagnose.inference.choice import information
from diagnose.inference.evidence import Evidence
from diagnose.inference.posterior import believe
from tests.inference.discrete import after_words, chance_of_words

#: evidence in decibels after so many bad ones in a row: A, B, C and the chances of A and C
DECIBELS = """\
0 -10.000005 9.999952 -59.999996 0.090909000000 0.000001000000
1 -6.989728 6.989558 -52.640017 0.166665759171 0.000005444976
5 5.016315 -5.062526 -27.129239 0.760431986813 0.001933017309
7 9.976278 -11.168405 -16.819809 0.908638474455 0.020374144729
10 2.238819 -22.109951 -2.352630 0.626096592117 0.367789183350
11 -2.429278 -27.498206 2.395986 0.363695097065 0.634529047968
16 -26.054965 -64.230521 26.054300 0.002474159433 0.997525463040
20 -44.965221 -95.171359 44.965180 0.000031876017 0.999968123679"""
JAYNES = np.array([1 / 11 * (1 - 1e-6), 10 / 11 * (1 - 1e-6), 1e-6])
BAD = np.array([1 / 3, 1 / 6, 99 / 100])


def decibels(posterior: np.ndarray) -> list[float]:
    """Return 10 log10 of the odds of each hypothesis, summing the others so that certainty keeps its digits."""
    others = [float(sum(p for j, p in enumerate(posterior) if j != i)) for i in range(len(posterior))]
    return [10.0 * log10(p / other) for p, other in zip(posterior.tolist(), others, strict=True)]


@pytest.mark.parametrize("line", DECIBELS.splitlines(), ids=lambda line: line.split()[0])
def test_evidence_in_decibels(line: str) -> None:
    # Source: E. T. Jaynes, Probability Theory: The Logic of Science, chapter 4 (numbers of the example, computed)
    count, *expected = (float(each) for each in line.split())
    found = after_words(JAYNES, np.tile(BAD[:, None], (1, int(count)))).posterior
    assert [*decibels(found)] == pytest.approx(expected[:3], abs=1e-6)
    assert [found[0], found[2]] == pytest.approx(expected[3:], abs=1e-11)


def test_one_bad_and_one_good() -> None:
    # Source: E. T. Jaynes, Probability Theory: The Logic of Science, chapter 4 (computed)
    def weight(chance: np.ndarray) -> float:
        before, after = (after_words(JAYNES, each).posterior for each in (np.zeros((3, 0)), chance[:, None]))
        return float(10.0 * np.log10(after[0] / after[1] / (before[0] / before[1])))

    assert weight(BAD) == pytest.approx(3.010300, abs=1e-6)
    assert weight(1.0 - BAD) == pytest.approx(-0.969100, abs=1e-6)
    leads = [int(np.argmax(after_words(JAYNES, np.tile(BAD[:, None], (1, m))).posterior)) for m in range(21)]
    assert leads == [1] * 4 + [0] * 7 + [2] * 10


def moved(readings: int) -> Evidence:
    """Return numbers of which the first three are those of hypothesis 1 and the others fit none of them."""
    chance = np.random.default_rng(3)
    true = np.array([[14.0, 13.9, 12.6, 0.05, 13.8, 12.4], [14.0, 12.0, 12.6, 0.05, 11.9, 12.4],
                     [14.0, 13.9, 11.6, 2.05, 12.8, 12.4]])  # fmt: skip
    vehicles = true[:, None, :] + 0.05 * chance.normal(size=(1, 48, 6))
    read = np.array([14.02, 12.03, 12.55, 3.10, 7.20, 9.90])[:readings]
    count = len(read)
    shape = (3, 48, count)
    return Evidence(
        tuple(range(count)), read, vehicles[..., :count], np.full(shape, 0.02), np.full(count, 16.0), (),
        np.ones((3, 48, 0)), np.zeros(shape[:2]),
    )  # fmt: skip


def test_an_unlisted_cause_overtakes_a_leader_that_stops_fitting() -> None:
    # Source: E. T. Jaynes, Probability Theory: The Logic of Science, chapter 4 (an unlikely third hypothesis revives)
    prior = np.array([0.49, 0.245, 0.245])
    course = [believe(prior, moved(count), np.zeros((3, 48), dtype=np.intp)) for count in range(7)]
    assert [int(np.argmax(each.posterior)) for each in course[2:4]] == [1, 1]
    assert course[3].posterior[1] > 0.9 > 0.1 > course[3].unlisted
    assert course[6].unlisted > course[6].posterior.max()
    assert course[6].unlisted > course[5].unlisted > course[3].unlisted


#: the polybox: three multipliers feed two adders; what each reads where sound
PARTS = ("M1", "M2", "M3", "A1", "A2")
FAULTY = 0.01


def polybox() -> Iterator[tuple[frozenset[str], float, dict[str, np.ndarray]]]:
    """Yield sets of faulty parts with the chance of reading F = 10 and G = 12, and with chances of X, Y, Z beside it.

    A faulty part's output is even on 0 to 15. Everything is counted out.
    """
    for pattern in product((False, True), repeat=5):
        broken = frozenset(p for p, bad in zip(PARTS, pattern, strict=True) if bad)
        probe = {name: np.zeros(16) for name in "XYZ"}
        total = 0.0
        outputs = [range(16) if part in broken else (6,) for part in PARTS[:3]]
        for x, y, z in product(*outputs):
            chance = float(np.prod([1 / 16 if part in broken else 1.0 for part in PARTS[:3]]))
            for adder, value, read in (("A1", x + y, 10), ("A2", y + z, 12)):
                chance *= 1 / 16 if adder in broken else float(value == read)
            total += chance
            for name, value in zip("XYZ", (x, y, z), strict=True):
                probe[name][value] += chance
        yield broken, total, probe


def test_polybox() -> None:
    # Source: J. de Kleer, B. C. Williams, Diagnosing multiple faults (1987), the circuit; numbers computed
    sets, chances, probes = zip(*polybox(), strict=True)
    prior = np.array([FAULTY ** len(s) * (1 - FAULTY) ** (5 - len(s)) for s in sets])
    belief = after_words(prior / prior.sum(), np.array(chances)[:, None])
    assert chance_of_words(belief) == pytest.approx(0.0012098769, abs=1e-10)
    held = belief.posterior
    marginal = {part: float(held[[part in s for s in sets]].sum()) for part in PARTS}
    assert [marginal[p] for p in ("M1", "A1", "M2", "M3", "A2")] == pytest.approx(
        [0.502195, 0.502197, 0.001270, 0.000957, 0.000958], abs=1e-6
    )
    some = held[held > 0]
    assert -float(some @ np.log2(some)) == pytest.approx(1.071307, abs=1e-6)
    for name, bits in (("X", 1.033004), ("Y", 0.007763), ("Z", 0.004321)):
        table = np.array([p[name] / max(c, 1e-300) for p, c in zip(probes, chances, strict=True)])
        table[np.array(chances) == 0.0] = 1 / 16
        assert information(table, held) == pytest.approx(bits, abs=1e-6), name


def test_polybox_by_minimal_diagnoses() -> None:
    # Source: J. de Kleer, B. C. Williams, Diagnosing multiple faults (1987), from memory; numbers computed
    held = np.array([0.495, 0.495, 0.005, 0.005])
    entropy = -float(held @ np.log2(held))
    assert entropy == pytest.approx(1.0807931358959113, abs=1e-12)
    reads = {"X": (6, 4, 6, 6), "Y": (6, 6, 4, 4), "Z": (6, 6, 6, 8)}
    left = {}
    for name, values in reads.items():
        chances = np.array([[float(value == other) for other in sorted(set(values))] for value in values])
        left[name] = entropy - information(chances, held)
    assert left == pytest.approx({"X": 0.08086527185024958, "Y": 1.0, "Z": 1.0353784435621172}, abs=1e-12)


def test_two_tests_and_the_posterior_between_them() -> None:
    # Source: invented; exact, and the same by a library of Bayesian networks
    prior = np.array([0.5, 0.3, 0.15, 0.05])
    first, second = np.array([0.9, 0.2, 0.1, 0.05]), np.array([0.1, 0.85, 0.3, 0.05])
    belief = after_words(prior, first[:, None])
    assert chance_of_words(belief) == pytest.approx(0.5275, abs=1e-12)
    assert belief.posterior == pytest.approx([0.853081, 0.113744, 0.028436, 0.004739], abs=1e-6)
    assert information(np.stack([second, 1 - second], 1), belief.posterior) == pytest.approx(0.207181, abs=1e-6)


def test_the_bank_without_numbers_weighs_words_alone() -> None:
    evidence = moved(0)
    bank = build_bank(evidence, np.zeros((3, 48), dtype=np.intp))
    assert fit(evidence, bank).log_likelihood == pytest.approx(np.zeros(3), abs=1e-12)
