"""Predictions on all vehicles for the hypotheses that still count, and on a few, repeated, for the others.

Most hypotheses are ruled out by the first readings. To know that, a few vehicles are enough; all are solved only for
those that are left.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.model.reading import Take
from diagnose.prediction.predictor import Predicted, Predicting, Predictor

__all__ = ["Grained"]


class Grained:
    """Answers as a `Predictor` does."""

    def __init__(self, fine: Predictor, coarse: Predicting, counting: NDArray[np.bool_]) -> None:
        """Prepare. `counting` (hypotheses,): those that are predicted on all vehicles."""
        self.hypotheses, self.count = fine.hypotheses, fine.count
        self._fine, self._coarse, self.counting = fine, coarse, counting

    def predict(self, takes: Sequence[Take], which: Sequence[int] | None = None) -> list[Predicted]:
        """Return what each test would read under the hypotheses of the given numbers (all, if not said)."""
        numbers = np.arange(len(self.hypotheses)) if which is None else np.array(which, dtype=np.intp)
        near = np.flatnonzero(self.counting[numbers])
        if len(near) == len(numbers):
            return self._fine.predict(takes, numbers.tolist())
        far = np.flatnonzero(~self.counting[numbers])
        fine = self._fine.predict(takes, numbers[near].tolist())
        coarse = self._coarse.predict(takes, numbers[far].tolist())
        return [self._merged(f, c, near, far) for f, c in zip(fine, coarse, strict=True)]

    def spread(self, values: Array) -> Array:
        """Repeat numbers of the few vehicles until there is one for every vehicle; shape (..., vehicles)."""
        return np.asarray(values[..., np.arange(self.count) % values.shape[-1]])

    def _merged(self, fine: Predicted, coarse: Predicted, near: NDArray[np.intp], far: NDArray[np.intp]) -> Predicted:
        """Put the rows of both together."""

        def rows(one: Array, other: Array) -> Array:
            whole = np.empty((len(near) + len(far), self.count))
            whole[near], whole[far] = one, self.spread(other)
            return whole

        high, low, hunts, mode, noise = (rows(f, c) for f, c in zip(fine[:5], coarse[:5], strict=True))
        words = None
        if fine.words is not None and coarse.words is not None:
            words = {word: rows(fine.words[word], coarse.words[word]) for word in fine.words}
        return Predicted(high, low, hunts, mode, noise, words)
