"""What every test would read under every hypothesis, on the same possible vehicles.

The predictor reads the instruments off solved conditions. It keeps what it has predicted, so that asking again is
free. It knows nothing of evidence.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from diagnose.circuit.elimination import Array
from diagnose.model.figures import Tables
from diagnose.model.installation import Installation
from diagnose.model.reading import Take
from diagnose.prediction.hypotheses import Hypothesis
from diagnose.prediction.instruments import as_shown, noise
from diagnose.prediction.readers import Scene, read_true
from diagnose.prediction.solving import Fitted, Solver, sizes_of
from diagnose.prediction.streams import Streams
from diagnose.prediction.unknowns import Vehicles

__all__ = ["Predicted", "Predictor"]


class Predicted(NamedTuple):
    """What a test would read: arrays of shape (hypotheses, vehicles).

    `high` while a hunting charger is unloaded, `low` at its stop threshold, the same where nothing hunts (`hunts` 0);
    `mode` is a number that differs where chargers, relays or loads do something else; `noise` one standard deviation;
    a quantity read as a word has `words`, chances by word (and `high` is then the number of a test lamp's volts).
    """

    high: Array
    low: Array
    hunts: Array
    mode: Array
    noise: Array
    words: dict[str, Array] | None = None


class Predictor:
    """Predictions for one installation; the same streams give the same vehicles under every hypothesis."""

    def __init__(
        self, installation: Installation, tables: Tables, hypotheses: Sequence[Hypothesis], streams: Streams
    ) -> None:
        """Prepare; nothing is solved before a prediction is asked for."""
        self.installation, self.tables, self.streams = installation, tables, streams
        self.hypotheses = tuple(hypotheses)
        self.count = streams.count
        self._solver = Solver(installation, tables, hypotheses, streams)
        self._known: dict[tuple[Take, tuple[int, ...], bool], Predicted] = {}

    def predict(self, takes: Sequence[Take], which: Sequence[int] | None = None, meter: bool = True) -> list[Predicted]:
        """Return what each test would read under the hypotheses of the given numbers (all, if not said).

        Without `meter` the voltmeter's own current is left out: good enough to choose a test, and much faster for
        many; such predictions are not kept.
        """
        numbers = tuple(range(len(self.hypotheses))) if which is None else tuple(which)
        found = {
            t: self._known[(t, numbers, meter)] for t in dict.fromkeys(takes) if (t, numbers, meter) in self._known
        }
        for fitted, wanted in _by_condition([t for t in dict.fromkeys(takes) if t not in found]).items():
            for take, predicted in zip(wanted, self._read(fitted, wanted, numbers, meter), strict=True):
                found[take] = predicted
                if meter:
                    self._known[(take, numbers, meter)] = predicted
        return [found[take] for take in takes]

    def predict_unkept(
        self, takes: Sequence[Take], which: Sequence[int]
    ) -> Iterator[tuple[list[Take], list[Predicted]]]:
        """Yield predictions of many tests by condition, without the meter's current; neither they nor the solved
        conditions are kept.
        """
        conditions = _by_condition(takes)
        self._solver.solve_together([f for f in conditions if f.plain], which)
        for fitted, wanted in conditions.items():
            yield wanted, self._read(fitted, wanted, tuple(which), meter=False)
            self._solver.forget(fitted)

    def _read(self, fitted: Fitted, takes: list[Take], numbers: tuple[int, ...], meter: bool) -> list[Predicted]:
        """Read tests off one condition under some hypotheses."""
        shape = (len(numbers), self.count)
        results = [_blank(shape) for _ in takes]
        words: list[dict[str, Array]] = [{} for _ in takes]
        for rows, scene in self._solver.scenes(fitted, numbers):
            for take, result, chances in zip(takes, results, words, strict=True):
                _fill(take, scene, result, chances, rows, shape, meter)
        return [
            r._replace(words=w or None, noise=noise(t.quantity, r.high, self.tables))
            for t, r, w in zip(takes, results, words, strict=True)
        ]

    def sound_vehicles(self) -> Vehicles:
        """Return the vehicles that predictions are made on, without any fault."""
        return self._solver.sound_vehicles()

    def sizes(self, number: int) -> Array:
        """Return the size of a hypothesis's fault on each vehicle, in the unit of its rule."""
        return sizes_of(self.hypotheses[number], self.installation, self.streams)


def _blank(shape: tuple[int, int]) -> Predicted:
    high, low, hunts, mode, spread = (np.zeros(shape) for _ in range(5))
    return Predicted(high, low, hunts, mode, spread)


def _by_condition(takes: Sequence[Take]) -> dict[Fitted, list[Take]]:
    """Sort tests by what must be solved for them."""
    groups: dict[Fitted, list[Take]] = {}
    for take in takes:
        lamp = (take.where[0], take.where[1]) if take.meter == "test_lamp" else None
        groups.setdefault(Fitted(take.when, take.jumper, take.swap, lamp), []).append(take)
    return groups


def _fill(
    take: Take, scene: Scene, result: Predicted, chances: dict[str, Array], rows: list[int], shape: tuple[int, int],
    meter: bool
) -> None:  # fmt: skip
    """Read one test off a scene into the rows of its hypotheses."""
    true = read_true(take, scene, meter)
    block = (len(rows), shape[1])
    for target, values in ((result.high, true.high), (result.low, true.low)):
        target[rows] = as_shown(take.quantity, values.reshape(block), scene.tables, scene.vehicles.streams)
    result.hunts[rows] = true.hunts.reshape(block)
    result.mode[rows] = scene.mode.reshape(block)
    for word, chance in (true.words or {}).items():
        chances.setdefault(word, np.zeros(shape))[rows] = chance.reshape(block)
