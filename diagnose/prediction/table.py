"""What every candidate test would read under every hypothesis, in one table that is filled as it is asked for.

The table serves the choice of tests, so the voltmeter's own current is left out and numbers are kept in single
precision. Solved conditions are dropped as soon as they have been read.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take
from diagnose.prediction.instruments import noise
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.sights import SOUND_WORD

__all__ = ["Moments", "PredictionTable"]

#: tests read as words keep a chance for each word instead of a number
Words = dict[str, Array]


class Moments(NamedTuple):
    """Mean of each test's number over the vehicles of a stratum, and of those without a fault the numbers themselves.

    `mean` (tests, hypotheses, strata), `sound` (tests, vehicles), `noise` (tests,), `which`, the tests' numbers.
    """

    mean: Array
    sound: Array
    noise: Array
    which: NDArray[np.intp]


class PredictionTable:
    """Predictions of a fixed list of tests; hypothesis 0 must be that nothing is wrong."""

    def __init__(self, predictor: Predictor, takes: Sequence[Take], strata: NDArray[np.intp]) -> None:
        """Prepare; nothing is solved before rows are asked for.

        Parameters: `takes`, of which those for eyes, nose and hands are left out; `strata` (hypotheses, vehicles) of
        fault sizes.
        """
        self.predictor = predictor
        self.takes = tuple(take for take in takes if take.quantity not in SOUND_WORD)
        self._at = {take: k for k, take in enumerate(self.takes)}
        shape = (len(self.takes), len(predictor.hypotheses), predictor.count)
        self._high, self._low, self._hunts = (np.zeros(shape, dtype=np.float32) for _ in range(3))
        self._words: dict[int, Words] = {}
        self._filled = np.zeros(shape[1], dtype=bool)
        self._strata = strata[:, : predictor.count]
        levels = int(self._strata.max()) + 1
        self._mean = np.zeros((*shape[:2], levels), dtype=np.float32)

    def fill(self, which: Sequence[int]) -> None:
        """Make sure that some hypotheses are in the table, nothing wrong among them."""
        missing = [n for n in sorted({0, *which}) if not self._filled[n]]
        if not missing:
            return
        for takes, found in self.predictor.predict_unkept(self.takes, missing):
            for take, one in zip(takes, found, strict=True):
                self._put(self._at[take], one, missing)
        self._filled[missing] = True
        self._sum_up(missing)

    def _put(self, k: int, one: Predicted, rows: list[int]) -> None:
        """Store one test's predictions; the low end and hunting only where anything hunts, so that memory stays free.
        """
        self._high[k, rows] = one.high
        if one.hunts.any():
            self._low[k, rows], self._hunts[k, rows] = one.low, one.hunts
        if one.words is not None:
            kept = self._words.setdefault(k, {})
            for word, chance in one.words.items():
                kept.setdefault(word, np.zeros(self._high.shape[1:], dtype=np.float32))[rows] = chance

    def _sum_up(self, rows: list[int]) -> None:
        """Store means by stratum of the rows."""
        strata = self._strata[rows]
        for level in range(self._mean.shape[2]):
            inside = (strata == level).astype(np.float32)
            count = np.maximum(inside.sum(axis=1), 1.0)
            total = np.einsum("thm,hm->th", self._high[:, rows], inside)
            empty = inside.sum(axis=1) == 0
            self._mean[:, rows, level] = np.where(empty, self._high[:, rows].mean(axis=2), total / count)

    def predicted(self, take: Take, which: NDArray[np.intp]) -> Predicted:
        """Return what one test would read under some hypotheses that are in the table."""
        k = self._at[take]
        high, hunts = (array[k, which].astype(float) for array in (self._high, self._hunts))
        low = np.where(hunts > 0, self._low[k, which], high)
        words = None if k not in self._words else {w: c[which] for w, c in self._words[k].items()}
        spread = noise(take.quantity, high, self.predictor.tables)
        return Predicted(high, low, hunts, np.zeros_like(high), spread, words)

    def levels(self, which: NDArray[np.intp]) -> NDArray[np.intp]:
        """Return the stratum of each vehicle under some hypotheses."""
        return self._strata[which]

    def moments(self, takes: Sequence[Take], which: NDArray[np.intp]) -> Moments:
        """Return means for those of some tests that are read as numbers, under some hypotheses in the table."""
        rows = np.array([k for t in takes if (k := self._at[t]) not in self._words], dtype=np.intp)
        sound = self._high[rows, 0].astype(float)
        kinds, tables = [self.takes[k].quantity for k in rows], self.predictor.tables
        spread = [noise(kind, values, tables).mean() for kind, values in zip(kinds, sound, strict=True)]
        return Moments(self._mean[rows[:, None], which], sound, np.array(spread), rows)
