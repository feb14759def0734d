"""The bank of Gaussians against sampling of a small continuous problem whose every density is known.

Source: own sampling, which shares the model and no code with the bank. Given a vehicle's current and the size of its
fault the source is normal and the charge even, so both are integrated exactly and only current and size are sampled:
sampling them too would leave some cases with no sample near the readings.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from scipy.special import ndtr

from diagnose.inference import bank as bank_module
from diagnose.inference.bank import MISTAKEN, build_bank, fit
from diagnose.inference.evidence import Evidence
from diagnose.prediction.streams import Streams

PRIOR = np.array([0.4, 0.3, 0.3])
SAMPLES, CASES = 200_000, 24
#: vehicles of the engine, with strata of size; and so many, in more strata, that only the form of the bank is judged
ENGINE, MANY = (96, 4), (3000, 8)
WIDTH = 16.0
NOISE = np.array([0.02, 0.02, 0.01])


@pytest.fixture(autouse=True)
def no_number_is_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """The oracle knows good and mistaken numbers only; those that are off are checked where subsets are enumerated."""
    monkeypatch.setattr(bank_module, "OFF", 0.0)


def readings(hypothesis: int, streams: Streams) -> tuple[np.ndarray, np.ndarray]:
    """Return what three tests read on vehicles of one hypothesis (m, 3), and the size of its fault.

    Source and charge are normal or even and shared by all; hypothesis 1 adds a joint of 3 to 300 milliohm in the feed,
    hypothesis 2 takes the source down by up to a volt.
    """
    source, charge = 14.2 + 0.15 * streams.normal("source"), streams.even("charge", -0.3, 0.3)
    current = 20.0 * (1.0 + 0.1 * streams.normal("current"))
    size = np.exp(streams.even("size", np.log(0.003), np.log(0.3))) if hypothesis == 1 else streams.even("size", 0, 1)
    joint = size if hypothesis == 1 else 0.0
    sag = size if hypothesis == 2 else 0.0
    drop = current * (0.004 + joint)
    return np.stack([source - sag, source - sag - drop, 12.5 + charge - 0.3 * sag], axis=1), size


def bank_posterior(read: np.ndarray, vehicles: int, strata: int) -> np.ndarray:
    streams = Streams(3, vehicles)
    made = [readings(h, streams) for h in range(3)]
    predicted = np.stack([m[0] for m in made])
    rank = np.argsort(np.argsort(np.stack([m[1] for m in made]), axis=1), axis=1)
    stratum = np.where(np.arange(3)[:, None] > 0, rank * strata // vehicles, 0)
    evidence = Evidence(
        (0, 1, 2), read, predicted, np.broadcast_to(NOISE, predicted.shape), np.full(3, WIDTH), (),
        np.ones((3, vehicles, 0)), np.zeros((3, vehicles)),
    )  # fmt: skip
    log = fit(evidence, build_bank(evidence, stratum)).log_likelihood
    like = PRIOR * np.exp(log - log.max())
    return np.asarray(like / like.sum())


def normal(away: np.ndarray, variance: float) -> np.ndarray:
    return np.asarray(np.exp(-0.5 * away**2 / variance) / np.sqrt(2.0 * np.pi * variance))


@cache
def sampled(hypothesis: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Return drop [V] and sag [V] of many vehicles of one hypothesis."""
    streams = Streams(seed, SAMPLES)
    joint = np.exp(streams.even("size", np.log(0.003), np.log(0.3))) if hypothesis == 1 else np.zeros(SAMPLES)
    sag = streams.even("size", 0, 1) if hypothesis == 2 else np.zeros(SAMPLES)
    return 20.0 * (1.0 + 0.1 * streams.normal("current")) * (0.004 + joint), sag


def sampled_posterior(read: np.ndarray, seed: int = 17) -> np.ndarray:
    """Each reading is true or, seldom and whatever the others are, anywhere."""
    like = []
    for hypothesis in range(3):
        drop, sag = sampled(hypothesis, seed)
        first, second = read[0] - (14.2 - sag), read[1] - (14.2 - sag - drop)
        one, two = (normal(away, 0.15**2 + noise**2) for away, noise in ((first, NOISE[0]), (second, NOISE[1])))
        tied = 0.15**2 / (0.15**2 + NOISE[0] ** 2)
        both = one * normal(second - tied * first, 0.15**2 * (1.0 - tied) + NOISE[1] ** 2)
        away = read[2] - 12.5 + 0.3 * sag
        third = (ndtr((away + 0.3) / NOISE[2]) - ndtr((away - 0.3) / NOISE[2])) / 0.6
        true, stray = 1.0 - MISTAKEN, MISTAKEN / WIDTH
        feed = true**2 * both + true * stray * (one + two) + stray**2
        like.append(float((feed * (true * third + stray)).mean()))
    share = PRIOR * np.array(like)
    return np.asarray(share / share.sum())


def cases() -> list[np.ndarray]:
    """Return readings of vehicles of all three hypotheses, one in eight misread."""
    chance, found = np.random.default_rng(29), []
    for case in range(CASES):
        read = readings(case % 3, Streams(1000 + case, 1))[0][0] + NOISE * chance.normal(size=3)
        if case % 8 == 7:
            read[case % 3] += 3.0
        found.append(read)
    return found


def apart(one: np.ndarray, other: np.ndarray) -> float:
    """Return the total variation between two beliefs."""
    return float(0.5 * np.abs(one - other).sum())


def test_the_oracle_is_sure_of_itself() -> None:
    assert max(apart(sampled_posterior(read, 17), sampled_posterior(read, 18)) for read in cases()[::4]) < 0.002


def test_posterior_is_that_of_sampling() -> None:
    """Total variation below 0.02 on the mean where there are vehicles enough."""
    # Source: own sampling of a problem whose densities are known
    found = [apart(bank_posterior(read, *MANY), sampled_posterior(read)) for read in cases()]
    assert np.mean(found) < 0.02
    assert max(found) < 0.15


def test_as_few_vehicles_as_the_engine_draws_cost_little() -> None:
    # Source: own sampling of a problem whose densities are known
    found = [apart(bank_posterior(read, *ENGINE), sampled_posterior(read)) for read in cases()]
    assert np.mean(found) < 0.03
    assert max(found) < 0.15
