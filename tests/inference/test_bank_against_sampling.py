"""The bank of Gaussians against plain sampling of a small continuous problem whose every density is known."""

from __future__ import annotations

import numpy as np

from diagnose.inference.bank import MISTAKEN, build_bank, fit
from diagnose.inference.evidence import Evidence
from diagnose.prediction.streams import Streams

PRIOR = np.array([0.4, 0.3, 0.3])
VEHICLES, SAMPLES, CASES = 96, 100_000, 24
WIDTH = 16.0
NOISE = np.array([0.02, 0.02, 0.01])


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


def bank_posterior(read: np.ndarray) -> np.ndarray:
    streams = Streams(3, VEHICLES)
    made = [readings(h, streams) for h in range(3)]
    predicted = np.stack([m[0] for m in made])
    rank = np.argsort(np.argsort(np.stack([m[1] for m in made]), axis=1), axis=1)
    strata = np.where(np.arange(3)[:, None] > 0, rank * 4 // VEHICLES, 0)
    evidence = Evidence(
        (0, 1, 2), read, predicted, np.broadcast_to(NOISE, predicted.shape), np.full(3, WIDTH), (),
        np.ones((3, VEHICLES, 0)), np.zeros((3, VEHICLES)),
    )  # fmt: skip
    log = fit(evidence, build_bank(evidence, strata)).log_likelihood
    like = PRIOR * np.exp(log - log.max())
    return np.asarray(like / like.sum())


def sampled_posterior(read: np.ndarray, samples: list[np.ndarray]) -> np.ndarray:
    """Given a vehicle the readings are independent, each normal or, seldom, anywhere: no Gaussian bank is needed."""
    like = np.array([
        (
            (1.0 - MISTAKEN) * np.exp(-0.5 * ((read - s) / NOISE) ** 2) / (NOISE * np.sqrt(2.0 * np.pi))
            + MISTAKEN / WIDTH
        ).prod(axis=1).mean()
        for s in samples
    ])  # fmt: skip
    return np.asarray(PRIOR * like / (PRIOR * like).sum())


def test_posterior_is_that_of_sampling() -> None:
    """Total variation below 0.05 on the mean over vehicles of all three hypotheses, one in eight misread."""
    samples = [readings(h, Streams(17, SAMPLES))[0] for h in range(3)]
    chance = np.random.default_rng(29)
    apart = []
    for case in range(CASES):
        truth = readings(case % 3, Streams(1000 + case, 1))[0][0]
        read = truth + NOISE * chance.normal(size=3)
        if case % 8 == 7:
            read[case % 3] += 3.0
        apart.append(0.5 * np.abs(bank_posterior(read) - sampled_posterior(read, samples)).sum())
    assert np.mean(apart) < 0.05
    assert max(apart) < 0.15
