"""What every candidate test would read under every hypothesis, in one table that is filled as it is asked for.

The table serves the choice of tests, so the voltmeter's own current is left out and numbers are kept in single
precision. Solved conditions are dropped as soon as they have been read.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take
from diagnose.prediction.instruments import noise
from diagnose.prediction.predictor import Predicted, Predictor, by_condition
from diagnose.prediction.sights import SOUND_WORD

__all__ = ["Choosing", "Moments", "PredictionTable"]

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


class Choosing(Protocol):
    """Whatever tests are chosen by: predictions of a fixed list of tests on some vehicles."""

    @property
    def predictor(self) -> Predictor: ...

    @property
    def takes(self) -> tuple[Take, ...]: ...

    def fill(self, which: Sequence[int], takes: Sequence[Take] | None = None) -> None: ...

    def predicted(self, take: Take, which: NDArray[np.intp]) -> Predicted: ...

    def levels(self, which: NDArray[np.intp]) -> NDArray[np.intp]: ...

    def moments(self, takes: Sequence[Take], which: NDArray[np.intp]) -> Moments: ...


class PredictionTable:
    """Predictions of a fixed list of tests; hypothesis 0 must be that nothing is wrong."""

    def __init__(self, predictor: Predictor, takes: Sequence[Take], strata: NDArray[np.intp]) -> None:
        """Prepare; nothing is solved before rows are asked for.

        Parameters: `takes`, of which those for eyes, nose and hands are left out; `strata` (hypotheses, vehicles) of
        fault sizes.
        """
        self.predictor, self.hypotheses, self.count = predictor, predictor.hypotheses, predictor.count
        self.takes = tuple(take for take in takes if take.quantity not in SOUND_WORD)
        self._at = {take: k for k, take in enumerate(self.takes)}
        self._conditions = by_condition(self.takes)
        shape = (len(self.takes), len(predictor.hypotheses), predictor.count)
        self._high, self._low, self._hunts = (np.zeros(shape, dtype=np.float32) for _ in range(3))
        self._mode = {fitted: np.zeros(shape[1:], dtype=np.float32) for fitted in self._conditions}
        self._words: dict[int, Words] = {}
        self._filled = {fitted: np.zeros(shape[1], dtype=bool) for fitted in self._conditions}
        self._strata = strata[:, : predictor.count]
        self._mean = np.zeros((*shape[:2], int(self._strata.max()) + 1), dtype=np.float32)
        self._noise = np.zeros(shape[0])

    def __contains__(self, take: Take) -> bool:
        """Return whether a test is one of the table's."""
        return take in self._at

    def fill(self, which: Sequence[int], takes: Sequence[Take] | None = None) -> None:
        """Make sure that some hypotheses are in the table, nothing wrong among them.

        Parameters: `takes`, all tests of whose conditions are filled in; all, if not said.
        """
        conditions = self._conditions if takes is None else by_condition(takes)
        wanted = sorted({0, *which})
        missing = {f: [n for n in wanted if not self._filled[f][n]] for f in conditions}
        together = [f for f in conditions if f.plain and missing[f] == missing[next(iter(conditions))]]
        if together:
            self.predictor.solve_together(together, missing[together[0]])
        for fitted, rows in missing.items():
            if rows:
                own = self._conditions[fitted]
                for take, one in zip(own, self.predictor.read(fitted, own, rows, meter=False), strict=True):
                    self._put(self._at[take], one, rows)
                    self._mode[fitted][rows] = one.mode
                self.predictor.forget(fitted)
                self._filled[fitted][rows] = True
                self._sum_up([self._at[take] for take in own], rows)

    def kept(self) -> Iterator[tuple[str, Array]]:
        """Yield all that is in the table, rows that are empty left out."""
        for c, (fitted, takes) in enumerate(self._conditions.items()):
            rows = np.flatnonzero(self._filled[fitted])
            if rows.size:
                at = np.ix_(np.array([self._at[take] for take in takes], dtype=np.intp), rows)
                yield f"rows{c}", rows
                yield f"high{c}", self._high[at]
                yield f"mode{c}", self._mode[fitted][rows]
                if self._hunts[at].any():
                    yield f"low{c}", self._low[at]
                    yield f"hunts{c}", self._hunts[at]
        for k, words in self._words.items():
            yield from ((f"word{k} {word}", chance) for word, chance in words.items())

    def put_back(self, arrays: Mapping[str, Array]) -> None:
        """Fill the table with what was kept of another of the same tests, hypotheses and vehicles."""
        for c, (fitted, takes) in enumerate(self._conditions.items()):
            if f"rows{c}" not in arrays:
                continue
            rows, own = arrays[f"rows{c}"].tolist(), [self._at[take] for take in takes]
            self._high[np.ix_(own, rows)] = arrays[f"high{c}"]
            self._mode[fitted][rows] = arrays[f"mode{c}"]
            if f"low{c}" in arrays:
                self._low[np.ix_(own, rows)] = arrays[f"low{c}"]
                self._hunts[np.ix_(own, rows)] = arrays[f"hunts{c}"]
            self._filled[fitted][rows] = True
            self._sum_up(own, rows)
        for name, chance in arrays.items():
            if name.startswith("word"):
                number, _, word = name.removeprefix("word").partition(" ")
                self._words.setdefault(int(number), {})[word] = chance

    @property
    def size(self) -> int:
        """How many rows are filled in, over all conditions."""
        return sum(int(filled.sum()) for filled in self._filled.values())

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

    def _sum_up(self, takes: list[int], rows: list[int]) -> None:
        """Store means by stratum of some tests and hypotheses, and the noise on sound vehicles."""
        if 0 in rows:
            tables = self.predictor.tables
            for k in takes:
                self._noise[k] = noise(self.takes[k].quantity, self._high[k, 0].astype(float), tables).mean()
        values = self._high[np.ix_(takes, rows)].transpose(1, 0, 2)
        inside = self._strata[rows][:, :, None] == np.arange(self._mean.shape[2])
        count = inside.sum(axis=1)
        share = np.where(count[:, None] > 0, inside / np.maximum(count[:, None], 1), 1.0 / inside.shape[1])
        self._mean[np.ix_(takes, rows)] = np.matmul(values, share.astype(np.float32)).transpose(1, 0, 2)

    def predict(self, takes: Sequence[Take], which: Sequence[int] | None = None) -> list[Predicted]:
        """Return what each test would read under some hypotheses, from the table or, for another test, worked out."""
        numbers = list(range(len(self.predictor.hypotheses)) if which is None else which)
        self.fill(numbers, [take for take in takes if take in self])
        others = [take for take in takes if take not in self]
        found = dict(zip(others, self.predictor.predict(others, numbers), strict=True))
        rows = np.array(numbers, dtype=np.intp)
        return [found[take] if take in found else self.predicted(take, rows) for take in takes]

    def predicted(self, take: Take, which: NDArray[np.intp]) -> Predicted:
        """Return what one test would read under some hypotheses that are in the table."""
        k = self._at[take]
        high, hunts = (array[k, which].astype(float) for array in (self._high, self._hunts))
        low = np.where(hunts > 0, self._low[k, which], high)
        words = None if k not in self._words else {w: c[which] for w, c in self._words[k].items()}
        spread = noise(take.quantity, high, self.predictor.tables)
        mode = self._mode[next(iter(by_condition([take])))][which].astype(float)
        return Predicted(high, low, hunts, mode, spread, words)

    def first_numbers(self, takes: Sequence[Take]) -> Array:
        """Return what tests read under the first hypothesis, shape (tests, vehicles)."""
        self.fill([0], [take for take in takes if take in self])
        others = [take for take in takes if take not in self]
        found = dict(zip(others, self.predictor.predict(others, [0]), strict=True))
        rows = [self._high[self._at[t], 0].astype(float) if t in self else found[t].high[0] for t in takes]
        return np.stack(rows) if rows else np.zeros((0, self.count))

    def levels(self, which: NDArray[np.intp]) -> NDArray[np.intp]:
        """Return the stratum of each vehicle under some hypotheses."""
        return self._strata[which]

    def moments(self, takes: Sequence[Take], which: NDArray[np.intp]) -> Moments:
        """Return means for those of some tests that are read as numbers, under some hypotheses in the table."""
        rows = np.array([k for t in takes if (k := self._at[t]) not in self._words], dtype=np.intp)
        sound = self._high[rows, 0].astype(float)
        return Moments(self._mean[rows[:, None], which], sound, self._noise[rows], rows)

    def change(self, number: int, which: NDArray[np.intp]) -> Array:
        """Return what one hypothesis changes in some tests (by number), shape (tests, vehicles)."""
        return np.asarray(self._high[which, number] - self._high[which, 0])
