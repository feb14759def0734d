"""A table of predictions with one fault taken as there: what it changes is added to what each other fault changes.

That is not exact where one fault hides the other, but good enough to choose a test by, and costs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.model.reading import Take
from diagnose.prediction.instruments import noise
from diagnose.prediction.predictor import Predicted
from diagnose.prediction.table import Moments, PredictionTable

__all__ = ["Shifted"]

#: chances of words are kept away from certainty
LEAST = 0.01


class Shifted:
    """Answers as the table does, with one fault there in every vehicle."""

    def __init__(self, table: PredictionTable, number: int) -> None:
        """Take `number` as there; nothing is copied."""
        self.predictor, self.takes, self.levels = table.predictor, table.takes, table.levels
        self._table, self._there = table, np.array([number, 0], dtype=np.intp)

    def fill(self, which: Sequence[int], takes: Sequence[Take] | None = None) -> None:
        """Make sure that some hypotheses are in the table, the one that is there among them."""
        self._table.fill([*which, *self._there.tolist()], takes)

    def predicted(self, take: Take, which: NDArray[np.intp]) -> Predicted:
        """Return what one test would read under some hypotheses, with the other fault there."""
        own, there = self._table.predicted(take, which), self._table.predicted(take, self._there)
        high, low = (a + b[0] - b[1] for a, b in ((own.high, there.high), (own.low, there.low)))
        hunts = np.maximum(own.hunts, there.hunts[0])
        words = None
        if own.words is not None and there.words is not None:
            moved = {w: own.words[w] + there.words[w][0] - there.words[w][1] for w in own.words}
            words = {w: np.clip(chance, LEAST, 1.0 - LEAST) for w, chance in moved.items()}
        return Predicted(high, low, hunts, own.mode, noise(take.quantity, high, self.predictor.tables), words)

    def moments(self, takes: Sequence[Take], which: NDArray[np.intp]) -> Moments:
        """Return means for those of some tests that are read as numbers, with the other fault there."""
        found = self._table.moments(takes, which)
        change = self._table.change(int(self._there[0]), found.which)
        return found._replace(mean=found.mean + change.mean(axis=1)[:, None, None], sound=found.sound + change)
