"""Predictions on possible vehicles of several versions of an installation side by side, as if they were of one.

A vehicle that lacks what a test is about reads there what a sound one of the others does, and is told apart by
`lacking`. Nothing is weighed here but how many vehicles a version gets.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from diagnose.circuit.elimination import Array
from diagnose.inference.candidates import states_of
from diagnose.model.fault import FaultAt
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.model.terminals import points_of
from diagnose.prediction.fitting import Fitted
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.predictor import Predicted, Predictor
from diagnose.prediction.streams import Streams
from diagnose.scripts.versions import Version

__all__ = ["Mixed", "is_had"]

#: vehicles of each hypothesis over all versions, for each version at least
VEHICLES, LEAST = 32, 4


class Mixed:
    """Predictions for several versions: columns are vehicles, those of one version side by side.

    `version` (vehicles,) tells the number of each one's version.
    """

    def __init__(
        self, versions: Sequence[Version], hypotheses: Sequence[tuple[Hypothesis, ...]], tables: Tables,
        streams: Callable[[int], Streams],
    ) -> None:  # fmt: skip
        """Prepare.

        Parameters: `hypotheses` of each version; all of them are those of the mixture, each once; `streams`, draws for
        a number of vehicles.
        """
        self.tables = tables
        self.hypotheses = tuple({one.fault: one for own in hypotheses for one in own}.values())
        counts = [max(LEAST, round(VEHICLES * version.share)) for version in versions]
        self.count = sum(counts)
        self.version = np.repeat(np.arange(len(versions)), counts)
        self._installations = [version.installation for version in versions]
        self._predictors = [
            Predictor(version.installation, tables, own, streams(count))
            for version, own, count in zip(versions, hypotheses, counts, strict=True)
        ]
        numbers = [{one.fault: n for n, one in enumerate(own)} for own in hypotheses]
        self._rows = [self._of(own) for own in numbers]

    def _of(self, own: dict[FaultAt | None, int]) -> NDArray[np.intp]:
        """Return by hypothesis its row in a version, that of the sound vehicle where the version does not have it."""
        return np.array([own.get(one.fault, 0) for one in self.hypotheses], dtype=np.intp)

    def predict(self, takes: Sequence[Take], which: Sequence[int] | None = None) -> list[Predicted]:
        """Return what each test would read under the hypotheses of the given numbers (all, if not said)."""
        return self._joined(takes, which, lambda predictor, some: predictor.predict(some))

    def read(self, fitted: Fitted, takes: Sequence[Take], numbers: Sequence[int], meter: bool) -> list[Predicted]:
        """Read tests off one condition as `Predictor.read` does."""
        return self._joined(
            takes, numbers, lambda one, some: one.read(fitted, some, range(len(one.hypotheses)), meter=meter)
        )  # fmt: skip

    def forget(self, fitted: Fitted) -> None:
        """Drop the solutions that are kept of one condition."""
        for predictor in self._predictors:
            predictor.forget(fitted)

    def lacking(self, take: Take) -> NDArray[np.bool_]:
        """Return by vehicle whether there is nothing to take a test at."""
        lacks = np.array([not is_had(take, installation) for installation in self._installations])
        return np.asarray(lacks[self.version])

    def _joined(
        self, takes: Sequence[Take], which: Sequence[int] | None,
        predict: Callable[[Predictor, Sequence[Take]], list[Predicted]],
    ) -> list[Predicted]:  # fmt: skip
        blocks: list[list[Predicted | None]] = [[] for _ in takes]
        for installation, predictor, rows in zip(self._installations, self._predictors, self._rows, strict=True):
            wanted = rows if which is None else rows[list(which)]
            had = [take for take in takes if is_had(take, installation)]
            found = dict(zip(had, predict(predictor, had), strict=True)) if had else {}
            for take, block in zip(takes, blocks, strict=True):
                block.append(_rows_of(found[take], wanted) if take in found else None)
        counts = [predictor.count for predictor in self._predictors]
        return [_side_by_side(block, counts) for block in blocks]


def is_had(take: Take, installation: Installation) -> bool:
    """Return whether an installation has what a test is about, and comes into its state."""
    known = {"charging", *installation.parts, *(p for part in installation.parts.values() for p in points_of(part))}
    names = {name for place in take.where for name in place.replace(".", "@").split("@")}
    bound = {"sun_only": "sun_only", "mains_on": "mains_on"}.get(take.when)
    return names <= known and (bound is None or bound in states_of(installation))


def _rows_of(one: Predicted, rows: NDArray[np.intp]) -> Predicted:
    words = None if one.words is None else {word: chance[rows] for word, chance in one.words.items()}
    return Predicted(one.high[rows], one.low[rows], one.hunts[rows], one.mode[rows], one.noise[rows], words)


def _side_by_side(blocks: Sequence[Predicted | None], counts: Sequence[int]) -> Predicted:
    """Return predictions with the vehicles of all versions; where one has none, all its vehicles read the same."""
    present = [block for block in blocks if block is not None]

    def joined(of: Callable[[Predicted], Array]) -> Array:
        usual = float(np.mean([of(block)[0].mean() for block in present]))
        return np.concatenate([
            of(block) if block is not None else np.full((len(of(present[0])), count), usual)
            for block, count in zip(blocks, counts, strict=True)
        ], axis=1)  # fmt: skip

    words = None
    if any(block.words is not None for block in present):
        names = dict.fromkeys(word for block in present for word in block.words or {})
        words = {word: joined(lambda b, w=word: (b.words or {}).get(w, np.zeros_like(b.high))) for word in names}  # type: ignore[misc]
    high, low, hunts, mode, noise = (
        joined(lambda b, n=n: b[n]) for n in range(5)  # type: ignore[misc]
    )
    return Predicted(high, low, hunts, mode, noise, words)
